"""Errors that readings share: held against least squares with their whole covariance, written down anew here.

The reference knows no unknown of a shared error: it weighs the readings by the inverse of a full covariance
matrix, x = (A' V^-1 A)^-1 A' V^-1 b (A. C. Aitken, 1935), V made from what each pair of readings shares.
"""

from collections.abc import Callable, Sequence
from dataclasses import replace

import numpy as np
import pytest

from certgen.assessment.budgets import draw
from certgen.network import level, parallel
from certgen.network.equations import Observation
from certgen.network.least_squares import Network, solve
from certgen.network.solution import solve_survey
from certgen.network.uncertainty import Share, budget, expand
from certgen.survey.survey import (
    BearingGrowth,
    Growth,
    HeightReading,
    Instrument,
    LevelCheck,
    LevelReadings,
    Monument,
    MonumentReading,
    OtherSource,
    RunOut,
    StandardUncertainty,
    Survey,
)
from tests.simulate.records import (
    BLANK,
    TARGETS,
    UNCERTAINTY,
    levelled,
    read,
    roll,
    setup,
    standard,
    survey,
    tilt,
)

OWN = {"slope", "height", "azimuth", "offset", "monument", "zero"}
KINDS = ("line", "setup", "roll", "reading")
D = 0.03
SCALE, RUN_OUT, PLANE = 0.002, 0.006, 0.012
OTHER_U = {"line": 0.011, "setup": 0.007, "roll": 0.005, "reading": 0.004}
Common = Callable[[Observation, Observation], float]


def others(aspect: str) -> tuple[OtherSource, ...]:
    """Return one further source of every kind."""
    return tuple(OtherSource(f"by {kind}", aspect, kind, standard(OTHER_U[kind])) for kind in KINDS)


def with_scale(survey: Survey) -> Survey:
    """Return the survey with a stated scale of the laser and of the level."""
    scaled = tuple(replace(one, scale=standard(SCALE)) for one in survey.instruments)
    return replace(survey, instruments=scaled)


def line() -> Survey:
    """Return four rolls read from two setups that drift, monuments first and, in one of them, last."""
    rng = np.random.default_rng(7)
    angles = (1, 2, 1, 1)
    rolls = tuple(
        roll(f"R{n}", 900.0 * n, run_out=RunOut(standard(RUN_OUT), angles[n])) for n in range(len(angles))
    )
    names = (("R0", "R1", "R1", "R2"), ("R2", "R3", "R1"))
    setups = []
    for index, seen in enumerate(names):
        taken = [read(name, *rng.normal(0.0, 0.3, 2)) for name in seen]
        taken.append(read("R3" if index else "R1", *rng.normal(0.0, 0.3, 2), "as_left"))
        marks = [MonumentReading(m, rng.normal(0.0, 0.5), "") for m in ("A", "B", "C")]
        if index == 0:
            marks += [MonumentReading(m, rng.normal(0.0, 0.5), "", None, 1.0) for m in ("A", "B", "C")]
        check = LevelCheck(0.01, 0.01 + D * (index + 1))
        setups.append(replace(setup(f"S{index}", {}, *taken, level_check=check), monuments=tuple(marks)))
    marks = tuple((name, 1000.0 * n) for n, name in enumerate("ABC"))
    monuments = tuple(Monument(name, at) for name, at in marks)
    stated = replace(UNCERTAINTY, other=others("parallel"))
    made = survey(rolls, tuple(setups), monuments=monuments, reference=replace(BLANK.reference, roll="R0"))
    return with_scale(replace(made, uncertainty=stated))


