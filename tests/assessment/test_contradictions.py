"""What a contradiction is called: readings by their places, movements by the setups they lie between."""

from dataclasses import replace

import numpy as np
import pytest

from certgen.findings import Finding, Place
from certgen.network.equations import Label
from certgen.network.least_squares import known
from certgen.network.reliability import Kind
from certgen.network.solution import solve_survey
from certgen.network.suspects import Candidate
from certgen.results.cautions import contradictions, event_text
from certgen.results.network_results import network
from certgen.survey.survey import Reference, Survey
from tests.simulate.records import UNCERTAINTY, levelled, read, roll, setup, standard, survey, tilt

MONUMENTS = {"M1": -1000.0, "M2": 5000.0, "M3": 9000.0}
OPERATOR = Label("roll", "A", "R2", None, "operator", "as_found", 0, "setups[0].readings[1]")
DRIVE = OPERATOR._replace(side="drive")
MARK = Label("monument", "C", None, "M2", where="setups[2].monuments.M2")


def event(
    kinds: tuple[Kind, ...], *readings: Label, between: tuple[str | None, str | None] | None = None
) -> Candidate:
    """Return a candidate of these kinds that touches these readings."""
    return Candidate(
        kinds, readings, tuple(range(len(readings))), between, 9.0, 0.1, 0.01, 1.0, known(0.0, 1)
    )


@pytest.mark.parametrize(
    ("one", "text"),
    [
        (event(("seating",), OPERATOR, DRIVE), "R2 as found (reading 2) in setup A"),
        (event(("reading",), DRIVE._replace(where="")), "R2 as found in setup A"),
        (event(("reading",), MARK), "monument M2 in setup C"),
        (event(("setup moved",), DRIVE), "setup A (turned between its rounds)"),
        (event(("monument moved",), MARK, between=(None, "C")), "monument M2 (moved before setup C)"),
        (event(("monument moved",), MARK, between=("B", "C")), "monument M2 (moved between setups B and C)"),
        (event(("monument moved",), MARK, between=("C", "C")), "monument M2 (moved during setup C)"),
        (
            event(("reading", "monument moved"), MARK, between=("B", "C")),
            "monument M2 in setup C (or moved between setups B and C)",
        ),
        (event(("reading",), Label("prior", side="level_zero")), "the stated level zero"),
        (
            event(("reading",), Label("level", None, "R2", None, None, "as_left", 0, "level.readings[0]")),
            "R2 as left (reading 1)",
        ),
    ],
)
def test_event_is_called_by_what_may_have_happened(one: Candidate, text: str) -> None:
    """A seating by its roll, round, setup and number from 1; a movement by the setups around it."""
    assert event_text(one) == text


def test_side_is_told_of_neither_end_of_a_roll_or_height() -> None:
    """Which end is off cannot be told; the side of another reading that has one is said."""
    bare = Label("roll", "A", "R2", None, "drive", "as_found")
    assert event_text(event(("reading",), bare)) == "R2 as found in setup A"
    assert event_text(event(("reading",), bare._replace(source="height", setup=None))) == "R2 as found"
    assert event_text(event(("reading",), bare._replace(source="level"))) == "R2 drive as found in setup A"


def two_setups(**changes: object) -> Survey:
    """Return a survey in which R2 is read 1.2 mm three times over, and once 12 mm."""
    drives = (1.2, 1.2, 1.2, 12.0)
    taken = [replace(read("R2", 0.0, drive), where=f"setups[0].R2[{n}]") for n, drive in enumerate(drives)]
    return survey((roll("R1"), roll("R2")), (setup("A", {}, read("R1", 0.0, 0.0), *taken),), **changes)


def said(taken: Survey) -> list[Finding]:
    """Return the warnings on a survey."""
    return list(contradictions(solve_survey(taken)))


def test_contradiction_is_said_in_one_sentence() -> None:
    """12 mm against 1.2 mm three times: 10.8 mm too much.

    Of one end against three others, w is -10.8 / (s √(8/3)).
    """
    (found,) = said(two_setups(places={"setups[0].R2[3]": Place(41, 7)}))
    w = 10.8 / (np.sqrt(0.003**2 + 0.008**2 + 0.010**2) * np.sqrt(2.0 * 4.0 / 3.0))
    what = "R2 as found (reading 4) in setup A contradicts the other readings by 10.8 mm"
    assert found.message == f"{what} (w = {-w:.1f})"
    assert (found.severity, found.where, found.place) == ("warning", "setups[0].R2[3]", Place(41, 7))
    assert found.hint == (
        "R2 as found (reading 4) in setup A: a slipped decimal would explain it. Correct what was written "
        "down wrongly, or read it again; what is wrong for good, `exclude`."
    )


