"""A reference that was moved between the rounds: zero as left, and every change over what stayed."""

from collections.abc import Iterator
from dataclasses import replace

import numpy as np
import pytest

from certgen.assessment.assess import assess
from certgen.errors import CannotCompute, RankDefect
from certgen.findings import Place
from certgen.network.solution import Solution, solve_survey, untied
from certgen.survey.edition import FIRST
from certgen.survey.survey import ROUNDS, Adjustment, Monument, Setup, Survey
from certgen.visits.comparison import within
from tests.simulate.records import read, roll, setup, survey
from tests.simulate.scene import Laser, TrueRoll

# where the rolls truly lie against the machine, mm/m; R3 and R4 stayed
FOUND = {"R1": 0.13, "R2": -0.2, "R3": 0.06, "R4": 0.11}
LEFT = {"R1": -0.05, "R2": 0.02, "R3": 0.06, "R4": 0.11}
MOVED = (Adjustment("R1", "drive", downstream_mm=-0.486), Adjustment("R2", "drive", downstream_mm=0.594))
STATIONS = {"M1": -1500.0, "M2": 6000.0}
RNG_SEED = 20261126


def true_rolls(**adjustable: str) -> tuple[TrueRoll, ...]:
    """Return the four rolls where they truly were in both rounds."""
    return tuple(
        TrueRoll(
            roll(name, 1000.0 * index, adjustable=adjustable.get(name, "drive")),
            dict(zip(ROUNDS, (FOUND[name], LEFT[name]), strict=True)),
            dict.fromkeys(ROUNDS, 0.0),
        )
        for index, name in enumerate(FOUND)
    )


def seen(
    laser: Laser, rolls: tuple[TrueRoll, ...], rounds: dict[str, str], *, monuments: bool = False
) -> Setup:
    """Return what a setting of the laser reads, by exactly rotated planes: in each round these rolls."""

    def taken() -> Iterator:
        for which, names in rounds.items():
            for one in rolls:
                if one.record.id in names.split():
                    yield laser.read_roll(one, which, np.array([10.0 - one.record.station_mm, 0.0, 0.0]))

    marks = tuple(laser.read_monument(Monument(name, at), 2.0) for name, at in STATIONS.items())
    return laser.setup(marks if monuments else (), tuple(taken()))


def moved_line(*setups: Setup, rolls: tuple[TrueRoll, ...] | None = None, **changes: object) -> Survey:
    """Return the survey of the line whose reference R1 was moved."""
    records = tuple(one.record for one in rolls or true_rolls())
    return survey(records, setups, STATIONS, **{"adjustments": MOVED, **changes})


def expected(names: str = "R1 R2 R3 R4") -> dict[tuple[str, str], float]:
    """Return every slope against the reference as left, from the truth."""
    true = {"as_found": FOUND, "as_left": LEFT}
    return {(name, which): true[which][name] - LEFT["R1"] for name in names.split() for which in ROUNDS}


def found(solved: Solution) -> dict[tuple[str, str], float]:
    """Return the slopes of the solution."""
    return {key: slope.value for key, slope in solved.parallel.slopes.items()}


A, B = Laser("A", heading=3e-4), Laser("B", heading=-2e-4)
ALL = "R1 R2 R3 R4"


@pytest.mark.parametrize(
    ("setups", "adjustable"),
    [
        ([(A, {"as_found": ALL, "as_left": ALL}, False)], {}),
        ([(A, {"as_found": ALL}, True), (B, {"as_left": ALL}, True)], {}),
        ([(A, {"as_found": ALL}, False), (B, {"as_left": ALL}, False)], {"R4": "none"}),
        ([(A, {"as_found": ALL}, False), (B, {"as_left": ALL}, False)], {}),
    ],
    ids=["one setup for both rounds", "monuments", "a roll that cannot move", "rolls that were not moved"],
)
def test_change_is_taken_over_what_stayed(setups: list, adjustable: dict[str, str]) -> None:
    """Free of noise and read by exact planes, every slope is right to a cubic of the angles, 1e-7 mm/m."""
    rolls = true_rolls(**adjustable)
    taken = [seen(laser, rolls, rounds, monuments=marks) for laser, rounds, marks in setups]
    solved = solve_survey(moved_line(*taken, rolls=rolls))
    assert found(solved) == pytest.approx(expected(), abs=2e-7)


