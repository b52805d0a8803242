"""The certificate of a single roll: nothing is explained that is not there, and pages are not left empty."""

import pytest

from certgen import resources
from certgen.assessment.assess import assess
from certgen.assessment.assessment import Assessment
from certgen.document.content import Paragraphs
from certgen.document.moves_section import moves_section
from certgen.figures.side_view import side_views
from certgen.network.solution import solve_survey
from certgen.resources import LANGUAGES
from certgen.survey.survey import Side
from certgen.wording.values import numbers_for
from certgen.wording.wording import Wording
from tests.certificate.samples import WORDING
from tests.simulate.records import levelled, roll, survey, tilt


def single(adjustable: Side | str, slope: float = 0.01) -> Assessment:
    """Return a line of one roll that was read with the level."""
    return assess(
        solve_survey(survey((roll("R1", adjustable=adjustable),), level=levelled(tilt("R1", slope))))
    )


@pytest.mark.parametrize("language", LANGUAGES)
def test_line_without_a_roll_to_move_says_so_and_explains_no_table(language: str) -> None:
    """One fixed roll: one sentence, and nothing of stop readings; one that is to be moved has its table."""
    wording = Wording(resources.templates(), language)
    fixed, free = (
        moves_section(found, numbers_for(found.survey, wording.digits), wording).blocks
        for found in (single("none"), single("drive", 0.5))
    )
    assert fixed == (Paragraphs((wording.word("moves_none"),)),)
    assert len(free) > 1


def test_side_view_of_one_roll_takes_a_small_part_of_the_page() -> None:
    """It has no neighbour to be seen beside."""
    (view,) = side_views(single("none").survey, WORDING, 493.0)
    assert view.drawing.height < 120.0
