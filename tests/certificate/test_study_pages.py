"""The reference study on paper: every number of the results in its row, one look with the certificate."""

import json
import re
from dataclasses import replace
from functools import cache
from io import BytesIO
from typing import Any

import pytest
from pypdf import PdfReader

from certgen.document.study_section import candidate_name, study_conclusion, study_table
from certgen.pdf.reports import compose_study, study_pdf
from certgen.reference_study.study import Study, study
from certgen.results.report_results import study_results
from certgen.survey.survey import Round
from certgen.wording.values import numbers_for
from tests.certificate.samples import WORDING, sample
from tests.certificate.test_printed_results import FACTORS, SAMPLES, shown

ROUNDS: tuple[Round, Round] = ("as_found", "as_left")
PLACES = {"mm": 3, "in": 2}


@cache
def studied(name: str, which: Round = "as_found") -> Study:
    """Return the study of a sample."""
    return study(sample(name).solution, which)


@cache
def printed(name: str, which: Round) -> str:
    """Return the text of the pages with white space folded."""
    pages = PdfReader(BytesIO(study_pdf(studied(name, which), WORDING))).pages
    return f" {' '.join(' '.join(page.extract_text() for page in pages).split())} "


def row(units: str, candidate: dict[str, Any]) -> str:
    """Return the numbers of a candidate as they follow each other, written from the JSON alone."""
    which = ("mm", "in") if units == "both" else (units,)
    direction = [
        shown(candidate["direction_mm_per_m"] * FACTORS[u][0], PLACES[u], signed=True) for u in which
    ]
    moves = [
        shown(candidate[key] * FACTORS[u][1], FACTORS[u][2], signed=False)
        for key in ("total_move_mm", "largest_move_mm")
        for u in which
    ]
    counts = [str(candidate[key]) for key in ("judged", "outside", "stay_outside", "to_move")]
    return f" {' '.join([*direction, *counts, *moves])} "


@pytest.mark.parametrize("which", ROUNDS)
@pytest.mark.parametrize("name", SAMPLES)
def test_every_number_of_the_study_is_on_the_pages(name: str, which: Round) -> None:
    """A row for each candidate, in the order of the results."""
    found, text = json.loads(json.dumps(study_results(studied(name, which)))), printed(name, which)
    rows = [row(sample(name).survey.certificate.units, candidate) for candidate in found["candidates"]]
    assert [one for one in rows if one not in text] == []
    assert text.index(rows[0]) < text.index(rows[-1])
    assert found["survey_sha256"] in text.replace(" ", "")


@pytest.mark.parametrize("name", SAMPLES)
def test_every_candidate_is_named_in_the_plot(name: str) -> None:
    """Rolls by their id; the present reference says so."""
    text = printed(name, "as_found").split("Cost against direction")[1]
    for candidate in studied(name).candidates:
        mark = {"free": "free", "line": "line"}.get(candidate.kind, candidate.id)
        assert re.search(rf" {mark}{', present' if candidate.present else ''} ", text), mark


def test_pages_warn_that_the_reference_is_the_plants() -> None:
    """In the conclusion, not among the small print."""
    text = printed("tutorial", "as_found")
    conclusion_part = text.split("Conclusion")[1].split("What each reference would cost")[0]
    assert "Changing the reference is the plant's decision" in conclusion_part
    assert "guarantees" in conclusion_part


def test_pages_have_the_frame_of_the_certificate() -> None:
    """Contractor, which survey, page n of N, end mark."""
    text = printed("winder_inch", "as_left")
    assert "Fennel Creek Alignment Reference study" in text
    assert "Survey of certificate FC-2026-031, revision 0: the line as left page 1 of 2" in text
    assert "End of reference study" in text


def test_study_is_the_same_bytes_again() -> None:
    """Nothing of the clock or of chance gets in."""
    assert study_pdf(studied("tutorial"), WORDING) == study_pdf(studied("tutorial"), WORDING)


def test_row_of_the_present_reference_is_bold() -> None:
    """And says that it is the present one."""
    found = studied("coater_mm")
    table = study_table(found, numbers_for(found.survey), WORDING)
    (index,) = table.emphasis
    assert table.rows[index][0] == "offset line of monuments M1, M2, M3 (present)"


def test_conclusion_says_where_nothing_is_gained() -> None:
    """The winder is well served by the reference it has."""
    found = studied("winder_inch")
    texts = study_conclusion(found, numbers_for(found.survey), WORDING)
    assert texts[0].startswith("Present reference, roll R1, Unwind guide roll: 6 of 11 rolls do not pass")
    assert texts[1:] == (
        "No roll would cost less as the reference.",
        "No other direction would cost less than the present one.",
    )


def test_conclusion_names_rolls_that_stay_outside() -> None:
    """Against a roll that points elsewhere the fixed ones are left behind, by name."""
    found = studied("tutorial")
    worst = replace(found.candidates[-1], present=True)
    others = [replace(one, present=False) for one in found.candidates[:-1]]
    texts = study_conclusion(replace(found, candidates=(*others, worst)), numbers_for(found.survey), WORDING)
    assert "no move brings R1 to a pass" in texts[0]
    assert texts[1].startswith("Cheapest roll, roll R1, Unwind roll: 1 of 2 rolls does not pass")


def test_free_direction_has_a_name() -> None:
    """In running text."""
    found = studied("tutorial")
    assert candidate_name(found.free, found, WORDING) == "free direction"


def test_rolls_that_were_not_measured_are_listed() -> None:
    """Under the conclusion."""
    found = replace(studied("tutorial"), not_measured=("R9",))
    texts = [
        text for section in compose_study(found, WORDING).sections[:2] for text in _texts(section.blocks)
    ]
    assert any("R9" in text for text in texts)


def _texts(blocks: tuple[Any, ...]) -> list[str]:
    return [text for block in blocks for text in getattr(block, "texts", ())]