def dense(rows: Sequence[Observation], common: Common) -> tuple[dict, np.ndarray]:
    """Return the estimates of the readings' own unknowns and their covariance, from the whole of V."""
    taken = [row for row in rows if row.label.source != "prior" or {u.kind for u in row.terms} <= OWN]
    unknowns = list(dict.fromkeys(u for row in taken for u in row.terms if u.kind in OWN))
    a = np.array([[row.terms.get(u, 0.0) for u in unknowns] for row in taken])
    b = np.array([row.value for row in taken])
    v = np.array([[common(one, two) for two in taken] for one in taken])
    v += np.diag([row.sigma**2 for row in taken])
    weighed = np.linalg.solve(v, np.column_stack([a, b]))
    covariance = np.linalg.inv(a.T @ weighed[:, :-1])
    return dict(zip(unknowns, covariance @ a.T @ weighed[:, -1], strict=True)), covariance


def assert_same(network: Network, common: Common) -> None:
    """Every unknown of a reading's own, and every covariance of two, to 1e-9."""
    values, covariance = dense(network.observations, common)
    found = network.estimates([{unknown: 1.0} for unknown in values])
    assert [one.value for one in found] == pytest.approx(list(values.values()), abs=1e-9)
    own = np.array([[one.covariance(two) for two in found] for one in found])
    assert own == pytest.approx(covariance, abs=1e-9 * np.max(np.diag(covariance)) + 1e-12)


def _of_scale(one: Observation, two: Observation, instruments: tuple[str, str]) -> float:
    return SCALE**2 * one.value * two.value if instruments[0] == instruments[1] else 0.0


def _of_others(one: Observation, two: Observation, enters: tuple[float, float]) -> float:
    """Slopes in common by line, setup (or round), roll and reading."""
    first, second = one.label, two.label
    setups = (first.setup or first.round) == (second.setup or second.round)
    rolls = first.roll == second.roll
    reading = one is two or (
        first.source == second.source != "level"
        and (first.setup, first.roll, first.round, first.series)
        == (second.setup, second.roll, second.round, second.series)
    )
    shared = {"line": True, "setup": setups, "roll": rolls, "reading": reading}
    return enters[0] * enters[1] * sum(OTHER_U[kind] ** 2 for kind in KINDS if shared[kind])


# the readings of the line in their order: what stands at which of how many moments, from 0 to 1
TIMES = {"S0": ([1, 2, 3, 4, 5], 6, {0.0: 0, 1.0: 6}), "S1": ([1, 2, 3, 4], 4, {0.0: 0})}
MOMENTS = {"S0": [0.0] * 3 + [1.0] * 3, "S1": [0.0] * 3}
# R1 is read at two angles in turn: its first, second and, from the other setup, third seating
ANGLES = {("S0", 1): 0, ("S0", 2): 1, ("S1", 2): 0}


def _turn(one: Observation, two: Observation) -> float:
    """What the turning of a setup has in common at two readings: half a line, half a step, and the shift."""
    if one.label.setup != two.label.setup:
        return 0.0
    order, last, marks = TIMES[one.label.setup]
    variance = (D * (1 + int(one.label.setup[1:]))) ** 2 / 3.0

    def seen(row: Observation) -> tuple[float, float]:
        series = row.label.series
        if row.label.source == "roll":
            return order[series] / last, -row.at_m
        moment = marks[MOMENTS[row.label.setup][series]]
        return moment / last, (ord(row.label.monument) - ord("B")) * 1.0

    (s, p), (t, q) = seen(one), seen(two)
    turned = s * t + (s * (1.0 - s) / 2.0 if s == t else 0.0)
    shift = s * t * 1.35**2 if {one.label.source, two.label.source} == {"monument"} else 0.0
    return variance * (p * q * turned + shift)


def test_parallel_is_that_of_the_whole_covariance() -> None:
    """Run-out, scale, a drifting setup and further sources of every kind, against V written down here."""

    def common(one: Observation, two: Observation) -> float:
        total = _of_scale(one, two, ("laser", "laser")) + _turn(one, two)
        if {one.label.source, two.label.source} != {"roll"}:
            return total
        total += _of_others(one, two, (one.at_m, two.at_m))
        first, second = one.label, two.label
        angles = [ANGLES.get((label.setup, label.series), 0) for label in (first, second)]
        same = (first.roll, first.round, first.side) == (second.roll, second.round, second.side)
        return total + (RUN_OUT**2 if same and angles[0] == angles[1] else 0.0)

    assert_same(solve(parallel.observations(line())), common)


