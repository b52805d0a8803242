"""The part of an audit that looks at what later entries say of certificates: those are there, once."""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from typing import Any

from certgen.register.bodies import (
    CERTIFICATE,
    DISPOSED,
    KEPT_AT_LEAST,
    MARKING,
    NOTE,
    SIGNATURE,
    kept_long_enough,
    marked,
)

_ONE = ("sequence", "number", "revision")


@dataclass(slots=True)
class Known:
    """The certificates seen so far, with the digests of their files, and what was said of each but once.

    `since` says when each was issued and recorded, `disposed` names those of which nothing is left.
    """

    digests: dict[tuple[int, str, int], set[str]] = field(default_factory=dict)
    said: set[tuple[str, int]] = field(default_factory=set)
    since: dict[int, tuple[str, str]] = field(default_factory=dict)
    disposed: list[str] = field(default_factory=list)

    def faults(self, body: Mapping[str, Any]) -> Iterator[str]:
        """Yield what is wrong with what an entry names; note what it adds. KeyError, TypeError: no entry."""
        kind = body["kind"]
        if kind == CERTIFICATE:
            one = body["certificate"]
            self.digests[body["sequence"], one["number"], one["revision"]] = _texts(body["sha256"].values())
            self.since[body["sequence"]] = one["issued"], body["recorded"]
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
        if kind == DISPOSED:
            yield from self._too_early(body["of"], body["recorded"])

    def _too_early(self, of: Mapping[str, Any], when: str) -> Iterator[str]:
        """Bytes that went at once may never have been there: nobody could ever have looked at them."""
        named = f"certificate {of['number']}, revision {of['revision']}"
        self.disposed.append(f"{named} (entry {of['sequence']})")
        if of["sequence"] in self.since and not kept_long_enough(*self.since[of["sequence"]], when):
            yield f"disposes of {named} less than {KEPT_AT_LEAST} days after it was issued and recorded"


def _place(one: Mapping[str, Any]) -> tuple[int, str, int]:
    sequence, number, revision = (one[name] for name in _ONE)
    return sequence, number, revision


def _texts(values: Any) -> set[str]:
    found = set(values)
    if not all(isinstance(value, str) for value in found):
        raise TypeError(found)
    return found
