"""What the signatures in a certificate claim: who signed, and that the bytes signed are those of the file.

Whether a signature holds, and whether its signer is trusted, is for `verify_signature` to tell, which takes a
hundred times as long.
"""

import re
from collections.abc import Iterator
from dataclasses import dataclass
from hashlib import new
from importlib.util import find_spec
from typing import Any

_RANGE = re.compile(rb"/ByteRange\s*\[\s*(\d{1,9})\s+(\d{1,9})\s+(\d{1,9})\s+(\d{1,9})\s*\]")
_HEXADECIMAL = re.compile(rb"<((?:[0-9a-fA-F]{2})+)>")
_OF_LONG_STANDING = (
    b"/DSS"  # what is kept to judge a signature later (ETSI EN 319 142-1, 5.4.2) may follow it
)


@dataclass(frozen=True, slots=True)
class Claim:
    """The names in the signatures, and what is wrong with what was appended; empty where nothing is."""

    signed_by: tuple[str, ...]
    fault: str = ""


def claim(data: bytes, length: int) -> Claim:
    """Return what the bytes behind the first `length` claim, with which the certificate was issued."""
    if len(data) == length:
        return Claim(())
    ranges = [tuple(map(int, found)) for found in _RANGE.findall(data, length)]
    covered = max((third + fourth for _, _, third, fourth in ranges), default=0)
    if not ranges:
        return Claim((), "what was appended to it is no signature")
    if covered != len(data) and _OF_LONG_STANDING not in data[covered:]:
        return Claim((), "more than a signature was appended to it")
    if find_spec("asn1crypto") is None:  # without the extra `sign`: the names stay unread
        return Claim(())
    try:
        signed = [one for each in ranges for one in _signature(data, length, each)]  # type: ignore[arg-type]
    except (ValueError, KeyError, TypeError, IndexError):
        return Claim((), "a signature of it cannot be read")
    names = tuple(name for name, _ in signed)
    if not signed or not all(sound for _, sound in signed):
        return Claim(names, "what was appended to it does not sign its bytes")
    return Claim(names)


def _signature(data: bytes, length: int, place: tuple[int, int, int, int]) -> Iterator[tuple[str, bool]]:
    """The name of the signer, and whether the digest signed is that of the file; nothing for a time stamp.

    RFC 5652, 5.4 and 11.2: the digest stands among the attributes that are signed.
    """
    from asn1crypto.cms import ContentInfo

    begins, first, second, rest = place
    found = _HEXADECIMAL.fullmatch(data[first:second])
    if begins != 0 or not length <= first < second or found is None:
        raise ValueError(place)
    content = ContentInfo.load(bytes.fromhex(found[1].decode()))["content"]
    if content["encap_content_info"]["content_type"].native == "tst_info":
        return
    signer = content["signer_infos"][0]
    digest = new(signer["digest_algorithm"]["algorithm"].native, data[:first] + data[second : second + rest])
    said = next(
        one["values"][0].native for one in signer["signed_attrs"] if one["type"].native == "message_digest"
    )
    yield _name(content["certificates"], signer["sid"]), said == digest.digest()


def _name(certificates: Any, sid: Any) -> str:
    serial = sid.chosen["serial_number"].native if sid.name == "issuer_and_serial_number" else None
    found = [one.chosen for one in certificates]
    signer = next((one for one in found if serial in (None, one.serial_number)), found[0])
    return str(signer.subject.native.get("common_name") or signer.subject.human_friendly)
