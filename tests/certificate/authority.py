"""A certificate authority for the tests: keys that sign and stamp, made when they are needed."""

from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from functools import cache

from cryptography import x509
from cryptography.hazmat.primitives.asymmetric.rsa import RSAPrivateKey, generate_private_key
from cryptography.hazmat.primitives.hashes import SHA256
from cryptography.hazmat.primitives.serialization import BestAvailableEncryption, Encoding
from cryptography.hazmat.primitives.serialization.pkcs12 import serialize_key_and_certificates
from cryptography.x509.oid import ExtendedKeyUsageOID, NameOID

PASSPHRASE = "only for tests"  # noqa: S105
DAY = timedelta(days=1)


@dataclass(frozen=True)
class Owner:
    """A key with its certificate."""

    key: RSAPrivateKey
    certificate: x509.Certificate

    def pem(self) -> bytes:
        """Return the certificate as it is given to others."""
        return self.certificate.public_bytes(Encoding.PEM)


def _name(name: str) -> x509.Name:
    return x509.Name([x509.NameAttribute(NameOID.COMMON_NAME, name)])


def _made(
    name: str, issuer: Owner | None, days: float, *extensions: x509.ExtensionType, begins: float = -1.0
) -> Owner:
    key = generate_private_key(65537, 2048)
    now = datetime.now(UTC)
    first, last = sorted((now + begins * DAY, now + days * DAY))
    builder = (
        x509.CertificateBuilder()
        .subject_name(_name(name))
        .issuer_name(issuer.certificate.subject if issuer else _name(name))
        .public_key(key.public_key())
        .serial_number(x509.random_serial_number())
        .not_valid_before(first)
        .not_valid_after(last)
    )
    for extension in extensions:
        builder = builder.add_extension(extension, critical=True)
    return Owner(key, builder.sign(issuer.key if issuer else key, SHA256()))


def authority(name: str = "Example Authority") -> Owner:
    """Return an authority; one of each name."""
    return _authority(name)


@cache
def _authority(name: str) -> Owner:
    usage = _usage(key_cert_sign=True, crl_sign=True)
    return _made(name, None, 3650, x509.BasicConstraints(ca=True, path_length=0), usage)


@cache
def signer(name: str = "K. Sample", days: float = 365, first: float = -1.0) -> Owner:
    """Return somebody who may sign from a day on, counted from now, until so many days from now."""
    usage = _usage(digital_signature=True, content_commitment=True)
    return _made(name, authority(), days, usage, begins=first)


@cache
def time_stamper(name: str = "Example Authority") -> Owner:
    """Return a service that may stamp the time, as that authority says."""
    use = x509.ExtendedKeyUsage([ExtendedKeyUsageOID.TIME_STAMPING])
    return _made("Example Time", authority(name), 365, _usage(digital_signature=True), use)


def revocations(*revoked: Owner) -> bytes:
    """Return the list of what the authority has revoked, just now (DER)."""
    now = datetime.now(UTC)
    builder = (
        x509.CertificateRevocationListBuilder()
        .issuer_name(authority().certificate.subject)
        .last_update(now - DAY)
        .next_update(now + DAY)
    )
    for one in revoked:
        entry = x509.RevokedCertificateBuilder().serial_number(one.certificate.serial_number)
        builder = builder.add_revoked_certificate(entry.revocation_date(now - DAY / 2).build())
    return builder.sign(authority().key, SHA256()).public_bytes(Encoding.DER)


def _usage(**allowed: bool) -> x509.KeyUsage:
    names = (
        "digital_signature",
        "content_commitment",
        "key_encipherment",
        "data_encipherment",
        "key_agreement",
        "key_cert_sign",
        "crl_sign",
        "encipher_only",
        "decipher_only",
    )
    return x509.KeyUsage(**{name: allowed.get(name, False) for name in names})


def key_file(owner: Owner) -> bytes:
    """Return key and certificates as a PKCS #12 file."""
    encrypted = BestAvailableEncryption(PASSPHRASE.encode())
    given_by = [authority().certificate]
    return serialize_key_and_certificates(b"signer", owner.key, owner.certificate, given_by, encrypted)