def test_level_is_that_of_the_whole_covariance() -> None:
    """Heights over a plane of each round beside slopes of a level, with scale and further sources."""
    rng = np.random.default_rng(8)
    rolls = tuple(roll(f"R{n}", 900.0 * n, run_out=RunOut(standard(RUN_OUT))) for n in range(3))
    slopes = levelled(
        *(tilt(f"R{n}", rng.normal(0.0, 0.1), turned=turned) for n in range(2) for turned in (False, True)),
        tilt("R2", 0.05),
    ).slopes
    heights = tuple(
        HeightReading(f"R{n}", which, *rng.normal(0.0, 2.0, 2), TARGETS, "")
        for which in ("as_found", "as_left")
        for n in (0, 1, 2, 2)
    )
    stated = replace(UNCERTAINTY, level_plane_mm_per_m=standard(PLANE), other=others("level"))
    taken = with_scale(survey(rolls, level=LevelReadings("level", slopes, heights), uncertainty=stated))

    def common(one: Observation, two: Observation) -> float:
        first, second = one.label, two.label
        ends = [row.at_m if row.label.source == "height" else 1.0 for row in (one, two)]
        total = _of_scale(one, two, ("level", "level")) + _of_others(one, two, (ends[0], ends[1]))
        if {first.source, second.source} != {"height"}:
            return total
        total += PLANE**2 * ends[0] * ends[1] if first.round == second.round else 0.0
        same = (first.roll, first.round, first.side) == (second.roll, second.round, second.side)
        return total + (RUN_OUT**2 if same else 0.0)

    assert_same(solve(level.observations(taken)), common)


def over_a_plane(*rounds: str, plane: float = PLANE) -> Survey:
    """Return two rolls read as heights in these rounds."""
    pairs = tuple(
        HeightReading(name, which, 0.0, 0.1, TARGETS, "") for which in rounds for name in ("R1", "R2")
    )
    stated = replace(UNCERTAINTY, level_plane_mm_per_m=standard(plane))
    rolls = (roll("R1"), roll("R2"))
    return survey(rolls, level=LevelReadings("laser", (), pairs), uncertainty=stated)


def test_tilt_of_the_level_plane_stands_in_every_roll_and_cancels_between_two() -> None:
    """In each slope in full; not in the difference of two of a round; twice in the change between rounds."""
    bare = solve_survey(over_a_plane("as_found", "as_left", plane=0.0)).level
    found = solve_survey(over_a_plane("as_found", "as_left")).level
    one, two = ((of.slopes["R1", "as_found"], of.slopes["R2", "as_found"]) for of in (bare, found))
    assert two[0].u ** 2 == pytest.approx(one[0].u ** 2 + PLANE**2)
    assert (two[1] - two[0]).u == pytest.approx((one[1] - one[0]).u)
    change = found.slopes["R1", "as_left"] - two[0]
    assert change.u**2 == pytest.approx(2.0 * one[0].u ** 2 + 2.0 * PLANE**2)


@pytest.mark.parametrize("seatings", [1, 4, 16])
def test_more_seatings_do_not_average_run_out_away(seatings: int) -> None:
    """However often a roll is read at one angle, the run-out of both ends stays in its slope whole."""
    run_out = RunOut(StandardUncertainty(RUN_OUT, "u_shaped", "half width"), 1)

    def u(rolls: tuple) -> float:
        taken = [read("R1", 0.0, 0.0)] + [read("R2", 0.0, 0.1) for _ in range(seatings)]
        return solve_survey(survey(rolls, (setup("A", {}, *taken),))).parallel.slopes["R2", "as_found"].u

    still, running = u((roll("R1"), roll("R2"))), u((roll("R1"), roll("R2", run_out=run_out)))
    assert running**2 - still**2 == pytest.approx(2.0 * RUN_OUT**2 / 2.1**2)


