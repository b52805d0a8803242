"""Several visits from the command line: survey files, certificates that carry theirs, or a register's."""

import logging
from collections.abc import Callable, Sequence
from contextlib import suppress
from dataclasses import dataclass
from hashlib import sha256
from pathlib import Path
from typing import TYPE_CHECKING

import click

from certgen.cli.house import BESIDE
from certgen.cli.register.where import VARIABLE, is_named, register
from certgen.cli.survey_input import fetch, solved_reading
from certgen.errors import NotVerified, WrongUsage
from certgen.network.solution import Solution, solve_survey
from certgen.results.cautions import contradictions
from certgen.survey import accept, read_bytes, read_survey
from certgen.survey.edition import edition_of

if TYPE_CHECKING:
    from certgen.register.line_visits import Recorded
    from certgen.register.register import Register

_PDF = b"%PDF-"


@dataclass(frozen=True, slots=True)
class Kept:
    """What a name that is no file stands for: a `kind` of thing in the register at `where`."""

    kind: str
    where: str | None
    find: "Callable[[Register, str], list[Recorded]]"

    def visits(self, name: str) -> list[Solution]:
        """Return the visits of that name in the register, solved; WrongUsage where no register is named."""
        if not is_named(self.where):
            with suppress(OSError, ValueError):
                if Path(name).is_dir():
                    raise WrongUsage(f"{name}: this is a folder. Name a file in it.")
            told = f"there is no such file, and no register is named to look for a {self.kind} of this name"
            raise WrongUsage(f"{name}: {told}. Pass --register DIR, or set {VARIABLE}.")
        # the visit of a recorded certificate, which was accepted, warnings and all, when it was issued
        return [
            solve_survey(accept(one.name, read_bytes(one.name, one.survey, one.edition)))
            for one in self.find(register(self.where), name)
        ]


def solved(names: Sequence[str], kept: Kept) -> list[Solution]:
    """Return the visits in the order of time, solved; warnings about files go to the standard error."""
    visits = [
        visit for name in names for visit in ([_visit(name)] if _means_a_file(name) else kept.visits(name))
    ]
    return sorted(visits, key=lambda one: one.survey.visit.started)


def first_file(names: Sequence[str]) -> Path:
    """Return the first file among the names, beside which certgen.toml is looked for, else here."""
    return next((Path(name) for name in names if _means_a_file(name)), Path(BESIDE))


def _means_a_file(name: str) -> bool:
    """What is written like a file is one, and so is what is there."""
    path = Path(name)
    with suppress(OSError, ValueError):  # no name that a file could have
        return path.suffix.lower() in {".yaml", ".yml", ".pdf"} or path.is_file()
    return False


def _visit(file: str) -> Solution:
    carried = _carried(Path(file))
    name = file if carried is None else f"{file}, the survey inside"
    reading = read_survey(file) if carried is None else read_bytes(name, *carried)
    solution, findings = solved_reading(name, reading)
    for finding in (*findings, *contradictions(solution)):
        click.echo(finding.line(name), err=True)
    return solution


def _carried(path: Path) -> tuple[bytes, int] | None:
    """Return the survey that a certificate carries, and the edition of its rules; None for what is no PDF.

    NotVerified where its own results were made from another survey. Whether all of the certificate is as it
    was issued is for `certgen verify` to say.
    """
    if not _is_pdf(path):
        return None
    logging.getLogger("pypdf").setLevel(logging.CRITICAL)
    from certgen.verify.issued_file import carried

    try:
        found = carried(fetch(path))
    except NotVerified as error:
        raise NotVerified(f"{path}: {error}") from None
    results = found.found() or {}
    if results.get("survey_sha256") != sha256(found.survey).hexdigest():
        told = "the survey inside is not the one that its results were made from"
        raise NotVerified(f"{path}: {told}. Run: certgen verify {path}")
    try:
        return found.survey, edition_of(results)
    except ValueError as error:
        raise NotVerified(f"{path}: {error}. A newer certgen may know it.") from None


def _is_pdf(path: Path) -> bool:
    try:
        with path.open("rb") as stream:
            return stream.read(len(_PDF)) == _PDF
    except (OSError, ValueError):
        return False  # the reader of surveys says better what is wrong