def test_change_is_right_to_the_last_digit() -> None:
    """Readings worked out by hand from the equation m = (p - a) y: nothing is left but rounding."""
    at = {"A": 0.3, "B": -0.2}

    def line(name: str, which: str, truth: dict[str, float]) -> Setup:
        ends = {r: [(truth[r] - at[name]) * y / 1000.0 for y in (300.0, 2400.0)] for r in truth}
        return setup(name, {}, *(read(r, *ends[r], which) for r in truth))

    taken = survey(
        tuple(roll(name) for name in FOUND),
        (line("A", "as_found", FOUND), line("B", "as_left", LEFT)),
        adjustments=MOVED,
    )
    assert found(solve_survey(taken)) == pytest.approx(expected(), abs=1e-9)


def test_reference_as_found_has_a_slope_a_change_and_an_uncertainty() -> None:
    """As left it is zero with none; its reported move is checked as that of any other roll."""
    rolls = true_rolls()
    taken = moved_line(seen(A, rolls, {"as_found": ALL, "as_left": ALL}))
    result = assess(solve_survey(taken))
    reference = result.rolls[0].parallel
    assert (reference.verdict("as_found"), reference.verdict("as_left")) == ("reference", "reference")
    assert (reference.as_left.slope_mm_per_m, reference.as_left.u_mm_per_m) == (0.0, 0.0)
    assert reference.as_found.u_mm_per_m > 0.005
    assert reference.change.slope_mm_per_m == pytest.approx(-0.18, abs=1e-6)
    assert result.overall["as_left"] == "fail"  # R3 and R4 stand 0.11 and 0.16 off the reference as left


def test_changes_are_within_their_uncertainty() -> None:
    """Of 120 changes of noisy surveys, tied by monuments, about 95 % lie within their U of the truth."""
    rng, inside, count = np.random.default_rng(RNG_SEED), 0, 0
    rolls = true_rolls()
    for _ in range(60):
        lines = [
            seen(A, rolls, {"as_found": ALL}, monuments=True),
            seen(B, rolls, {"as_left": ALL}, monuments=True),
        ]
        solved = solve_survey(moved_line(*(_noisy(rng, one) for one in lines), rolls=rolls))
        for index, name in enumerate(("R1", "R2")):
            change = assess(solved).rolls[index].parallel.change
            inside += abs(change.slope_mm_per_m - (LEFT[name] - FOUND[name])) <= change.U_mm_per_m
            count += 1
    assert 0.9 <= inside / count <= 1.0


def _noisy(rng: np.random.Generator, taken: Setup) -> Setup:
    """Scatter as the records state it: read-out, repeatability and, for rolls, seating."""

    def off(*parts: float) -> float:
        return float(np.hypot.reduce(parts) * rng.standard_normal())

    return replace(
        taken,
        monuments=tuple(replace(r, value_mm=r.value_mm + off(0.003, 0.008)) for r in taken.monuments),
        readings=tuple(
            replace(
                r,
                operator_mm=r.operator_mm + off(0.003, 0.008, 0.01),
                drive_mm=r.drive_mm + off(0.003, 0.008, 0.01),
            )
            for r in taken.readings
        ),
    )


def test_moved_reference_without_a_tie_is_refused_with_what_would_tie() -> None:
    """Setup A saw R1 and R2 before, B both after: nothing that stayed was read in both."""
    rolls = true_rolls()
    taken = moved_line(
        seen(A, rolls, {"as_found": "R1 R2 R3"}, monuments=True), seen(B, rolls, {"as_left": "R1 R2"})
    )
    (fault,) = untied(taken)
    assert (fault.severity, fault.where) == ("error", "adjustments[0].downstream")
    assert fault.place == Place(1, 1)
    (told,) = untied(replace(taken, places={"adjustments[0].downstream": Place(40, 7)}))
    assert told.place == Place(40, 7)
    assert "roll R1, was moved between the rounds, and nothing that stayed ties setup A" in fault.message
    assert fault.hint == (
        "From setup B also read, as left, one of the rolls that were not moved (R3), or the monuments M1 "
        "and M2, or name a reference that was not moved."
    )
    with pytest.raises(RankDefect):
        solve_survey(taken)


