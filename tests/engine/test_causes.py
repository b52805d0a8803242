"""What happened to a suspect reading, where the numbers show it."""

from dataclasses import replace

import numpy as np
import pytest

from certgen.network.causes import with_causes
from certgen.network.quality import Named
from certgen.network.solution import solve_survey
from certgen.survey.edition import FIRST
from certgen.survey.survey import Setup, Survey
from tests.simulate.records import levelled, read, roll, setup, survey, tilt

MONUMENTS = {"M1": -1000.0, "M2": 5000.0, "M3": 9000.0}


def line(first: float = 1.2, again: float = 1.2, third: float = 1.2) -> Survey:
    """Return two rolls, the second read three times over with these drive-side readings."""
    seen = setup("A", {}, read("R1", 0.0, 0.0), *(read("R2", 0.0, value) for value in (first, again, third)))
    return survey((roll("R1"), roll("R2")), (seen,))


def first_cause(taken: Survey, aspect: str = "parallel") -> str | None:
    """Return the cause of the first suspect."""
    solved = getattr(solve_survey(taken), aspect).quality
    assert solved.suspects
    return solved.causes[0]


@pytest.mark.parametrize(
    ("factor", "cause"),
    [(-1.0, "ends or sign"), (25.4, "unit"), (1.0 / 25.4, "unit"), (10.0, "decimal"), (0.1, "decimal")],
)
def test_cause_is_named_where_the_numbers_show_it(factor: float, cause: str) -> None:
    """The reading turned over, or times a factor, agrees with the other two."""
    assert first_cause(line(3.0, 3.0, 3.0 * factor)) == cause


@pytest.mark.parametrize("sign", [1.0, -1.0])
@pytest.mark.parametrize("end", ["operator", "drive"])
@pytest.mark.parametrize("factor", [10.0, 0.1, 25.4])
def test_cause_at_one_end_is_named_whatever_its_sign(factor: float, end: str, sign: float) -> None:
    """2.0 mm at one end and -1.2 mm at the other, three times over; once the one end is written slipped."""
    true = {"operator": -1.2 * sign, "drive": 2.0 * sign}
    wrong = {**true, end: factor * true[end]}
    taken = [read("R2", one["operator"], one["drive"]) for one in (true, true, true, wrong)]
    seen = setup("A", {}, read("R1", 0.0, 0.0), *taken)
    found = first_cause(survey((roll("R1"), roll("R2")), (seen,)))
    assert found == ("unit" if factor == 25.4 else "decimal")


@pytest.mark.parametrize("sign", [1.0, -1.0])
@pytest.mark.parametrize("end", ["operator", "drive"])
def test_sign_lost_at_one_end_is_named(end: str, sign: float) -> None:
    """The other end is right, so that swapping both would not agree."""
    true = {"operator": -1.2 * sign, "drive": 2.0 * sign}
    wrong = {**true, end: -true[end]}
    taken = [read("R2", one["operator"], one["drive"]) for one in (true, true, true, wrong)]
    seen = setup("A", {}, read("R1", 0.0, 0.0), *taken)
    assert first_cause(survey((roll("R1"), roll("R2")), (seen,))) == "sign"


def test_reading_that_is_lost_in_its_scatter_has_no_cause() -> None:
    """0.047 mm is 1.2 mm over 25.4, but with u 0.023 mm it might as well be nothing at all."""
    assert first_cause(line(third=1.2 / 25.4)) is None


@pytest.mark.parametrize("factor", [100.0, 0.01])
def test_decimal_may_slip_by_two_places(factor: float) -> None:
    """12 mm twice over, and 1200 mm or 0.12 mm once."""
    assert first_cause(line(12.0, 12.0, 12.0 * factor)) == "decimal"


# of one seating of both ends against the mean of two others, s² = 0.003² + 0.008² + 0.010² at each end
U = (2.0 * (0.003**2 + 0.008**2 + 0.010**2) * 1.5) ** 0.5


@pytest.mark.parametrize(("off", "cause"), [(1.9, "decimal"), (-1.9, "decimal"), (2.1, None), (-2.1, None)])
def test_corrected_reading_fits_within_two_standard_uncertainties(off: float, cause: str | None) -> None:
    """Ten times 1.2 mm and so many u: what is corrected is off by just that."""
    assert first_cause(line(third=10.0 * (1.2 + off * U))) == cause


