"""What the verification of a certificate found: one record for each thing that was checked."""

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Literal

Outcome = Literal["held", "differs", "remark", "not compared"]
Answer = Literal["verified", "does not hold", "results verified"]
MOST = 20


@dataclass(frozen=True, slots=True)
class Check:
    """One thing that was checked: its name, how it came out, that in words, and the places that differ.

    A remark says what differs without harm, or was not asked for. What is not compared keeps a certificate
    from being verified, although nothing speaks against it.
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


def not_compared(name: str, text: str, details: Iterable[str] = ()) -> Check:
    """Return what could not be held against anything, so that nobody can say whether it is right."""
    return Check(name, "not compared", text, _some(details))


def answer(checks: Iterable[Check]) -> Answer:
    """Return what all checks together come to.

    "verified": everything was computed and printed anew, and is the same, or a trusted signer stands for the
    pages. "results verified": nothing speaks against it, but its pages were not printed anew and compared.
    "does not hold": something differs.
    """
    outcomes = {check.outcome for check in checks}
    if "differs" in outcomes:
        return "does not hold"
    return "results verified" if "not compared" in outcomes else "verified"


def _some(details: Iterable[str]) -> tuple[str, ...]:
    """At most as many as anybody will read."""
    every = tuple(details)
    if len(every) <= MOST:
        return every
    return (*every[:MOST], f"and {len(every) - MOST} more")
