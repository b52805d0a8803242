"""What the results say on moves is on the pages: shims, what travel leaves, the check of reported moves."""

import re
from dataclasses import replace
from typing import Any

import pytest

from certgen import resources
from certgen.assessment.assess import assess
from certgen.assessment.assessment import ASPECTS, Assessment
from certgen.document.compose import compose, letter_text
from certgen.document.content import Paragraphs, Table
from certgen.document.work_sheet import work_sheet
from certgen.moves.plan import plan_of
from certgen.network.solution import solve_survey
from certgen.results.survey_results import survey_results
from certgen.wording.wording import Wording
from tests.certificate.samples import sample
from tests.certificate.test_printed_results import FACTORS, SAMPLES, cells, issued, shown, small
from tests.certificate.test_worksheet import found_only

WORDING = Wording(resources.templates(), "en")


def systems(units: str) -> tuple[str, ...]:
    """Return the unit systems on the page."""
    return ("mm", "in") if units == "both" else (units,)


def in_text(units: str, value: float) -> str:
    """Return a move in running text: number and unit in each system."""
    signs = {"mm": "mm", "in": "thou"}
    return " / ".join(
        f"{shown(value * FACTORS[u][1], FACTORS[u][2], signed=True)} {signs[u]}" for u in systems(units)
    )


def plain(value: float) -> str:
    """Return a shim's thickness to four places, trailing zeros dropped."""
    return f"{value:.4f}".rstrip("0").rstrip(".")


@pytest.mark.parametrize("aspect", ASPECTS)
@pytest.mark.parametrize("name", SAMPLES)
def test_every_check_of_a_reported_move_is_on_the_pages(name: str, aspect: str) -> None:
    """Predicted, measured, difference, U, agreement in one row; without a move by name where they agree."""
    found, units, text = issued(name)
    for roll in found["rolls"]:
        check = (roll["adjustment_check"] or {}).get(aspect)
        if check is not None and check["result"] == "agrees" and not any(check["reported_mm"].values()):
            called = roll["moves_found"][aspect] if "moves_found" in roll else None
            named = re.search(rf"no change found: [^.]*\b{roll['id']} \({aspect}\)", text)
            assert named or called, (roll["id"], aspect)
        elif check is not None:
            expanded = check["U_mm_per_m"]
            keys = ("predicted_mm_per_m", "measured_mm_per_m", "difference_mm_per_m")
            numbers = " ".join(cells(units, check[key], expanded) for key in keys)
            row = f" {roll['id']} {aspect} .{{1,60}}? {numbers} "
            row += f"{cells(units, expanded, expanded, signed=False)} {check['result']} "
            assert re.search(row, text), row


@pytest.mark.parametrize("name", SAMPLES)
def test_every_reported_move_is_on_the_pages(name: str) -> None:
    """By roll, aspect and bearing, behind what was called for."""
    found, units, text = issued(name)
    for roll in found["rolls"]:
        check = roll["adjustment_check"] or {}
        for side in ("operator", "drive"):
            for aspect in ASPECTS:
                moved = check[aspect]["reported_mm"][side] if check.get(aspect) else 0.0
                if moved:
                    called = r"(?:–|(?:[+−][\d.]+ ?){1,2})"
                    row = f" {roll['id']} {aspect} {side} side {called} {small(units, moved)} "
                    assert re.search(row, text), row


def test_every_shim_pack_is_in_the_table_of_moves() -> None:
    """Behind the raise it is laid for, thickest first, in the units of the page; the winder as found."""
    assessment = found_only("winder_inch")
    (table,) = (one for one in moves_on_the_pages(assessment) if one.caption.startswith("Level"))
    titles = [column.title for column in table.columns]
    shown_packs = {(row[0], row[titles.index("Shims")]) for row in table.rows}
    packs = {
        (plan.roll.id, " + ".join(plain(piece * FACTORS["in"][1]) for piece in step.shims.pieces_mm))
        for plan in plan_of(assessment).moving
        if plan.level is not None and plan.level.needed
        for step, _ in plan.level.steps
        if step.shims is not None
    }
    assert len(packs) > 1
    assert packs <= shown_packs


def needed(found: dict[str, Any]) -> list[tuple[str, str, dict[str, Any]]]:
    """Return roll, aspect and moves of all that is left to do."""
    return [
        (roll["id"], aspect, roll["moves"][aspect])
        for roll in found["rolls"]
        for aspect in ASPECTS
        if roll["moves"][aspect] is not None and roll["moves"][aspect]["needed"]
    ]


@pytest.mark.parametrize("name", SAMPLES)
def test_everything_left_to_do_is_on_the_pages(name: str) -> None:
    """The error that the moves leave with U, the verdict then, and what travel forbids."""
    found, units, text = issued(name)
    for roll, aspect, moves in needed(found):
        way = "up_mm" if aspect == "level" else "downstream_mm"
        after = moves["predicted"]
        row = f" {roll} .*? {cells(units, after['error_mm_per_m'], after['U_mm_per_m'])} "
        row += f"{cells(units, after['U_mm_per_m'], after['U_mm_per_m'], signed=False)} {after['verdict']} "
        row += (
            f"beyond travel; full move {re.escape(in_text(units, moves[way]))}"
            if moves["beyond_travel"]
            else ""
        )
        assert re.search(row, text), row