@pytest.mark.parametrize(("size", "cause"), [(3.1, "decimal"), (2.9, None)])
def test_what_is_corrected_is_larger_than_three_standard_uncertainties(
    size: float, cause: str | None
) -> None:
    """A tenth of the true reading was written down; it has to stand out of the scatter itself."""
    true = 10.0 * size * U
    assert first_cause(line(true, true, size * U)) == cause


@pytest.mark.parametrize(("true", "cause"), [(0.105, "ends or sign"), (0.095, None)])
def test_cause_explains_more_than_a_coincidence_would(true: float, cause: str | None) -> None:
    """A lost sign that fits to the last digit has the density 1 / (√(2π) u) = 17.5, shared among seven tried.

    They are the sign and six factors; a coincidence has 1 / (2 b), b twice the reading. Equal at 0.1 mm.
    """
    assert 1.0 / ((2.0 * np.pi) ** 0.5 * U) / 7.0 == pytest.approx(1.0 / (2.0 * 2.0 * 0.1), rel=2e-3)
    assert first_cause(line(true, true, -true)) == cause


def test_cause_is_not_made_up() -> None:
    """A reading that is simply wrong has no cause that the numbers could show."""
    assert first_cause(line(third=1.9)) is None


def test_cause_of_a_level_reading_turned_over_is_its_sign() -> None:
    """Four readings of one slope, one with the wrong sign."""
    taken = [tilt("R1", 0.3) for _ in range(4)]
    taken[1] = replace(taken[1], slope_mm_per_m=-0.3)
    assert first_cause(survey((roll("R1"),), level=levelled(*taken)), "level") == "sign"


def seen(name: str, shift: float) -> Setup:
    """Return a setup that reads both rolls and three monuments, the second shifted."""
    return setup(name, {"M1": 0.0, "M2": shift, "M3": 0.0}, read("R1", 0.0, 0.0), read("R2", 0.0, 0.0))


def shifted(shifts: tuple[float, ...]) -> Survey:
    """Return four such setups with these shifts."""
    setups = tuple(seen(name, shift) for name, shift in zip("ABCD", shifts, strict=True))
    return survey((roll("R1"), roll("R2")), setups, MONUMENTS)


@pytest.mark.parametrize(("shifts", "moved"), [((0.0, 0.0, 0.3, 0.3), True), ((0.0, 0.0, 0.3, 0.0), False)])
def test_disturbed_monument_is_told_from_a_wrong_reading(shifts: tuple[float, ...], moved: bool) -> None:
    """A shift that lasts is a disturbed monument; one reading that is off is not."""
    solved = solve_survey(shifted(shifts)).parallel.quality
    assert (solved.suspects[0].label.monument, solved.suspects[0].label.setup) == ("M2", "C")
    assert (solved.causes[0] == "monument") is moved


@pytest.mark.parametrize(("shifts", "moved"), [((0.0, 0.0, 0.3, 0.3), True), ((0.0, 0.3, 0.3, 0.3), False)])
def test_first_edition_asks_for_two_readings_on_either_side_of_a_move(
    shifts: tuple[float, ...], moved: bool
) -> None:
    """With one reading before it, a monument that moved cannot be told from that reading being wrong."""
    quality = solve_survey(replace(shifted(shifts), edition=FIRST)).parallel.quality
    assert quality.suspects[0].label.monument == "M2"
    assert (quality.causes[0] == "monument") is moved


