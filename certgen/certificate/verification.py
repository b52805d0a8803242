"""What the verification of a certificate found: one record for each thing that was checked."""

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Literal

Outcome = Literal["held", "differs", "remark"]
MOST = 20


@dataclass(frozen=True, slots=True)
class Check:
    """One thing that was checked: its name, how it came out, that in words, and the places that differ.

    A remark says what could not be compared, or differs without harm.
    """

    name: str
    outcome: Outcome
    text: str
    details: tuple[str, ...] = ()


def held(name: str, text: str) -> Check:
    """Return a check that held."""
    return Check(name, "held", text)


def differs(name: str, text: str, details: Iterable[str] = ()) -> Check:
    """Return a check that did not hold."""
    return Check(name, "differs", text, _some(details))


def remark(name: str, text: str, details: Iterable[str] = ()) -> Check:
    """Return what the reader should know beside."""
    return Check(name, "remark", text, _some(details))


def _some(details: Iterable[str]) -> tuple[str, ...]:
    """At most as many as anybody will read."""
    every = tuple(details)
    if len(every) <= MOST:
        return every
    return (*every[:MOST], f"and {len(every) - MOST} more")