def test_run_out_averages_over_the_angles_that_a_roll_was_read_at() -> None:
    """Four seatings at four angles leave half of it; at two angles, each read twice, 1/√2."""

    def added(angles: int) -> float:
        rolls = (roll("R1"), roll("R2", run_out=RunOut(standard(RUN_OUT), angles)))
        taken = [read("R1", 0.0, 0.0)] + [read("R2", 0.0, 0.1) for _ in range(4)]
        bare = survey((roll("R1"), roll("R2")), (setup("A", {}, *taken),))
        u = [
            solve_survey(one).parallel.slopes["R2", "as_found"].u
            for one in (bare, replace(bare, rolls=rolls))
        ]
        return (u[1] ** 2 - u[0] ** 2) * 2.1**2 / (2.0 * RUN_OUT**2)

    assert [added(n) for n in (1, 2, 4)] == pytest.approx([1.0, 0.5, 0.25])


def test_growth_enters_the_error_and_not_the_slope() -> None:
    """0.05 mm at the drive side over 2.7 m; that of the reference is in every roll, not between two."""
    grows = Growth(BearingGrowth(), BearingGrowth(0.0, 0.3, None, standard(0.05)))
    rolls = (roll("R1", growth=grows), roll("R2", growth=grows), roll("R3"))
    taken = [read(name, 0.0, 0.0) for name in ("R1", "R2", "R3")]
    found = solve_survey(survey(rolls, (setup("A", {}, *taken),))).parallel
    one = (0.05 / 2.7) ** 2
    added = {
        name: found.judged[name, "as_found"].u ** 2 - found.slopes[name, "as_found"].u ** 2
        for name in ("R1", "R2", "R3")
    }
    assert added == pytest.approx({"R1": 0.0, "R2": 2.0 * one, "R3": one})
    pair = found.judged["R3", "as_found"] - found.judged["R2", "as_found"]
    bare = found.slopes["R3", "as_found"] - found.slopes["R2", "as_found"]
    assert pair.u**2 - bare.u**2 == pytest.approx(one)
    shares = {
        share.source: share.u for share in budget(found.network, found.judged["R2", "as_found"], UNCERTAINTY)
    }
    assert shares["growth"] == pytest.approx((2.0 * one) ** 0.5)


@pytest.mark.parametrize(
    ("operator", "distribution", "said"),
    [
        (("rectangular", "half width 0.05 mm"), "rectangular", "half width 0.05 mm"),
        (("normal", "half width 0.05 mm"), "normal", "half width 0.05 mm"),
        (("rectangular", "1.7 mil"), "rectangular", ""),
    ],
    ids=["alike", "of two distributions", "in two units"],
)
def test_growth_of_both_bearings_is_one_statement(
    operator: tuple[str, str], distribution: str, said: str
) -> None:
    """u² = (0.03² + 0.04²) / 2.7² mm/m, normal where they differ in that; its text only where they share it.

    Degrees of freedom 5 and 20: 0.05⁴ / (0.03⁴/5 + 0.04⁴/20), JCGM 100:2008, G.4.1.
    """
    ends = (
        StandardUncertainty(0.03, operator[0], operator[1], 5.0),
        StandardUncertainty(0.04, "rectangular", "half width 0.05 mm", 20.0),
    )
    grows = Growth(*(BearingGrowth(downstream_u=one) for one in ends))
    taken = survey(
        (roll("R1"), roll("R2", growth=grows)), (setup("A", {}, read("R1", 0, 0), read("R2", 0, 0)),)
    )
    rows = solve_survey(taken).parallel.network.observations
    (prior,) = (row for row in rows if row.label.side == "growth")
    assert (prior.said.distribution, prior.said.stated) == (distribution, said)
    assert prior.said.value == prior.sigma == pytest.approx(0.05 / 2.7)
    assert prior.said.dof == pytest.approx(0.05**4 / (0.03**4 / 5.0 + 0.04**4 / 20.0))


