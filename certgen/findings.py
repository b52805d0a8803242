"""Findings: the faults and warnings of a survey, kept as data until one error carries them all."""

from dataclasses import dataclass
from typing import Literal

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
        return f"{at}: {label}{self.where}: {self.message}{got}. {self.hint}"

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
