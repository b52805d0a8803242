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

ROUNDING = "arithmetic_sha256"  # how the machine rounds that computed the results


def printed(wording: Wording, paper: Paper, *, with_checklist: bool) -> Json:
    """Return how the certificate was printed, as far as it takes that to print it again."""
    return {
        "format": FORMAT,
        **_program(),
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
        **_program(),
        "language": wording.language,
        "paper": paper,
        "wording_sha256": wording_digest(wording),
    }


def _program() -> Json:
    return {
        "certgen": __version__,
        "program_sha256": resources.program_digest(),
        "library": f"ReportLab {reportlab.__version__}, matplotlib {matplotlib.__version__}",
    }
