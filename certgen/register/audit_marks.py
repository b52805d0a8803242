"""The part of an audit that looks at what later entries say of certificates: those are there, once."""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from typing import Any

from certgen.register.bodies import CERTIFICATE, DISPOSED, MARKING, NOTE, SIGNATURE, marked

_ONE = ("sequence", "number", "revision")


@dataclass(slots=True)
class Known:
    """The certificates seen so far, with the digests of their files, and what was said of each but once."""

    digests: dict[tuple[int, str, int], set[str]] = field(default_factory=dict)
    said: set[tuple[str, int]] = field(default_factory=set)

    def faults(self, body: Mapping[str, Any]) -> Iterator[str]:
        """Yield what is wrong with what an entry names; note what it adds. KeyError, TypeError: no entry."""
        kind = body["kind"]
        if kind == CERTIFICATE:
            one = body["certificate"]
            self.digests[body["sequence"], one["number"], one["revision"]] = _texts(body["sha256"].values())
        if kind == SIGNATURE:
            if _place(body["of"]) in self.digests:
                self.digests[_place(body["of"])] |= _texts(body["sha256"].values())
            else:
                yield "signs a certificate that does not stand before it"
        if kind in MARKING:
            yield from self._marks(kind, body)

    def _marks(self, kind: str, body: Mapping[str, Any]) -> Iterator[str]:
        if not isinstance(body["reason"], str) or not body["reason"].strip():
            yield "states no reason"
        for one in marked(dict(body)):
            if _place(one) not in self.digests:
                yield "speaks of a certificate that does not stand before it"
            elif kind != NOTE and (kind, one["sequence"]) in self.said:
                yield "says of a certificate what was said before"
            self.said.add((kind, one["sequence"]))
        if kind == DISPOSED and not _texts(body["removed"]) <= self.digests.get(_place(body["of"]), set()):
            yield "disposes of files that are not of its certificate"


def _place(one: Mapping[str, Any]) -> tuple[int, str, int]:
    sequence, number, revision = (one[name] for name in _ONE)
    return sequence, number, revision


def _texts(values: Any) -> set[str]:
    found = set(values)
    if not all(isinstance(value, str) for value in found):
        raise TypeError(found)
    return found
