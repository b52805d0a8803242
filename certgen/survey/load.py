"""The front door of the survey layer: a file to a survey and all that is wrong with it."""

from dataclasses import dataclass
from pathlib import Path

from certgen.errors import SurveyRefused
from certgen.findings import Finding, Place, has_errors
from certgen.survey.build.whole import survey as build_survey
from certgen.survey.checks.every import sense, structure
from certgen.survey.context import context_of
from certgen.survey.edition import EDITION
from certgen.survey.read import read_tree
from certgen.survey.schema import SURVEY
from certgen.survey.source import WHOLE_FILE, decode, fetch, refuse
from certgen.survey.survey import Survey
from certgen.survey.tree import Mapping, Node, echo
from certgen.survey.unread_findings import unread_findings
from certgen.survey.walk import MOST_FINDINGS, TooMany, Walk


@dataclass(frozen=True, slots=True)
class Reading:
    """What reading a file gave.

    `survey` is None where names or groups of keys are too faulty to build one. Beside errors it may hold
    stand-ins for values that could not be read: only `accept` gives a survey to compute with.
    """

    survey: Survey | None
    findings: tuple[Finding, ...]


def read_survey(path: Path | str) -> Reading:
    """Return the survey in a file with all findings; SurveyRefused where the file is no YAML at all.

    WrongUsage where nothing can be read from the path.
    """
    return read_bytes(str(path), fetch(Path(path)))


def read_bytes(file: str, data: bytes, edition: int = EDITION) -> Reading:
    """Return the survey in the bytes of `file` with all findings; SurveyRefused where they are none.

    It is checked, and computed later, by that edition of the rules.
    """
    root = read_tree(file, decode(file, data))
    _require_survey(file, root)
    walk = Walk(context_of(root))
    try:
        checked = walk.root(root, SURVEY)
    except TooMany:
        return Reading(None, _at_most(tuple(walk.findings)))
    if not isinstance(root, Mapping):
        return Reading(None, tuple(walk.findings))
    structural = structure(checked, edition)
    findings = _at_most((*walk.findings, *structural, *sense(checked, edition)))
    if walk.broken or has_errors(structural):
        return Reading(None, findings)
    survey = build_survey(checked, data, edition)
    if has_errors(findings):
        return Reading(survey, findings)
    return Reading(survey, _at_most((*findings, *unread_findings(survey))))


def _require_survey(file: str, root: Node) -> None:
    """Refuse a file of other keys than a survey's in one line: it is another file, not one full of faults."""
    if isinstance(root, Mapping) and root.entries and not root.entries.keys() & SURVEY.named().keys():
        hint = (
            "Name a survey, or start from the scaffold that `certgen new` writes: its first key is `survey:`."
        )
        found = echo(", ".join(root.entries))
        raise refuse(file, "none of the keys here is one of a survey", hint, root.place, found)


def _at_most(findings: tuple[Finding, ...]) -> tuple[Finding, ...]:
    """Return as many findings as anybody will read, errors and warnings each by themselves."""
    errors = tuple(finding for finding in findings if finding.severity == "error")
    warnings = tuple(finding for finding in findings if finding.severity == "warning")
    return in_order((*_first(errors), *_first(warnings)))


def _first(findings: tuple[Finding, ...]) -> tuple[Finding, ...]:
    if len(findings) < MOST_FINDINGS:
        return findings
    severity = findings[0].severity
    message = f"more than {MOST_FINDINGS} {severity}s; the rest is not listed"
    last = Finding(severity, Place(1, 1), WHOLE_FILE, message, "Look at those listed first.")
    return (*findings[:MOST_FINDINGS], last)


def accept(file: str, reading: Reading, more: tuple[Finding, ...] = ()) -> Survey:
    """Return a survey without errors; SurveyRefused with all findings, `more` among them, otherwise."""
    findings = in_order((*reading.findings, *more))
    if reading.survey is None or has_errors(findings):
        raise SurveyRefused(file, findings)
    return reading.survey


def in_order(findings: tuple[Finding, ...]) -> tuple[Finding, ...]:
    """Return the findings by their place in the file, each once."""
    return tuple(sorted(dict.fromkeys(findings), key=lambda finding: finding.place))
