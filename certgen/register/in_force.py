"""Which certificates are in force: neither revised since, nor replaced by one of another number."""

import re
from collections.abc import Sequence

from certgen.register.entry import Json, said_of

_ENDS = re.compile(r"[\s,;:(]|$")


def in_force(found: Sequence[Json]) -> list[Json]:
    """Return the entries of certificates that are in force among these, in their order.

    Of every number the latest revision counts, unless a certificate of another number that counts says that
    it `supersedes` this one (ISO/IEC 17025:2017, 7.8.8: a certificate issued anew names the one it replaces).
    """
    latest: dict[str, Json] = {}
    for body in sorted(found, key=lambda body: said_of(body)["revision"]):
        latest[said_of(body)["number"]] = body
    replaced = {number for body in latest.values() for number in _replaced(body)}
    return [
        body
        for body in found
        if latest[said_of(body)["number"]] is body and said_of(body)["number"] not in replaced
    ]


def _replaced(body: Json) -> set[str]:
    said = said_of(body)
    return possible_numbers(said["supersedes"] or "") - {said["number"]}


def possible_numbers(supersedes: str) -> set[str]:
    """Return every beginning of a text such as `FC-2026-031, revision 0` that may be the number it names."""
    return {supersedes[: end.start()] for end in _ENDS.finditer(supersedes)}
