"""The content records: what the certificate says, before anything is drawn."""

from dataclasses import replace
from datetime import date
from pathlib import Path

import pytest

from certgen import resources
from certgen.assessment.assess import assess
from certgen.document.compose import compose
from certgen.document.content import (
    Content,
    Paragraphs,
    Section,
    Signatures,
    Statements,
    Strip,
    Table,
    Verdicts,
)
from certgen.moves.plan import plan_of
from certgen.network.solution import solve_survey
from certgen.wording.rounding import METRIC
from certgen.wording.values import small_text
from tests.certificate.samples import WORDING, changed, sample

NAMES = ("tutorial", "winder_inch", "coater_mm", "dryer_mixed", "unwind_wide")


def section(content: Content, key: str) -> Section:
    """Return the section of that word."""
    return next(found for found in content.sections if found.title == WORDING.word(key))


def table(content: Content, key: str, caption: str) -> Table:
    """Return the table whose caption starts so."""
    tables = [block for block in section(content, key).blocks if isinstance(block, Table)]
    return next(found for found in tables if found.caption.startswith(caption))


@pytest.mark.parametrize("name", NAMES)
def test_every_row_has_a_text_for_every_column(name: str) -> None:
    """Tables are rectangular; all but a strip is text, and a strip stands only in its column."""
    content = compose(sample(name), WORDING)
    tables = [block for part in content.sections for block in part.blocks if isinstance(block, Table)]
    assert tables
    for found in tables:
        assert {len(row) for row in found.rows} <= {len(found.columns)}
        for column, *cells in zip(found.columns, *found.rows, strict=True):
            kind = Strip if column.align == "strip" else str
            assert all(isinstance(cell, kind) for cell in cells)


def statement(content: Content, label: str) -> str:
    """Return what page one says under that label, without mark-up; empty where it says nothing of it."""
    blocks = [block for block in content.sections[0].blocks if isinstance(block, Statements)]
    found = {str(key): str(text) for block in blocks for key, text in block.pairs}
    return found.get(WORDING.word(label), "")


def test_sections_follow_the_order_of_a_certificate() -> None:
    """Page one first, the signatures on it; safety ends the body, annexes follow in their letters."""
    sections = compose(sample("winder_inch"), WORDING).sections
    assert sections[0].title == "Verdict"
    assert [part.one_page for part in sections] == [True] + [False] * (len(sections) - 1)
    assert any(isinstance(block, Signatures) for block in sections[0].blocks)
    body = [part.title for part in sections if not part.annex]
    assert body[-1] == "Safety"
    letters = "".join(part.annex for part in sections)
    assert letters == "ABCDEFH"
    assert [part.annex for part in sections[len(body) :]] == list(letters)
    for part in sections[len(body) :]:
        assert part.head.startswith(f"Annex {part.annex}: {part.title}")


def test_cells_that_do_not_pass_are_strong() -> None:
    """In the dryer D4 alone is left failing, in parallel: its error and its verdict as left, and no U."""
    results = table(compose(sample("dryer_mixed"), WORDING), "section_results", "Parallel")
    left = [index for index, column in enumerate(results.columns) if column.group == "As left"]
    found = [index for index, column in enumerate(results.columns) if column.group == "As found"]
    titles = [column.title for column in results.columns]
    strong = {(results.rows[row][0], titles[column]) for row, column in results.strong if column in left}
    assert strong == {("D4", "Error"), ("D4", "Verdict")}
    assert {results.rows[row][0] for row, column in results.strong if column in found} == {
        "D3",
        "D4",
        "D5",
        "E2",
    }


def test_roll_that_was_not_adjusted_says_so() -> None:
    """In place of its change, and on page one among those whose values found stand."""
    content = compose(sample("dryer_mixed"), WORDING)
    results = table(content, "section_results", "Level")
    change = [column.title for column in results.columns].index("Change")
    said = {row[0]: row[change] for row in results.rows}
    # D1, D2, E1 and E3 were read as found only; L1 cannot be moved, and both its readings are one value
    assert {roll for roll, text in said.items() if text == "not re-measured"} == {
        "L1",
        "D1",
        "D2",
        "E1",
        "E3",
    }
    assert "D1, D2, E1, E3." in statement(content, "say_not_moved")
    assert statement(content, "say_remains").startswith("D4 parallel:")