def test_contradiction_without_a_place_stands_at_the_beginning_of_the_file() -> None:
    """A survey that was not read from a file has no places."""
    (found,) = said(two_setups())
    assert found.place == Place(1, 1)


def test_contradiction_without_a_cause_begins_with_what_to_do() -> None:
    """5 mm beside 1.2 mm three times is nothing that is known to happen."""
    taken = two_setups()
    wrong = replace(taken.setups[0].readings[-1], drive_mm=5.0)
    (found,) = said(
        replace(taken, setups=(replace(taken.setups[0], readings=(*taken.setups[0].readings[:-1], wrong)),))
    )
    assert found.hint.startswith("Correct what was written down wrongly")
    assert "contradicts the other readings by 3.8 mm" in found.message


def test_first_edition_warns_of_no_contradiction() -> None:
    """It named suspects without saying what they may be."""
    assert said(two_setups(edition=1)) == []


def test_stated_uncertainty_that_is_contradicted_is_where_it_was_stated() -> None:
    """Three rolls read 0.5 mm/m by a laser and -0.5 mm/m by it turned over: its squareness error is 0.5 mm/m.

    Stated was 0.001 mm/m. No reading is wrong; the key to look at is where uncertainties are stated.
    """
    names = ("R1", "R2", "R3")
    setups = tuple(
        setup(
            name, dict.fromkeys(MONUMENTS, 0.0), *(read(r, 0.0, drive) for r in names), reversed=drive < 0.0
        )
        for name, drive in (("A", 1.05), ("B", -1.05))
    )
    taken = survey(
        tuple(roll(name) for name in names),
        setups,
        MONUMENTS,
        reference=Reference(None, tuple(MONUMENTS)),
        uncertainty=replace(UNCERTAINTY, squareness_mm_per_m=standard(0.001)),
        places={"uncertainty": Place(12, 1)},
    )
    (found,) = said(taken)
    assert found.message.startswith("the stated squareness contradicts the other readings by 0.5 mm/m (")
    assert (found.where, found.place) == ("uncertainty", Place(12, 1))
    parallel = solve_survey(taken).parallel
    assert parallel is not None
    (suspect,) = network(parallel.quality)["suspects"]  # type: ignore[misc]
    assert abs(suspect["blunder_mm_per_m"]) == pytest.approx(0.5, abs=1e-3)
    assert "blunder_mm" not in suspect
    # half the difference of both setups: three seatings of both ends 2.1 m apart, and two directions over
    # three monuments, 50.67 m² about their middle; the statement itself
    seatings = 2.0 * (0.003**2 + 0.008**2 + 0.010**2) / 2.1**2 / 3.0
    directions = (0.003**2 + 0.008**2) / 50.67
    u = np.sqrt((seatings + directions) / 2.0 + 0.001**2)
    assert suspect["candidates"][0]["u_mm_per_m"] == pytest.approx(u, rel=1e-3)


def test_level_reading_contradicts_by_a_slope() -> None:
    """Three readings of 0.3 mm/m and one of -0.3 mm/m: off by 0.6 mm/m, its sign lost."""
    taken = [tilt("R1", 0.3) for _ in range(4)]
    taken[1] = replace(taken[1], slope_mm_per_m=-0.3, where="level.readings[1]")
    (found,) = said(survey((roll("R1"),), level=levelled(*taken)))
    assert "R1 direct as found (reading 2) contradicts the other readings by 0.6 mm/m" in found.message
    assert found.hint.startswith("R1 direct as found (reading 2): a lost sign would explain it. ")


def test_names_of_one_contradiction_are_all_said() -> None:
    """Two readings that disagree: each may be it."""
    taken = two_setups()
    pair = (taken.setups[0].readings[0], taken.setups[0].readings[1], taken.setups[0].readings[-1])
    (found,) = said(replace(taken, setups=(replace(taken.setups[0], readings=pair),)))
    assert found.message.startswith("R2 as found (reading 1) in setup A contradicts")
    assert found.message.endswith("; it may as well be R2 as found (reading 4) in setup A")