def test_growth_of_one_bearing_is_its_own_statement() -> None:
    """With its distribution, its text and its degrees of freedom."""
    grows = Growth(drive=BearingGrowth(downstream_u=StandardUncertainty(0.03, "triangular", "0.07 mm", 5.0)))
    taken = survey(
        (roll("R1"), roll("R2", growth=grows)), (setup("A", {}, read("R1", 0, 0), read("R2", 0, 0)),)
    )
    rows = solve_survey(taken).parallel.network.observations
    (prior,) = (row for row in rows if row.label.side == "growth")
    assert prior.said == StandardUncertainty(pytest.approx(0.03 / 2.7), "triangular", "0.07 mm", 5.0)


def test_scale_enters_in_proportion_to_what_is_read() -> None:
    """0.2 % of a reading of 5 mm over 2.1 m; nothing where both ends read alike, whatever they read."""

    def added(operator: float, drive: float) -> float:
        taken = (read("R1", 0.0, 0.0), read("R2", operator, drive))
        bare = survey((roll("R1"), roll("R2")), (setup("A", {}, *taken),))
        u = [solve_survey(one).parallel.slopes["R2", "as_found"].u for one in (bare, with_scale(bare))]
        return (max(u[1] ** 2 - u[0] ** 2, 0.0)) ** 0.5

    assert added(0.0, 5.0) == pytest.approx(SCALE * 5.0 / 2.1, rel=1e-6)
    assert added(30.0, 30.0) == pytest.approx(0.0, abs=1e-8)


def test_source_of_few_degrees_of_freedom_widens_k() -> None:
    """A run-out known from five degrees of freedom outweighs the rest: k is near that of t at 5."""
    rough = RunOut(StandardUncertainty(0.5, "normal", "standard 0.5 mm", 5.0))
    rolls = (roll("R1"), roll("R2", run_out=rough))
    taken = survey(rolls, (setup("A", {}, read("R1", 0.0, 0.0), read("R2", 0.0, 0.1)),))
    stated = replace(UNCERTAINTY, coverage=replace(UNCERTAINTY.coverage, k=None, probability=0.95))
    found = solve_survey(replace(taken, uncertainty=stated)).parallel
    assert expand(found.network, found.slopes["R2", "as_found"], stated).k == pytest.approx(2.57, abs=0.01)


def test_run_outs_of_two_rolls_are_two_estimates_though_stated_alike() -> None:
    """Half the variance each: twice the degrees of freedom of one (JCGM 100:2008, G.4.1)."""
    rough = RunOut(StandardUncertainty(0.5, "normal", "standard 0.5 mm", 8.0))
    rolls = (roll("R1", run_out=rough), roll("R2", run_out=rough))
    taken = survey(rolls, (setup("A", {}, read("R1", 0.0, 0.0), read("R2", 0.0, 0.1)),))
    found = solve_survey(taken).parallel
    (share,) = (
        one
        for one in budget(found.network, found.slopes["R2", "as_found"], taken.uncertainty)
        if one.source == "run_out"
    )
    assert share.dof == pytest.approx(16.0, rel=1e-9)
    assert [(said.dof, len(rows)) for said, rows in found.network.said["run_out"]] == [(8.0, 2), (8.0, 2)]


def test_statements_that_read_alike_are_drawn_apart() -> None:
    """The sum of two of t at 3 degrees is not t at 3 itself, as it would be with a size common to both."""
    rough = RunOut(StandardUncertainty(0.5, "normal", "standard 0.5 mm", 3.0))
    rolls = (roll("R1", run_out=rough), roll("R2", run_out=rough))
    taken = survey(rolls, (setup("A", {}, read("R1", 0.0, 0.0), read("R2", 0.0, 0.1)),))
    aspect = solve_survey(taken).parallel
    drawn = draw(aspect, taken.uncertainty, 40000, 0.5, seed=3)["R2", "as_found"]
    u = aspect.slopes["R2", "as_found"].u
    half = (drawn.high - drawn.low) / 2.0 / u
    chance = np.random.default_rng(11)
    sizes = np.sqrt(3.0 / chance.chisquare(3.0, (400000, 2)) / 2.0)
    expected = np.quantile(np.abs(np.sum(sizes * chance.standard_normal(sizes.shape), axis=1)), 0.5)
    assert half == pytest.approx(expected, rel=0.02)
    assert half > 1.05 * 0.7649  # the quartile of t at 3 degrees


