"""All checks of a whole file, in two groups: those without which no survey can be built, and the rest."""

from collections.abc import Callable, Iterator

from certgen.findings import Finding
from certgen.survey.checked import Checked
from certgen.survey.checks.amendments import amendments
from certgen.survey.checks.clauses import clauses
from certgen.survey.checks.dates import dates
from certgen.survey.checks.moving import moving
from certgen.survey.checks.names import names
from certgen.survey.checks.needed import needed
from certgen.survey.checks.reference import line, reference
from certgen.survey.checks.renamed import renamed
from certgen.survey.checks.rolls import rolls
from certgen.survey.checks.scaffold import scaffold
from certgen.survey.checks.sizes import sizes
from certgen.survey.checks.slopes import slopes
from certgen.survey.checks.targets import targets
from certgen.survey.checks.texts import texts
from certgen.survey.checks.tolerances import tolerances
from certgen.survey.checks.web import web
from certgen.survey.checks.work import work

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


def structure(root: Checked) -> tuple[Finding, ...]:
    """Return the faults that leave the readings without names, weights or a reference."""
    return tuple(finding for check in _STRUCTURE for finding in check(root))


def sense(root: Checked) -> tuple[Finding, ...]:
    """Return all other faults and warnings."""
    return tuple(finding for check in _SENSE for finding in check(root))
