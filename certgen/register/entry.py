"""What a register says of a certificate, and of a number it has handed out: records and their plain form."""

from collections.abc import Mapping
from dataclasses import dataclass, fields
from functools import lru_cache
from hashlib import sha256
from typing import Any
from unicodedata import category, normalize

Json = dict[str, object]

PDF, SURVEY, RESULTS = "certificate.pdf", "survey.yaml", "results.json"
FILE_NAMES = (PDF, SURVEY, RESULTS)
_LARGEST = 10**15  # a longer row of digits at the end of a number is no count
_DIGITS = "0123456789"


@dataclass(frozen=True, slots=True)
class Used:
    """An instrument the survey was made with, and the calibration it had then; days as YYYY-MM-DD."""

    kind: str
    serial: str
    calibrated: str
    due: str
    traceable_to: str


_USED = tuple(each.name for each in fields(Used))


@dataclass(frozen=True, slots=True)
class Certificate:
    """What identifies a certificate and what it says in short; days as YYYY-MM-DD."""

    number: str
    revision: int
    issued: str
    started: str
    finished: str
    line: str
    asset: str
    location: str
    customer: str
    order: str
    contractor: str
    decision: str
    as_found: str
    as_left: str
    instruments: tuple[Used, ...]
    supersedes: str | None = None
    reason: str | None = None
    surveyed_by: str | None = None
    approved_by: str | None = None


@dataclass(frozen=True, slots=True)
class Held:
    """A certificate with its files: exact bytes of the PDF, of its survey and of its results.

    `signed_by` are the names in its signatures; `unprinted` is set where somebody took it although its pages
    could not be printed anew and compared.
    """

    certificate: Certificate
    files: Mapping[str, bytes]
    signed_by: tuple[str, ...] = ()
    unprinted: bool = False

    def digests(self) -> dict[str, str]:
        """Return the SHA-256 of every file by its name."""
        return {name: sha256(data).hexdigest() for name, data in self.files.items()}


def certificate_of(body: Mapping[str, object]) -> Certificate:
    """Return the certificate an entry speaks of; KeyError, TypeError or ValueError where it does not."""
    said = body["certificate"]
    if not isinstance(said, dict):
        raise TypeError("an entry without a certificate")
    used = tuple(Used(**each) for each in said["instruments"])
    return Certificate(**{**said, "instruments": used})


def said_of(body: Mapping[str, object]) -> Mapping[str, Any]:
    """Return what the entry of a certificate says of it, as it stands there."""
    said = body["certificate"]
    assert isinstance(said, Mapping)  # noqa: S101  # entries of certificates only
    return said


def digest_of(body: Mapping[str, object], name: str) -> str:
    """Return the SHA-256 of the file of that name in the entry of a certificate."""
    digests = body["sha256"]
    assert isinstance(digests, Mapping)  # noqa: S101  # every entry of a certificate has them
    return str(digests[name])


def certificate_row(sequence: int, one: Certificate, digests: Mapping[str, str]) -> Json:
    """Return the row by which a certificate is found."""
    prefix, value = counted(one.number)
    plain = ("number", "revision", "issued", "started", "finished", "line", "asset", "customer")
    row: Json = {name: getattr(one, name) for name in (*plain, "as_found", "as_left")}
    row |= {f"{name}_key": key(getattr(one, name)) for name in ("line", "asset", "customer")}
    row |= {f"{name.partition('.')[2] if name == PDF else name.partition('.')[0]}_sha256": digests[name]
            for name in FILE_NAMES}  # fmt: skip
    return {**row, "sequence": sequence, "prefix": prefix, "value": value, "words": words_of(one)}


def instrument_rows(sequence: int, one: Certificate) -> list[Json]:
    """Return the rows by which instruments are found."""
    return [
        {
            **{name: getattr(used, name) for name in _USED},  # asdict is slow, and an audit makes many rows
            "sequence": sequence,
            "place": place,
            "serial_key": key(used.serial),
        }
        for place, used in enumerate(one.instruments)
    ]


def signature_row(body: Mapping[str, Any]) -> Json:
    """Return the row by which the signed form of a certificate is found."""
    of, digests = body["of"], body["sha256"]
    return {"sequence": body["sequence"], "certificate": of["sequence"], "pdf_sha256": digests[PDF]}


def reservation_row(sequence: int, number: str) -> Json:
    """Return the row by which the next number is found."""
    prefix, value = counted(number)
    return {"sequence": sequence, "number": number, "prefix": prefix, "value": value}


def counted(number: str) -> tuple[str, int | None]:
    """Return a certificate number as what it begins with and the count at its end, None where it has none."""
    prefix = number.rstrip(_DIGITS)
    digits = number[len(prefix) :]
    return prefix, int(digits) if digits and int(digits) < _LARGEST else None


@lru_cache(4096)  # names of lines and customers come again and again
def key(text: str) -> str:
    """Return a text as it is compared: capitals, accents and white space do not count (Unicode 15, NFD)."""
    if text.isascii():
        return " ".join(text.lower().split())
    parted = normalize("NFD", normalize("NFD", text).casefold())
    return " ".join("".join(letter for letter in parted if category(letter)[0] != "M").split())


def words_of(one: Certificate) -> str:
    """Return every text by which a certificate is found, as they are compared, each in a line of its own."""
    named = (one.number, one.line, one.asset, one.location, one.customer, one.order, one.contractor)
    used = [part for each in one.instruments for part in (each.kind, each.serial)]
    return "\n".join(map(key, (*named, *used)))
