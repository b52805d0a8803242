"""A certificate printed once more from the survey it carries."""

import json
import re
from collections.abc import Callable
from dataclasses import dataclass
from functools import cached_property
from io import BytesIO
from typing import Any, cast, get_args

from pypdf import PdfReader

from certgen.assessment.assess import assess
from certgen.assessment.rules import SEVERITY
from certgen.document.compose import ANNEXES
from certgen.errors import NotVerified
from certgen.exports.dcc import attachment, dcc_xml
from certgen.network.solution import solve_reading
from certgen.pdf.archive.metadata import SURVEY, results_bytes
from certgen.pdf.archive.print_record import form_of
from certgen.pdf.pdf_document import Printed, certificate
from certgen.survey import read_bytes
from certgen.survey.edition import edition_of
from certgen.survey.survey import Paper
from certgen.verify.compare_contents import differing, exact, pages
from certgen.verify.pdf_bytes import revisions
from certgen.verify.pdf_objects import Revision
from certgen.wording.rounding import rounding_rule, rule_of
from certgen.wording.wording import Wording

_FIXED = (*SEVERITY, "reference", "not measured", "not adjusted", "not shown", "operator", "drive")

WordingOf = Callable[[str], Wording]


@dataclass(frozen=True)
class Again:
    """The certificate that the survey gives now, by this program and these words.

    Where the results of the one that is verified hold, they travel inside the new one as they are, so that
    the rest can be compared: their last digits may be another machine's. `units` are those of its pages (mm,
    in or both), `fixed_words` its words of verdicts and sides, `wording` all words it was printed with.
    """

    printed: Printed
    units: str
    fixed_words: frozenset[str]
    wording: Wording | None = None
    dcc: bytes = b""

    @cached_property
    def same_library(self) -> bool:
        """Whether the library that wrote the certificate, its fonts too, is the one that writes here."""
        inside: dict[str, Any] = json.loads(self.printed.inside)
        wrote, writes = (str(one["printed"].get("library")) for one in (inside, self.found))
        return wrote.partition(",")[0] == writes.partition(",")[0]

    @cached_property
    def rounds_alike(self) -> bool:
        """Whether the results inside are those that were computed, to the last bit."""
        inside: dict[str, Any] = json.loads(self.printed.inside)
        return exact(*({key: some[key] for key in some if key != "printed"} for some in (inside, self.found)))

    @cached_property
    def reader(self) -> PdfReader:
        """The new certificate, opened."""
        return PdfReader(BytesIO(self.printed.pdf))

    @cached_property
    def raw(self) -> Revision:
        """The objects of the new certificate."""
        return revisions(self.printed.pdf)[0]

    @cached_property
    def words(self) -> list[list[str]]:
        """The words of every page of the new certificate."""
        return pages(self.reader)

    @cached_property
    def found(self) -> dict[str, Any]:
        """The new results after their way through JSON."""
        found: dict[str, Any] = json.loads(self.printed.results)
        return found


def print_again(survey: bytes, results: bytes, wording_of: WordingOf) -> Again:
    """Return the certificate of a survey, printed as the results of an earlier one say.

    Raises SurveyRefused or CannotCompute where the survey gives none, NotVerified for an unknown language.
    """
    found = json.loads(results)
    how, edition = found["printed"], _edition(found)
    solution = solve_reading(SURVEY, read_bytes(SURVEY, survey, edition))
    stated = solution.survey.certificate.paper
    paper = cast(Paper, how["paper"]) if how.get("paper") in get_args(Paper) else stated
    wording = wording_of(_language(how))
    assessment = assess(solution)
    annexes, draft = _annexes(how), how.get("draft") is True
    form = attachment(dcc_xml(assessment)) if how.get("dcc") is True else None

    def inside(computed: bytes) -> bytes:
        return results if _hold(results, computed) else computed

    with rounding_rule(rule_of(how.get("rounding_rule"))):
        printed = certificate(
            assessment, wording, paper, annexes=annexes, draft=draft, inside=inside, dcc=form
        )
    fixed = frozenset(map(wording.word, _FIXED))
    return Again(
        printed, solution.survey.certificate.units, fixed, wording, b"" if form is None else form.data
    )


def _annexes(how: dict[str, Any]) -> str:
    """The letters of the annexes that were printed; all where nothing that can be read says which."""
    letters = how.get("annexes")
    known = isinstance(letters, str) and set(letters) <= set(ANNEXES)
    return "".join(sorted(set(letters))) if known and isinstance(letters, str) else ANNEXES


def _hold(results: bytes, computed: bytes) -> bool:
    """Whether results are the computed ones but for the last digits, written as certgen writes them."""
    one, two = json.loads(results), json.loads(computed)
    if results_bytes(one) != results:
        return False
    how, now = one.pop("printed"), two.pop("printed")
    return not any(differing("", one, two, more_allowed=of_another(how, now)))


def of_another(how: dict[str, Any], now: dict[str, Any]) -> bool:
    """Whether another program than this one printed a certificate; its results may lack what came since."""
    return bool(form_of(how) != form_of(now) or how.get("certgen") != now["certgen"])


def _edition(found: dict[str, Any]) -> int:
    try:
        return edition_of(found)
    except ValueError as error:
        raise NotVerified(f"{error}. A newer certgen may know it.") from None


def _language(how: dict[str, Any]) -> str:
    """The language by its code (ISO 639): what a file says must not lead to other folders."""
    language = how.get("language")
    if isinstance(language, str) and re.fullmatch("[a-z]{2}", language):
        return language
    raise NotVerified(f"it was printed in an unknown language, {language!r}.")