def test_what_comes_after_a_suspect_is_as_if_its_reading_had_been_set_aside() -> None:
    """M2 was misread in B, and stands 0.3 mm aside from D on: a reading, and then a monument that moved."""
    setups = [seen(name, shift) for name, shift in zip("ABCDEF", (0.0, 5.0, 0.0, 0.3, 0.3, 0.3), strict=True)]
    taken = survey((roll("R1"), roll("R2")), tuple(setups), MONUMENTS)
    marks = tuple(
        replace(one, exclude="misread") if one.monument == "M2" else one for one in setups[1].monuments
    )
    without = replace(taken, setups=(setups[0], replace(setups[1], monuments=marks), *setups[2:]))
    misread, *after = solve_survey(taken).parallel.quality.named
    plain = solve_survey(without).parallel.quality.named
    assert (misread.suspect.label.monument, misread.suspect.label.setup) == ("M2", "B")
    assert misread.suspect.blunder == pytest.approx(5.0 - 3.0 * 0.3 / 5.0)  # against the mean of the others
    assert [one.cause for one in after] == [one.cause for one in plain] == ["monument"]
    for one, other in zip(after, plain, strict=True):
        assert one.suspect.label == other.suspect.label
        pair = [(s.w, s.blunder, s.detectable) for s in (one.suspect, other.suspect)]
        assert pair[0] == pytest.approx(pair[1], rel=1e-6)
        both = [
            [(c.kinds, c.readings, c.between, round(c.likelihood, 6)) for c in s.candidates]
            for s in (one.suspect, other.suspect)
        ]
        assert both[0] == both[1]


def turned_setup(sign: float) -> Survey:
    """Return R2 at 0.1 mm/m read from a setup in line and from one turned by 0.55 mm/m, its sign as given."""
    ties = {"M1": 0.55, "M2": -2.75, "M3": -4.95}
    setups = (
        setup("A", dict.fromkeys(MONUMENTS, 0.0), read("R1", 0.0, 0.0), read("R2", 0.0, 0.21)),
        setup(
            "B",
            {name: -value for name, value in ties.items()},
            read("R1", 0.0, -1.155),
            read("R2", 0.0, sign * -0.945),
        ),
    )
    return survey((roll("R1"), roll("R2")), setups, MONUMENTS)


def test_every_tied_reading_is_tried() -> None:
    """A sign lost in B looks as well like a decimal slipped in A, so neither is named as the one cause."""
    assert solve_survey(turned_setup(1.0)).parallel.quality.suspects == ()
    (named,) = solve_survey(turned_setup(-1.0)).parallel.quality.named
    tried = {
        (one.setup, one.readings[0].roll): cause
        for one, cause in zip(named.suspect.candidates, named.causes, strict=True)
    }
    assert tried == {("A", "R2"): "decimal", ("B", "R2"): "ends or sign"}
    assert named.cause is None


def tied(first: float, second: float) -> Named:
    """Return the suspect of R2 read from A with `first` on the drive side and from B with `second`."""
    taken = turned_setup(1.0)
    a, b = (
        replace(one, readings=(one.readings[0], replace(one.readings[1], drive_mm=drive)))
        for one, drive in zip(taken.setups, (first, second), strict=True)
    )
    (named,) = solve_survey(replace(taken, setups=(a, b))).parallel.quality.named
    return named


@pytest.mark.parametrize(("drives", "setup_of_slip"), [((21.0, -0.945), "A"), ((0.21, -9.45), "B")])
def test_of_tied_readings_the_one_with_a_cause_comes_first(
    drives: tuple[float, float], setup_of_slip: str
) -> None:
    """Ten times too much in one of two readings: it heads the suspect, the other stands beside it."""
    named = tied(*drives)
    first, other = named.suspect.candidates
    assert round(abs(first.w), 4) == round(abs(other.w), 4)
    assert (first.setup, named.causes, named.cause) == (setup_of_slip, ("decimal", None), "decimal")
    assert (named.suspect.label.setup, named.suspect.label.side) == (setup_of_slip, "operator")
    assert named.suspect.blunder == pytest.approx(-first.blunder)
    assert named.suspect.w * named.suspect.blunder < 0.0
    assert {(one.setup, one.side) for one in named.suspect.others} == {
        (first.setup, "drive"),
        (other.setup, "operator"),
        (other.setup, "drive"),
    }


def test_no_cause_is_named_alone_beside_one_that_fits_as_well() -> None:
    """2.055 mm in A is 0.21 mm by a decimal, or B lost its sign, at odds of four to one: both are said."""
    named = tied(2.055, -0.945)
    assert dict(zip((one.setup for one in named.suspect.candidates), named.causes, strict=True)) == {
        "A": "decimal",
        "B": "ends or sign",
    }
    assert (named.suspect.candidates[0].setup, named.cause) == ("A", None)


