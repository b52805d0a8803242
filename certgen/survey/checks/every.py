"""All checks of a whole file, in two groups: those without which no survey can be built, and the rest."""

from collections.abc import Callable, Iterable, Iterator

from certgen.findings import Finding
from certgen.survey.checked import Checked
from certgen.survey.checks.amendments import amendments, number
from certgen.survey.checks.clauses import clauses
from certgen.survey.checks.dates import dates
from certgen.survey.checks.moving import moving
from certgen.survey.checks.names import names
from certgen.survey.checks.needed import needed, repeats_set_aside
from certgen.survey.checks.reference import line, reference
from certgen.survey.checks.renamed import renamed
from certgen.survey.checks.rolls import rolls
from certgen.survey.checks.scaffold import scaffold
from certgen.survey.checks.shared import shared
from certgen.survey.checks.sizes import sizes
from certgen.survey.checks.slopes import slopes
from certgen.survey.checks.targets import targets
from certgen.survey.checks.texts import texts
from certgen.survey.checks.tolerances import tolerances
from certgen.survey.checks.web import web
from certgen.survey.checks.work import work
from certgen.survey.edition import EDITION

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