def moves_on_the_pages(assessment: Assessment) -> list[Table]:
    """Return the tables of moves that are still possible."""
    heads = [f"{name.capitalize()}, moves still possible" for name in ASPECTS]
    found = (block for part in compose(assessment, WORDING).sections for block in part.blocks)
    return [one for one in found if isinstance(one, Table) and one.caption.startswith(tuple(heads))]


@pytest.mark.parametrize("decision", ["simple", "guarded", "four_way"])
@pytest.mark.parametrize("name", SAMPLES)
def test_only_rolls_that_do_not_pass_stand_in_the_tables_of_moves(name: str, decision: str) -> None:
    """As left, and as found for the record: a roll that passes shows no move."""
    survey = replace(sample(name).survey, decision=decision)  # type: ignore[arg-type]
    assessment = assess(solve_survey(survey))
    for table in moves_on_the_pages(assessment):
        aspect = "level" if table.caption.startswith("Level") else "parallel"
        verdicts = {one.id: one.aspect(aspect).verdict("as_left") for one in assessment.rolls}
        assert {verdicts[row[0]] for row in table.rows} <= {"fail", "conditional pass", "conditional fail"}
    verdicts = {
        (one.id, name): one.aspect(name).verdict("as_found") for one in assessment.rolls for name in ASPECTS
    }
    blocks = (block for part in compose(assessment, WORDING).sections for block in part.blocks)
    (record,) = (
        one for one in blocks if isinstance(one, Table) and one.caption == WORDING.word("adjustments")
    )
    called = [row for row in record.rows if row[3] != "–"]
    assert "pass" not in {verdicts[row[0], row[1]] for row in called}


def test_one_roll_has_one_stop_reading_wherever_it_is_printed() -> None:
    """D4 of the dryer: in the results, their step, the certificate and the work sheet; not in its stop.

    The whole move would end at +0.155; travel lets the bearing go 0.200 of 0.476 mm.
    """
    assessment = sample("dryer_mixed")
    roll = next(one for one in survey_results(assessment)["rolls"] if one["id"] == "D4")  # type: ignore[attr-defined]
    moves = roll["moves"]["parallel"]
    assert moves["stop_reading_mm"] == moves["steps"][0]["stop_reading_mm"] == pytest.approx(0.401, abs=5e-4)
    (table,) = moves_on_the_pages(assessment)
    (row,) = table.rows
    assert row[:4] == ("D4", "operator side", "drive side", "+0.200\n+7.9")
    assert row[4] == "+0.401\n+15.8"
    assert row[-1] == "beyond travel; full move +0.476 mm / +18.8 thou"
    (group,) = work_sheet(assessment, WORDING).groups
    assert group.rolls[0].steps[0].stop == "+0.401 mm / +15.8 thou"


def test_stop_readings_name_their_setup() -> None:
    """In words where there is one, in a column of their own where there are more."""
    (text,) = stop_texts(sample("dryer_mixed"))
    assert text.endswith("as it stood in setup 1.")
    found = found_only("dryer_mixed")
    (text,) = stop_texts(found)
    assert text.endswith("as it stood in the setup named.")
    table = next(one for one in moves_on_the_pages(found) if one.caption.startswith("Parallel"))
    place = [column.title for column in table.columns].index("Setup")
    read = {one.roll.id: one.setup for one in plan_of(found).moving}
    assert {row[0]: row[place] for row in table.rows} == {row[0]: read[row[0]] for row in table.rows}
    assert len({row[place] for row in table.rows}) > 1


def stop_texts(assessment: Assessment) -> list[str]:
    """Return the paragraphs that say how a stop reading is taken."""
    part = next(
        one for one in compose(assessment, WORDING).sections if one.title == WORDING.word("section_moves")
    )
    (texts,) = (block.texts for block in part.blocks if isinstance(block, Paragraphs))
    return [text for text in texts if text.startswith("Stop-at reading")]


def test_letter_promises_only_moves_that_the_certificate_shows() -> None:
    """D4 has one; where it cannot be adjusted, nothing is promised."""
    whole = sample("dryer_mixed")
    assert "states the moves that are still possible" in unfolded(whole)
    rolls = tuple(replace(one, adjustable="none") if one.id == "D4" else one for one in whole.survey.rolls)
    fixed = unfolded(assess(solve_survey(replace(whole.survey, rolls=rolls))))
    assert "D4 (parallel). What is to be done about it is the plant's decision." in fixed
    assert "still possible" not in fixed


def unfolded(assessment: Assessment) -> str:
    """Return the letter in one line."""
    return " ".join(letter_text(assessment, WORDING).split())


def test_samples_show_what_travel_and_shims_do() -> None:
    """Else this file would look for nothing: a roll limited by travel, packs, and checks."""
    results = [issued(name)[0] for name in SAMPLES]
    assert any(moves["beyond_travel"] for found in results for _, _, moves in needed(found))
    assert any(roll["adjustment_check"] for found in results for roll in found["rolls"])
