"""Several visits from the command line: survey files, or certificates that carry their survey inside."""

import logging
from collections.abc import Sequence
from pathlib import Path

import click

from certgen.cli.fetch import fetch
from certgen.cli.load import accepted, load
from certgen.engine.solution import Solution, solve_survey
from certgen.errors import NotVerified
from certgen.survey import read_bytes
from certgen.survey.survey import Survey

_PDF = b"%PDF-"


def solved(files: Sequence[str]) -> list[Solution]:
    """Return the visits in the order of time, solved; warnings go to the standard error."""
    surveys = sorted((_survey(file) for file in files), key=lambda one: one.visit.started)
    return [solve_survey(survey) for survey in surveys]


def _survey(file: str) -> Survey:
    carried = _carried(Path(file))
    name = file if carried is None else f"{file}, the survey inside"
    survey, findings = load(file) if carried is None else accepted(name, read_bytes(name, carried))
    for finding in findings:
        click.echo(finding.line(name), err=True)
    return survey


def _carried(path: Path) -> bytes | None:
    """Return the bytes of the survey that a certificate carries; None for a file that is no PDF.

    Whether the certificate is as it was issued is for `certgen verify` to say.
    """
    if not _is_pdf(path):
        return None
    logging.getLogger("pypdf").setLevel(logging.CRITICAL)
    from certgen.certificate.carried import carried

    try:
        return carried(fetch(path)).survey
    except NotVerified as error:
        raise NotVerified(f"{path}: {error}") from None


def _is_pdf(path: Path) -> bool:
    try:
        with path.open("rb") as stream:
            return stream.read(len(_PDF)) == _PDF
    except (OSError, ValueError):
        return False  # the reader of surveys says better what is wrong
