"""The front door of the survey layer: a file to a survey and all that is wrong with it.

The checks of a whole file stand in two groups: those without which no survey can be built, and the others.
"""

from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass
from pathlib import Path

from certgen.errors import SurveyRefused
from certgen.findings import Finding, Place, has_errors
from certgen.survey.build.whole import survey as build_survey
from certgen.survey.checked import Checked
from certgen.survey.checks.names import names, renamed
from certgen.survey.checks.needed import line, needed, reference, repeats_set_aside, shared
from certgen.survey.checks.paperwork import amendments, clauses, dates, number, scaffold, texts
from certgen.survey.checks.sizes import rolls, sizes, tolerances, web
from certgen.survey.checks.slopes import slopes, targets
from certgen.survey.checks.work import moving, work
from certgen.survey.edition import EDITION
from certgen.survey.schema import SURVEY
from certgen.survey.source import WHOLE_FILE, decode, fetch, refuse
from certgen.survey.survey import Survey
from certgen.survey.tree import Mapping, Node, Scalar, echo
from certgen.survey.unread import unread_findings
from certgen.survey.walk import MOST_FINDINGS, TooMany, Walk, context_of
from certgen.survey.yaml_reader import read_tree

Check = Callable[[Checked], Iterator[Finding]]

_STRUCTURE: tuple[Check, ...] = (names, needed, line)
_SENSE: tuple[Check, ...] = (
    dates,
    targets,
    slopes,
    rolls,
    sizes,
    renamed,
    texts,
    tolerances,
    reference,
    web,
    work,
    moving,
    amendments,
    clauses,
    scaffold,
)


# checks that came with a later edition of the rules: an archived survey is not refused by them
_STRUCTURE_SINCE: dict[int, tuple[Check, ...]] = {2: (repeats_set_aside,)}
_SENSE_SINCE: dict[int, tuple[Check, ...]] = {2: (shared, number)}


@dataclass(frozen=True, slots=True)
class Identity:
    """Number and revision as written, without space around them, and the place of the number in the file."""

    number: str
    revision: str
    place: Place


def identity(file: str, data: bytes) -> Identity | None:
    """Return how the certificate of a survey is called; None where the file does not say so."""
    try:
        root = read_tree(file, decode(file, data))
    except SurveyRefused:
        return None
    named = _below(root, "certificate")
    number, revision = _below(named, "number"), _below(named, "revision")
    if not isinstance(number, Scalar) or not isinstance(revision, Scalar):
        return None
    return Identity(number.text.strip(), revision.text.strip(), number.place)


def _below(node: Node | None, key: str) -> Node | None:
    return node.entries[key].value if isinstance(node, Mapping) and key in node.entries else None


def structure(root: Checked, edition: int = EDITION) -> tuple[Finding, ...]:
    """Return the faults that leave the readings without names, weights or a reference."""
    return _found(root, (*_STRUCTURE, *_since(_STRUCTURE_SINCE, edition)))


def sense(root: Checked, edition: int = EDITION) -> tuple[Finding, ...]:
    """Return all other faults and warnings."""
    return _found(root, (*_SENSE, *_since(_SENSE_SINCE, edition)))


def _since(later: dict[int, tuple[Check, ...]], edition: int) -> Iterator[Check]:
    for first in sorted(later):
        if first <= edition:
            yield from later[first]


def _found(root: Checked, checks: Iterable[Check]) -> tuple[Finding, ...]:
    return tuple(finding for check in checks for finding in check(root))


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
    # refuse a file of other keys than a survey's in one line: it is another file, not one full of faults
    if isinstance(root, Mapping) and root.entries and not root.entries.keys() & SURVEY.named().keys():
        hint = (
            "Name a survey, or start from the scaffold that `certgen new` writes: its first key is `survey:`."
        )
        found = echo(", ".join(root.entries))
        raise refuse(file, "none of the keys here is one of a survey", hint, root.place, found)
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
