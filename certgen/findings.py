"""Findings: the faults and warnings of a survey, kept as data until one error carries them all."""

import re
from dataclasses import dataclass
from typing import Literal

# what steers a terminal, breaks a line or turns the direction of letters: never part of what a file may say
_STEERS = re.compile("[\x00-\x1f\x7f-\x9f\u061c\u200e\u200f\u2028-\u202e\u2066-\u2069]")


def escaped(text: str) -> str:
    """Return a text as one line in which such letters stand as their numbers, after a backslash."""
    return _STEERS.sub(lambda one: one[0].encode("unicode_escape").decode(), text)


Severity = Literal["error", "warning"]


@dataclass(frozen=True, slots=True, order=True)
class Place:
    """A position in the survey file; line and column count from 1."""

    line: int
    column: int


@dataclass(frozen=True, slots=True)
class Finding:
    """One fault or warning.

    `where` is the path of the key in the survey (`setups[1].as_found.R3.drive`), `message` says what is
    wrong, `got` is what stood there (None where nothing did) and `hint` says what would be right.
    """

    severity: Severity
    place: Place
    where: str
    message: str
    hint: str
    got: str | None = None

    def line(self, file: str) -> str:
        """Return `FILE:LINE:COL: where: what is wrong (got X). What would be right.`."""
        got = "" if self.got is None else f" (got {self.got})"
        label = "" if self.severity == "error" else "warning: "
        at = f"{file}:{self.place.line}:{self.place.column}"
        return escaped(f"{at}: {label}{self.where}: {self.message}{got}. {self.hint}")

    def plain(self) -> dict[str, object]:
        """Return it as plain data, for programs; the names of the keys stay."""
        return {
            "severity": self.severity,
            "line": self.place.line,
            "column": self.place.column,
            "where": self.where,
            "message": self.message,
            "got": self.got,
            "hint": self.hint,
        }


def has_errors(findings: tuple[Finding, ...]) -> bool:
    """Return whether any finding refuses the survey."""
    return any(finding.severity == "error" for finding in findings)