def test_scales_of_two_lasers_are_two_estimates_though_stated_alike() -> None:
    """Each instrument has its own calibration; one source for the line is one, however often it enters."""
    said = StandardUncertainty(0.05, "normal", "standard 5 %", 6.0)
    lasers = tuple(replace(BLANK.instruments[0], id=name, scale=said) for name in ("laser", "second"))
    setups = (
        setup("A", {}, read("R1", 0.0, 9.0), read("R2", 0.0, 0.1)),
        setup("B", {}, read("R2", 0.0, 9.1), read("R3", 0.0, 9.1), instrument="second"),
    )
    taken = survey((roll("R1"), roll("R2"), roll("R3")), setups)
    found = solve_survey(replace(taken, instruments=lasers)).parallel
    assert [said.dof for said, _ in found.network.said["scale"]] == [6.0, 6.0]
    other = OtherSource("frame", "parallel", "roll", said)
    one = replace(taken, uncertainty=replace(UNCERTAINTY, other=(other,)))
    assert len(solve_survey(one).parallel.network.said["other frame"]) == 1


def test_sources_stated_alike_for_all_rolls_are_one_statement_of_the_budget() -> None:
    """One and the same statement is printed as such; of two that differ, the mean square enters."""

    def share(*sizes: float) -> Share:
        rolls = tuple(roll(f"R{n}", run_out=RunOut(standard(u))) for n, u in enumerate(sizes, 1))
        taken = survey(rolls, (setup("A", {}, *(read(one.id, 0.0, 0.1) for one in rolls)),))
        found = solve_survey(taken).parallel
        every = budget(found.network, found.slopes["R2", "as_found"], taken.uncertainty)
        return next(one for one in every if one.source == "run_out")

    alike, apart = share(0.006, 0.006), share(0.006, 0.008)
    assert (alike.said, apart.said) == (standard(0.006), None)
    assert alike.u == pytest.approx(0.006 * 2.0 / 2.1)
    assert apart.u == pytest.approx((2.0 * (0.006**2 + 0.008**2)) ** 0.5 / 2.1)
    assert apart.input_u == pytest.approx(0.005 * 2.0**0.5)


def test_instrument_record_has_a_scale_by_itself() -> None:
    """The scale of the level does not enter what the laser reads."""
    instruments = tuple(
        replace(one, scale=standard(SCALE)) if one.id == "level" else one for one in BLANK.instruments
    )
    taken = survey((roll("R1"), roll("R2")), (setup("A", {}, read("R1", 0.0, 0.0), read("R2", 0.0, 5.0)),))
    assert isinstance(instruments[0], Instrument)
    found = solve_survey(replace(taken, instruments=instruments)).parallel
    assert "scale" not in found.network.sources


def test_what_is_stated_of_all_rolls_is_labelled_with_none_of_them() -> None:
    """Only an error that one roll has for itself is put down to that roll and its round."""
    taken = with_scale(line())
    taken = replace(taken, uncertainty=replace(taken.uncertainty, other=others("parallel")))
    aspect = solve_survey(taken).parallel
    assert aspect is not None
    own, common = set(), set()
    for row in aspect.network.observations:
        if row.label.source == "prior" and row.label.side not in OWN and row.said is not None:
            ((unknown, _),) = row.terms.items()
            (own if unknown.block is not None else common).add((row.label.roll, row.label.round))
    assert common == {(None, None)}
    assert own
    assert all(roll is not None and round_ is not None for roll, round_ in own)
