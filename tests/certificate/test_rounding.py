"""Numbers as text, held against the rounding rules of the guides."""

import pytest

from certgen.assessment.assessment import Measured
from certgen.assessment.rules import RULES, Verdict
from certgen.wording.rounding import (
    INCH,
    METRIC,
    consistent_places,
    fixed,
    limit_places,
    percent,
    places_for,
    plain,
    rounding_rule,
    rule_of,
    significant,
)
from certgen.wording.values import Numbers

# ISO 80000-1:2009, Annex B: B.2 examples and B.3 rule A (ties to even)
ISO_80000 = [
    ("12.223", 1, "12.2"),
    ("12.251", 1, "12.3"),
    ("12.275", 1, "12.3"),
    ("12.25", 1, "12.2"),
    ("12.35", 1, "12.4"),
]


@pytest.mark.parametrize(("value", "places", "shown"), ISO_80000)
def test_fixed_rounds_as_iso_80000(value: str, places: int, shown: str) -> None:
    """Nearest, ties to even, in one step."""
    assert fixed(float(value), places) == shown


def test_places_follow_the_uncertainty_as_in_the_gum() -> None:
    """JCGM 100:2008, 7.2.6: y = 10.05762 ohm with u = 27 milliohm is reported as 10.058 ohm."""
    assert fixed(10.05762, places_for(0.027)) == "10.058"


@pytest.mark.parametrize(
    ("expanded", "places"),
    [
        (0.0996, 2),
        (0.0994, 3),
        (1.0, 1),
        (9.96, 0),
        (12.0, 0),
        (0.0123, 3),
        (99.4, 0),
        (99.6, -1),
        (340.0, -1),
        (9960.0, -3),
    ],
)
def test_places_show_two_significant_digits(expanded: float, places: int) -> None:
    """Also where rounding carries into the next power of ten."""
    assert places_for(expanded) == places


def test_large_uncertainty_is_rounded_to_tens_and_its_value_with_it() -> None:
    """JCGM 100:2008, 7.2.6: U of 337.4 has two significant digits as 340; its value ends at that place."""
    places = places_for(337.4)
    assert [fixed(value, places, signed=True) for value in (337.4, -1234.5, 4.0, 5.0, 15.0)] == [
        "+340",
        "−1230",
        "0",
        "0",
        "+20",
    ]
    state = _state(1234.5, 337.4, 155.0, RULES["guarded"](1234.5, 337.4, 155.0))
    cells = Numbers((METRIC,), "guarded").state(state)
    assert (cells.slope, cells.expanded, cells.standard, cells.limit) == ("+1230", "340", "170", "155")


@pytest.mark.parametrize("rule", [1, 2])
def test_older_rules_keep_every_whole_digit(rule: int) -> None:
    """A certificate that was printed by them is printed again as it was."""
    with rounding_rule(rule):
        assert places_for(337.4) == 0
        assert fixed(1234.5678, places_for(337.4)) == "1235"
    assert places_for(337.4) == -1


def test_rule_is_the_recorded_one() -> None:
    """The first form recorded none; a number this program does not know is taken as the present rule."""
    assert [rule_of(recorded) for recorded in (None, 1, 2, 3, 99, "2")] == [1, 1, 2, 3, 3, 3]


@pytest.mark.parametrize(
    ("value", "shown"), [(-0.0004, "0.000"), (-0.0006, "−0.001"), (0.25, "+0.250"), (0.0, "0.000")]
)
def test_fixed_signs_are_true_minus_and_never_on_zero(value: float, shown: str) -> None:
    """A rounded zero has no sign."""
    assert fixed(value, 3, signed=True) == shown


def test_significant_never_uses_an_exponent() -> None:
    """Small and large numbers alike."""
    assert [significant(v, 2) for v in (0.00001234, 0.0996, 123456.0, 0.0)] == [
        "0.000012",
        "0.10",
        "123456",
        "0",
    ]


def test_plain_drops_trailing_zeros() -> None:
    """Dimensions read as they are spoken."""
    assert [plain(v, 3) for v in (1200.0, 12.5, 96.000000001)] == ["1200", "12.5", "96"]


@pytest.mark.parametrize(
    ("fraction", "shown"),
    [(0.0, "< 0.01"), (1.0, "> 99.99"), (0.5, "50.0"), (0.0228, "2.28"), (0.9999, "99.99")],
)
def test_percent_never_claims_certainty(fraction: float, shown: str) -> None:
    """Neither nought nor a hundred."""
    assert percent(fraction) == shown


def test_inch_units_are_exact() -> None:
    """1 mm/m is 12 thou/ft and 25.4 mm are 1000 thou (NIST SP 811, B.6)."""
    assert INCH.slope.per_engine_unit == 12.0
    assert 25.4 * INCH.small.per_engine_unit == pytest.approx(1000.0, rel=1e-15)


def _state(error: float, expanded: float, limit: float, verdict: Verdict) -> Measured:
    return Measured(error, 0.0, error, expanded / 2, expanded, limit, error, 0.5, verdict)


@pytest.mark.parametrize("rule", sorted(RULES))
@pytest.mark.parametrize("error", [0.04997, 0.05003, 0.0879, 0.08804, 0.01197, 0.01204, -0.05003])
def test_printed_numbers_never_contradict_the_verdict(rule: str, error: float) -> None:
    """Error, U and limit as printed give the same verdict, in both unit systems."""
    verdict = RULES[rule](error, 0.038, 0.05)
    state = _state(error, 0.038, 0.05, verdict)
    for units in (METRIC, INCH):
        factor = units.slope.per_engine_unit
        places = consistent_places(state, units.slope, RULES[rule])
        error_shown, expanded, limit = (
            float(fixed(v * factor, places).replace("−", "-")) for v in (error, 0.038, 0.05)
        )
        assert RULES[rule](error_shown, expanded, limit) == verdict


def test_value_just_beyond_its_bound_gets_more_digits() -> None:
    """0.0502 against a limit of 0.05 with U 0.02 would print as 0.050 and look like a pass."""
    state = _state(0.0502, 0.02, 0.05, RULES["simple"](0.0502, 0.02, 0.05))
    assert fixed(0.0502, consistent_places(state, METRIC.slope, RULES["simple"])) == "0.0502"


def test_large_uncertainty_takes_no_digits_of_a_limit() -> None:
    """A limit of 0.0148 beside a U of 2.8 is no 0.01; beside a small one it has as many places as that."""
    assert [fixed(0.0148, limit_places(0.0148, places)) for places in (1, 2, 4)] == [
        "0.015",
        "0.015",
        "0.0148",
    ]
    state = _state(0.02, 2.83, 0.0148, RULES["guarded"](0.02, 2.83, 0.0148))
    assert Numbers((METRIC,), "guarded").state(state).limit == "0.015"