def test_one_monument_is_no_way_to_tie_what_was_before_to_what_is_after() -> None:
    """A direction takes two; with one of them only the roll that stayed will do."""
    rolls = true_rolls()
    before = seen(A, rolls, {"as_found": "R1 R2 R3"}, monuments=True)
    before = replace(before, monuments=before.monuments[:1])
    (fault,) = untied(moved_line(before, seen(B, rolls, {"as_left": "R1 R2"})))
    assert fault.hint == (
        "From setup B also read, as left, one of the rolls that were not moved (R3), or name a reference "
        "that was not moved."
    )
    (fault,) = untied(moved_line(seen(A, rolls, {"as_found": "R1 R2"}), seen(B, rolls, {"as_left": "R1 R2"})))
    assert fault.hint == "Name a reference that was not moved."


def test_ways_to_tie_are_those_of_the_setups_before() -> None:
    """R4 stayed as well, but only B read it, as left: that of A and D with R3 is what can be read again.

    The first setup that read R1 as left is told; the finding stands at the move of R1, not at that of R2 or
    where R1 was raised.
    """
    rolls = true_rolls()
    c, d = Laser("C", heading=1e-4), Laser("D", heading=-1e-4)
    made = (Adjustment("R1", "operator", up_mm=0.1), MOVED[1], MOVED[0])
    (fault,) = untied(
        moved_line(
            seen(d, rolls, {"as_found": "R1 R3"}),
            seen(A, rolls, {"as_found": "R1 R3"}),
            seen(B, rolls, {"as_left": "R1 R4"}),
            seen(c, rolls, {"as_left": "R1 R2"}),
            adjustments=made,
        )
    )
    assert fault.where == "adjustments[2].downstream"
    assert fault.message.endswith("nothing that stayed ties setup A and D to it as it was left")
    assert fault.hint == (
        "From setup B also read, as left, one of the rolls that were not moved (R3), or name a reference "
        "that was not moved."
    )


def test_moved_reference_that_was_not_read_again_is_refused() -> None:
    """Zero would be where it stands now, and nobody read that."""
    (fault,) = untied(moved_line(seen(A, true_rolls(), {"as_found": ALL, "as_left": "R2"})))
    assert fault.hint.startswith("Read both ends of roll R1 as left")


def test_setup_without_any_tie_is_told_apart_from_it() -> None:
    """One that had none even if the reference had stayed is named as before."""
    rolls = true_rolls()
    faults = untied(
        moved_line(seen(A, rolls, {"as_found": "R1 R2", "as_left": "R1"}), seen(B, rolls, {"as_found": "R4"}))
    )
    assert [fault.where for fault in faults] == ["setups[1]"]


def test_reference_that_was_raised_only_stays_the_reference() -> None:
    """A move up tilts it; parallel is held against it as before."""
    rolls, raised = (
        true_rolls(),
        (Adjustment("R1", "drive", up_mm=0.5), Adjustment("R1", "drive", downstream_mm=0.0)),
    )
    solved = solve_survey(moved_line(seen(A, rolls, {"as_found": ALL, "as_left": ALL}), adjustments=raised))
    assert solved.parallel.slopes["R1", "as_found"].value == 0.0


def test_first_edition_did_not_ask() -> None:
    """An archived certificate is computed as it was: zero in both rounds."""
    taken = moved_line(seen(A, true_rolls(), {"as_found": ALL, "as_left": ALL}))
    solved = solve_survey(replace(taken, edition=FIRST))
    assert (
        solved.parallel.slopes["R1", "as_found"].value == solved.parallel.slopes["R1", "as_left"].value == 0.0
    )


def test_comparison_of_both_rounds_takes_another_reference() -> None:
    """Nothing is held against a roll that was moved in between; R4, which stayed, will do."""
    solved = solve_survey(moved_line(seen(A, true_rolls(), {"as_found": ALL, "as_left": ALL})))
    for wanted in (None, "R1"):
        with pytest.raises(
            CannotCompute, match=r"roll R1, was moved between the rounds.*reference: R2, R3, R4\."
        ):
            within(solved, wanted)
    changed = {one.name: one.parallel.shift for one in within(solved, "R4").rolls}
    assert changed["R2"].value_mm_per_m == pytest.approx(0.22, abs=1e-6)
