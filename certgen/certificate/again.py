"""A certificate printed once more from the survey it carries."""

import re
from collections.abc import Callable
from dataclasses import dataclass
from functools import cached_property
from io import BytesIO
from typing import Any, cast, get_args

from pypdf import PdfReader

from certgen.assessment.assess import assess
from certgen.certificate.archive_record import SURVEY
from certgen.certificate.assemble import Printed, certificate
from certgen.certificate.carried import carried
from certgen.certificate.verify_words import pages
from certgen.certificate.wording import Wording
from certgen.engine.accepted import solve_reading
from certgen.errors import NotVerified
from certgen.survey import read_bytes
from certgen.survey.survey import Paper

WordingOf = Callable[[str], Wording]


@dataclass(frozen=True)
class Again:
    """The certificate that the survey gives now, by this program and these words."""

    printed: Printed

    @cached_property
    def reader(self) -> PdfReader:
        """The new certificate, opened."""
        return PdfReader(BytesIO(self.printed.pdf))

    @cached_property
    def words(self) -> list[list[str]]:
        """The words of every page of the new certificate."""
        return pages(self.reader)

    @cached_property
    def found(self) -> dict[str, Any]:
        """The new results after their way through JSON."""
        return carried(self.printed.pdf).found() or {}


def print_again(survey: bytes, how: dict[str, Any], wording_of: WordingOf) -> Again:
    """Return the certificate of a survey, printed as `how` says.

    Raises SurveyRefused or CannotCompute where the survey gives none, NotVerified for an unknown language.
    """
    solution = solve_reading(SURVEY, read_bytes(SURVEY, survey))
    stated = solution.survey.certificate.paper
    paper = cast(Paper, how["paper"]) if how.get("paper") in get_args(Paper) else stated
    wording = wording_of(_language(how))
    assessment = assess(solution)
    with_checklist = how.get("with_checklist") is True
    return Again(certificate(assessment, wording, paper, with_checklist=with_checklist))


def _language(how: dict[str, Any]) -> str:
    """The language by its code (ISO 639): what a file says must not lead to other folders."""
    language = how.get("language")
    if isinstance(language, str) and re.fullmatch("[a-z]{2}", language):
        return language
    raise NotVerified(f"it was printed in an unknown language, {language!r}.")