def test_roll_that_was_not_measured_is_named(tmp_path: Path) -> None:
    """Without a level reading there is a dash, the verdict and a statement, and no claim."""
    text = changed(tmp_path, "tutorial", *_without_level("R2"))
    content = compose(text, WORDING)
    results = table(content, "section_results", "Level")
    row = next(row for row in results.rows if row[0] == "R2")
    verdicts = [index for index, column in enumerate(results.columns) if column.title == "Verdict"]
    assert [row[index] for index in verdicts] == ["not measured\nnot read yet"] * len(verdicts)
    errors = [row[index] for index, column in enumerate(results.columns) if column.title in ("Error", "U")]
    assert set(errors) == {"–"}
    assert statement(content, "say_not_measured").startswith("Not measured: R2 level (not read yet).")


def _without_level(roll: str) -> list[tuple[str, str]]:
    lines = (resources.sample_surveys() / "tutorial.yaml").read_text("utf-8").splitlines(keepends=True)
    start = next(i for i, line in enumerate(lines) if line.startswith("level:"))
    stop = next(i for i, line in enumerate(lines) if line.startswith("setups:"))
    return [(line, "") for line in lines[start:stop] if line.strip().startswith(f"{roll}:")]


def test_risk_of_a_guarded_pass_is_stated() -> None:
    """With k = 2 the one-sided normal tail is 2.28 % (ILAC-G8:09/2019, Table 1: below 2.5 %)."""
    content = compose(sample("winder_inch"), WORDING)
    blocks = section(content, "section_decision").blocks
    texts = [text for block in blocks if isinstance(block, Paragraphs) for text in block.texts]
    assert "at most 2.28 %" in " ".join(texts)
    assert "at most 2.28 %" in statement(content, "say_sure")


def test_budget_shares_add_up() -> None:
    """The shares of the sources add up to the whole."""
    budget = table(compose(sample("winder_inch"), WORDING), "section_decision", "Uncertainty budget")
    shares = [float(row[-2].removesuffix(" %")) for row in budget.rows]
    assert sum(shares[:-1]) == pytest.approx(100.0, abs=0.2)
    assert shares[-1] == 100.0


def test_budget_names_every_source_with_its_own_unit() -> None:
    """A source that the survey adds goes by its own name; a scale is a share, a length no slope."""
    parts = section(compose(sample("coater_mm"), WORDING), "section_decision").blocks
    budgets = [b for b in parts if isinstance(b, Table) and b.caption.startswith("Uncertainty budget")]
    rows = {row[0].replace("\xad", ""): row for row in budgets[1].rows}
    assert rows["warm air beside the oven"][1:4] == ("half width 0.004 mm/m", "rectangular", "0.0023 mm/m")
    assert rows["scale of the instrument"][1:4] == ("expanded 0.2 %, k = 2", "normal", "0.10 %")
    assert rows["seating of the target"][3] == "0.0060 mm"
    heights = table(compose(sample("unwind_wide"), WORDING), "section_decision", "Uncertainty budget")
    found = {row[0].replace("\xad", ""): row[3] for row in heights.rows}
    assert (found["tilt of the level plane"], found["read-out"]) == ("0.0040 mm/m", "0.0029 mm")


def test_method_says_how_level_was_read_and_how_a_setup_turned() -> None:
    """Heights alone are not called readings with a level; the turning is told where there was any."""
    unwind, winder, coater = (
        " ".join(section(compose(sample(name), WORDING), "section_method").blocks[0].texts)  # type: ignore[union-attr]
        for name in ("unwind_wide", "winder_inch", "coater_mm")
    )
    assert "precision level" not in unwind
    assert "the tilt of the plane, the same for all rolls of a round, was taken as zero" in unwind
    assert "precision level" in winder
    assert "counts as having turned" in winder
    assert "counts as having turned" not in coater


@pytest.mark.parametrize("stated", [True, False])
def test_check_of_reported_moves_says_whether_their_read_out_is_in_u(tmp_path: Path, stated: bool) -> None:
    """Without it exact agreement is not to be expected, and the note says so."""
    text = (
        sample("winder_inch")
        if stated
        else changed(tmp_path, "winder_inch", (", read_to: 0.5 thou}\n", "}\n"))
    )
    parts = [part.blocks for part in compose(text, WORDING).sections]
    tables = [block for blocks in parts for block in blocks if isinstance(block, Table)]
    note = next(one.note for one in tables if one.caption == WORDING.word("adjustments"))
    assert ("U holds the read-out of every move" in note) == stated
    assert ("exact agreement is not to be expected" in note) != stated


