"""How a document was printed: what it takes to print it again, and to tell whether it looks the same."""

import matplotlib
import reportlab

from certgen import __version__, resources
from certgen.assessment.results import Json
from certgen.certificate.archive_record import FORMAT
from certgen.certificate.report_record import REPORT, Kind
from certgen.certificate.rounding import RULE
from certgen.certificate.wording import Wording
from certgen.certificate.wording_digest import wording_digest
from certgen.engine.arithmetic import arithmetic_digest
from certgen.survey.survey import Paper

# The form of the pages: raised where the same survey, printed in the same way, gives other pages than before.
# tests/certificate/golden/ holds what the pages of this form are. Certificates that record none are form 1.
PRINT_FORM = 2
ROUNDING = "arithmetic_sha256"  # how the machine rounds that computed the results


def printed(wording: Wording, paper: Paper, *, with_checklist: bool) -> Json:
    """Return how the certificate was printed, as far as it takes that to print it again."""
    return {
        "format": FORMAT,
        "certgen": __version__,
        "print_form": PRINT_FORM,
        "library": library(),
        "language": wording.language,
        "paper": paper,
        "with_checklist": with_checklist,
        "rounding_rule": RULE,
        ROUNDING: arithmetic_digest(),
        "wording_sha256": wording_digest(wording),
    }


def printed_report(wording: Wording, paper: Paper, kind: Kind) -> Json:
    """Return how a report of that kind was printed."""
    return {
        "format": REPORT.format,
        "kind": kind,
        "certgen": __version__,
        "program_sha256": resources.program_digest(),
        "library": library(),
        "language": wording.language,
        "paper": paper,
        "wording_sha256": wording_digest(wording),
    }


def form_of(how: Json) -> object:
    """Return the form of the pages that a record of printing names, 1 where it names none."""
    return how.get("print_form", 1)


def library() -> str:
    """Return what draws the pages, with its version; the first one writes the file."""
    return f"ReportLab {reportlab.__version__}, matplotlib {matplotlib.__version__}"