@pytest.mark.parametrize(("odds", "beside"), [(19.0, "ends or sign"), (21.0, None)])
def test_cause_is_said_beside_a_better_one_down_to_one_in_twenty(odds: float, beside: str | None) -> None:
    """The event in B so much less likely than that in A that the odds of the two causes are as given."""
    taken = turned_setup(1.0)
    slipped = replace(taken.setups[0].readings[1], drive_mm=2.055)
    a = replace(taken.setups[0], readings=(taken.setups[0].readings[0], slipped))
    network = solve_survey(replace(taken, setups=(a, taken.setups[1]))).parallel.network
    suspect = tied(2.055, -0.945).suspect
    in_a, in_b = suspect.candidates
    left = [
        one.blunder + corrected - read for one, read, corrected in ((in_a, 2.055, 0.2055), (in_b, 0.21, 2.1))
    ]
    each = [np.exp(-((off / one.u) ** 2) / 2.0) for off, one in zip(left, (in_a, in_b), strict=True)]
    less = replace(in_b, likelihood=float(each[0] / each[1] / odds))
    _, causes = with_causes(network, replace(suspect, candidates=(in_a, less)))
    assert causes == ("decimal", beside)


def test_reading_without_ends_heads_its_suspect_with_its_own_size() -> None:
    """Two rolls read both ways, four readings with one condition: the one that lost its sign comes first.

    Direct less reversed is 0.3 - 0.1 of R1 and 0.4 + 0.6 of R2, so that each may be off by 0.8; only R2 read
    direct is right with its sign turned.
    """
    taken = levelled(
        tilt("R1", 0.3), tilt("R1", 0.1, turned=True), tilt("R2", 0.4), tilt("R2", -0.6, turned=True)
    )
    (named,) = solve_survey(survey((roll("R1"), roll("R2")), level=taken)).level.quality.named
    assert (named.causes, named.cause) == (("sign", None, None, None), "sign")
    assert (named.suspect.label.roll, named.suspect.label.side) == ("R2", "direct")
    assert named.suspect.blunder == pytest.approx(0.8)
    # the sum of four readings, each with 0.010 mm/m
    assert (named.suspect.w, named.suspect.detectable) == pytest.approx(
        (-0.8 / 0.02, 4.1321 * 0.02), rel=1e-4
    )


def test_tied_readings_with_a_cause_come_before_those_without() -> None:
    """Direct less reversed is -0.4 - 0.1 of R1 and 0.4 - 0.1 of R2: either direct reading may lack its sign.

    The first in the survey stays the first, and the other one with a cause comes up beside it.
    """
    taken = levelled(
        tilt("R1", -0.4), tilt("R1", 0.1, turned=True), tilt("R2", 0.4), tilt("R2", 0.1, turned=True)
    )
    (named,) = solve_survey(survey((roll("R1"), roll("R2")), level=taken)).level.quality.named
    order = [(one.readings[0].roll, one.readings[0].side) for one in named.suspect.candidates]
    assert order == [("R1", "direct"), ("R2", "direct"), ("R1", "reversed"), ("R2", "reversed")]
    assert (named.causes, named.cause) == (("sign", "sign", None, None), "sign")
    assert (named.suspect.label.roll, named.suspect.label.side) == order[0]


def test_first_edition_named_the_first_that_it_tried() -> None:
    """What an archived certificate says of such a survey stays as it was."""
    old = replace(turned_setup(-1.0), edition=1)
    (named,) = solve_survey(old).parallel.quality.named
    assert (named.cause, named.suspect.candidates) == ("decimal", ())


def test_first_edition_told_a_sign_of_a_level_from_swapped_ends() -> None:
    """A level has no ends to swap; a roll has."""
    slopes = [tilt("R1", 0.3), tilt("R1", -0.3), tilt("R1", 0.3), tilt("R1", 0.3)]
    level = survey((roll("R1"),), level=levelled(*slopes), edition=1)
    assert first_cause(level, "level") == "sign"
    assert first_cause(replace(line(3.0, 3.0, -3.0), edition=1)) == "ends or sign"


@pytest.mark.parametrize(
    ("third", "cause"),
    [
        (30.0, "decimal"),
        (300.0, "decimal"),
        (3.0 * 25.4, "unit"),
        (3.0 / 25.4, "unit"),
        (0.3, "decimal"),
        (4.0, None),
    ],
)
def test_first_edition_tried_the_same_factors(third: float, cause: str | None) -> None:
    """3 mm twice over, and once this."""
    assert first_cause(replace(line(3.0, 3.0, third), edition=1)) == cause