def test_tolerances_stand_as_they_were_stated() -> None:
    """Not only as the slopes they come to."""
    content = compose(sample("winder_inch"), WORDING)
    (facts,) = (b for b in section(content, "section_rolls").blocks if isinstance(b, Statements))
    assert dict(facts.pairs)["Parallel"] == "4 thou over bearings"
    assert "Parallel: 4 thou over bearings" in statement(content, "say_limits")
    assert table(content, "section_results", "Parallel").aside == "limit 4 thou over bearings"


def test_verdict_boxes_count_rolls_that_are_outside() -> None:
    """Nine rolls of the dryer: D3, D4, D5 and E2 outside as found, D4 as left; checks in small print."""
    boxes = next(b for b in section(compose(sample("dryer_mixed"), WORDING), "section_verdict").blocks
                 if isinstance(b, Verdicts)).boxes  # fmt: skip
    assert [box.verdict for box in boxes] == ["fail", "fail"]
    assert [box.sentence for box in boxes] == [
        "4 of 9 rolls outside tolerance",
        "1 of 9 rolls outside tolerance",
    ]
    assert boxes[1].details == (
        "the other 8 within tolerance",
        "Checks not passed: level 0 of 9, parallel 1 of 8",
    )
    assert [box.dashed for box in boxes] == [True, False]
    assert not boxes[1].passed


def test_closure_that_nothing_checks_is_named_without_a_number() -> None:
    """Two monuments alone hold setup C: what is left of them is near zero whatever was read."""
    found = table(
        compose(sample("winder_inch"), WORDING), "section_network", "Closures, monuments read again"
    )
    assert {row[2] for row in found.rows} == {"setup A", "setup B"}
    assert found.note.startswith("Not checked, for hardly anything else holds what these readings determine")
    assert found.note.endswith("M1 (setup A – setup C), M2 (setup A – setup C).")


def test_setups_without_a_date_have_no_column_for_it() -> None:
    """A column of dashes says nothing; where one setup has a day, all have a cell."""
    taken = sample("unwind_wide").survey
    for days, dated in (
        ((None,) * len(taken.setups), False),
        ((date(2026, 6, 3),) * len(taken.setups), True),
    ):
        setups = tuple(replace(one, day=day) for one, day in zip(taken.setups, days, strict=True))
        found = compose(assess(solve_survey(replace(taken, setups=setups))), WORDING)
        setup_table = table(found, "section_network", "Setups")
        titles = [column.title for column in setup_table.columns]
        assert ("Date" in titles) == dated
        assert {len(row) for row in setup_table.rows} == {len(titles)}
        assert setup_table.rows[0][titles.index("Rolls read")].startswith("T1")


def test_reference_has_no_probability_of_conformance() -> None:
    """It is straight by definition; level is judged like that of any roll."""
    content = compose(sample("unwind_wide"), WORDING)
    for name, reference in (("Parallel", True), ("Level", False)):
        found = table(content, "section_figures", name)
        row = next(row for row in found.rows if row[0] == "T4")
        shares = [row[i] for i, column in enumerate(found.columns) if column.title == "Confor\xadmance"]
        assert len(shares) == 2
        assert all((share == "–") == reference for share in shares)
        assert all(share.endswith("%") != reference for share in shares)


def test_closure_of_level_says_that_it_is_one() -> None:
    """It names no setup, for none read it."""
    found = table(compose(sample("unwind_wide"), WORDING), "section_network", "Closures")
    firsts = {row[1] for row in found.rows}
    assert "level, as found" in firsts
    assert "setup A, as found" in firsts


def test_stop_readings_are_in_the_sign_the_crew_reads() -> None:
    """Where positive readings mean upstream, the engine's stop reading is turned over for the crew."""
    plain = compose(sample("dryer_mixed"), WORDING)
    move = table(plain, "section_moves", "Parallel")
    stop = next(i for i, column in enumerate(move.columns) if column.title == WORDING.word("stop_reading"))
    results = sample("dryer_mixed")
    found = plan_of(results).by_roll[move.rows[0][0]].parallel.move.stop_reading_mm
    assert results.survey.positive.roll == "upstream"
    assert found is not None
    assert move.rows[0][stop].split("\n")[0] == small_text(METRIC, -found)
