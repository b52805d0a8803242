"""The chain over the entries of a register: each digest covers the one before it.

An entry is text in the canonical form of JSON (RFC 8785), its digest the SHA-256 (FIPS 180-4) of the digest
before it, a line feed and that text. Whoever knows the last digest and the count can tell whether anything
before it was changed, removed or reordered.
"""

import json
import re
from collections.abc import Mapping
from dataclasses import dataclass
from hashlib import sha256

_CANONICAL = json.JSONEncoder(ensure_ascii=False, sort_keys=True, separators=(",", ":"), allow_nan=False)
GENESIS = "0" * 64
_WRITTEN = re.compile(r"(\d{1,15}):([0-9a-f]{16,64})", re.ASCII)


@dataclass(frozen=True, slots=True)
class Head:
    """Where a register ends: how many entries it has, and the digest of the last one."""

    count: int
    digest: str

    def __str__(self) -> str:
        return f"{self.count}:{self.digest}"


EMPTY = Head(0, GENESIS)


def canonical(body: Mapping[str, object]) -> str:
    """Return the canonical form; the values are texts, whole numbers, null, and lists and groups of them."""
    return _CANONICAL.encode(body)


def chained(previous: str, text: str) -> str:
    """Return the digest of an entry that follows the digest `previous`."""
    return sha256(f"{previous}\n{text}".encode()).hexdigest()


def written_head(text: str) -> tuple[int, str] | None:
    """Return count and digest of a head as it was written down, `12:ab34...`; None where it is none.

    The end of the digest may be missing, down to 16 digits: 64 bits, which nobody finds a second chain for.
    """
    found = _WRITTEN.fullmatch(text.strip().lower())
    return None if found is None else (int(found[1]), found[2])