def test_first_edition_named_no_cause_within_the_scatter() -> None:
    """0.0026 mm times 25.4 is 0.066, which agrees with 0.1 mm, yet both are about three times u, 0.068 mm."""
    assert first_cause(replace(line(0.1, 0.1, 0.0026), edition=1)) is None


def test_setup_that_turned_between_the_rounds_is_named() -> None:
    """Three rolls that cannot move, all off by the same angle as left: one suspect, the setup."""
    names = ("R1", "R2", "R3", "R4")
    taken = [read(name, 0.0, 0.0) for name in names]
    taken += [read(name, -0.06, -0.48, "as_left") for name in names]
    ties = dict.fromkeys(MONUMENTS, 0.0)
    rolls = tuple(roll(name, adjustable="none") for name in names)
    (named,) = solve_survey(survey(rolls, (setup("A", ties, *taken),), MONUMENTS)).parallel.quality.named
    first = named.suspect.candidates[0]
    assert (first.kind, first.setup, named.cause) == ("setup moved", "A", "setup")
    assert abs(first.blunder) == pytest.approx(0.2, rel=1e-6)


def test_setup_that_turned_and_a_roll_that_was_misread_are_two_candidates() -> None:
    """R1 and R2 cannot move and were read in both rounds, as left off by 3 and 6 standard uncertainties.

    Of what is left over, (1, 1, -1, -1)/2 is a turn between the rounds and (0, 1, 0, -1)/√2 a wrong R2 in
    either: w² is (3 + 6)²/4 and 6²/2, a likelihood of exp(-1.125) for each reading of R2 against the turn.
    """
    off = 2.1 * 2.0**0.5 * (0.003**2 + 0.008**2 + 0.010**2) ** 0.5 / 2.1
    taken = [read("R1", 0.0, 0.0), read("R2", 0.0, 0.0)]
    taken += [read("R1", 0.0, 3.0 * off, "as_left"), read("R2", 0.0, 6.0 * off, "as_left")]
    rolls = tuple(roll(name, adjustable="none") for name in ("R1", "R2"))
    (named,) = solve_survey(survey(rolls, (setup("A", {}, *taken),))).parallel.quality.named
    found = [(one.kinds, {label.roll for label in one.readings}) for one in named.suspect.candidates]
    assert found[0] == (("setup moved",), {"R1", "R2"})
    assert found[1:] == [(("seating",), {"R2"})] * 2
    assert [one.likelihood for one in named.suspect.candidates] == pytest.approx(
        [1.0, np.exp(-1.125), np.exp(-1.125)], rel=1e-4
    )


@pytest.mark.parametrize("seed", range(12))
def test_blunder_without_a_cause_gets_none(seed: int) -> None:
    """A reading between one and four times its true size off, at random, is explained by no rule."""
    size = float(np.random.default_rng(seed).uniform(1.5, 4.0))
    assert first_cause(line(0.4, 0.4, 0.4 + 0.1 * size)) is None


@pytest.mark.parametrize("factor", [25.4, 1.0 / 25.4, 10.0, 0.1, 100.0, 0.01])
def test_first_edition_names_a_slipped_factor(factor: float) -> None:
    """What an archived certificate says stays: a factor of the difference of both ends."""
    found = first_cause(replace(line(3.0, 3.0, 3.0 * factor), edition=FIRST))
    assert found == ("unit" if factor in {25.4, 1.0 / 25.4} else "decimal")


@pytest.mark.parametrize("factor", [25.4, 1.0 / 25.4, 10.0, 0.1, 100.0, 0.01])
def test_slipped_factor_of_one_level_reading_is_named(factor: float) -> None:
    """Read four times; once a unit or a decimal sign slipped."""
    taken = [tilt("R1", value) for value in (8.0, 8.0, 8.0, 8.0 * factor)]
    found = first_cause(survey((roll("R1"),), level=levelled(*taken)), "level")
    assert found == ("unit" if factor in {25.4, 1.0 / 25.4} else "decimal")
