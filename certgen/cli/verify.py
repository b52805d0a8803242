"""`certgen verify`: whether a certificate says what its survey gives, and whether anybody changed it."""

import json
import logging
from collections.abc import Iterable, Sequence
from dataclasses import asdict
from pathlib import Path
from typing import TYPE_CHECKING

import click

from certgen.cli.house import House, house_in
from certgen.cli.signing import trusted
from certgen.cli.survey_input import fetch
from certgen.errors import NotCompared, NotVerified
from certgen.findings import escaped

if TYPE_CHECKING:
    from certgen.verify.compare_contents import Check

_MARKS = {"held": "holds", "differs": "DIFFERS", "remark": "note", "not compared": "OPEN"}
_SAID = {
    "verified": "verified",
    "does not hold": "does NOT hold",
    "results verified": "results verified, pages not compared",
}


@click.command(
    epilog="""\b
Examples:
  certgen verify FC-2026-031.pdf
  certgen verify --json FC-2026-031.pdf
  certgen verify --trust authority.pem FC-2026-031.pdf
  certgen verify --templates our_house FC-2026-031.pdf"""
)
@click.argument("file", type=click.Path(readable=False))
@click.option("--json", "as_json", is_flag=True, help="Print the checks as JSON.")
@click.option(
    "--trust",
    multiple=True,
    type=click.Path(readable=False, path_type=Path),
    help="Certificate of an authority whose signers to trust; then it has to be signed by such.",
)
@click.option(
    "--templates",
    type=click.Path(readable=False, path_type=Path),
    help="The folder of templates that printed it.",
)
def command(file: str, as_json: bool, trust: tuple[Path, ...], templates: Path | None) -> None:
    """Verify the certificate FILE: compute and print it again from the survey inside, and compare.

    Says of every check whether it holds, and has three answers. "verified", exit status 0: the results were
    computed and the pages printed anew, and all is the same. "does NOT hold", 5: something differs, and it
    says what. "results verified, pages not compared", 6: nothing speaks against it, but another form of the
    pages or other templates printed it, and what would compare them is named; a signature that --trust knows
    stands for such pages. Words and look are those of --templates; what lies beside FILE is never read.
    """
    quiet()
    authorities = trusted(trust)
    try:
        house = house_in(templates)
        found = checks(fetch(Path(file)), house, authorities)
    except NotVerified as error:
        raise NotVerified(escaped(f"{file}: {error}")) from None
    click.echo(_as_json(file, found) if as_json else _as_text(file, found))
    status = status_of(found)
    if status:
        raise SystemExit(status)


def status_of(checks: Iterable["Check"]) -> int:
    """Return the exit status of an answer."""
    from certgen.verify.compare_contents import answer

    statuses = {
        "verified": 0,
        "does not hold": NotVerified.exit_code,
        "results verified": NotCompared.exit_code,
    }
    return statuses[answer(checks)]


def quiet() -> None:
    """Silence the libraries: what they would complain about is reported as a check."""
    for library in ("pypdf", "pyhanko", "pyhanko_certvalidator"):
        logging.getLogger(library).setLevel(logging.CRITICAL)


def checks(data: bytes, house: House, trust: Sequence[bytes]) -> Sequence["Check"]:
    """Return what was checked of the certificate in these bytes; NotVerified where it cannot be read."""
    from certgen.verify.checks import verify
    from certgen.verify.issued_file import carried
    from certgen.verify.reissue import print_again

    return verify(carried(data), lambda survey, results: print_again(survey, results, house.wording), trust)


def _as_json(file: str, checks: Sequence["Check"]) -> str:
    from certgen.verify.compare_contents import answer

    outcome = answer(checks)
    found = {
        "file": file,
        "verified": outcome == "verified",
        "outcome": outcome,
        "checks": [asdict(one) for one in checks],
    }
    return json.dumps(found, indent=2)


def _as_text(file: str, checks: Sequence["Check"]) -> str:
    from certgen.verify.compare_contents import answer

    lines = []
    for check in checks:
        lines.append(f"{_MARKS[check.outcome]:8} {escaped(check.text)}.")
        lines += [f"{'':9}{escaped(detail)}" for detail in check.details]
    return "\n".join([*lines, f"{escaped(file)}: {_SAID[answer(checks)]}"])
