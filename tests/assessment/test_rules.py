"""The decision rules at their edges, and what holds for all of them."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from certgen.assessment.rules import FAILING, PASSING, RULES, SEVERITY, conformance_probability, worst
from tests.simulate.records import EXAMPLES

ERRORS = st.floats(-1.0, 1.0)
SIZES = st.floats(1e-4, 0.5)


@pytest.mark.parametrize(
    ("rule", "error", "verdict"),
    [
        ("simple", 0.05, "pass"),
        ("simple", 0.0501, "fail"),
        ("guarded", 0.04, "pass"),
        ("guarded", 0.0401, "fail"),
        ("four_way", 0.04, "pass"),
        ("four_way", 0.05, "conditional pass"),
        ("four_way", 0.0501, "conditional fail"),
        ("four_way", 0.06, "conditional fail"),
        ("four_way", 0.0601, "fail"),
    ],
)
def test_rule_decides_at_its_edges(rule, error, verdict):
    """Limit 0.05, U 0.01: an error of exactly the bound still belongs to the better verdict."""
    assert RULES[rule](error, 0.01, 0.05) == RULES[rule](-error, 0.01, 0.05) == verdict


@pytest.mark.parametrize("rule", RULES)
def test_rule_is_not_decided_by_rounding(rule):
    """Three tenths, once written and once added up, are one limit: 0.1 + 0.2 against 0.3 passes."""
    assert RULES[rule](0.1 + 0.2, 0.0, 0.3) == "pass"


@pytest.mark.parametrize("excess", [1e-6, 1e-7])
def test_rule_sees_every_excess_that_can_be_read(excess):
    """A millionth of the limit beyond it, far below any read-out, still fails."""
    assert RULES["simple"](0.05 * (1.0 + excess), 0.01, 0.05) == "fail"


@EXAMPLES
@given(error=ERRORS, expanded=SIZES, limit=SIZES)
def test_guarded_pass_is_a_pass_under_every_rule(error, expanded, limit):
    """What passes with the guard band passes without it."""
    if RULES["guarded"](error, expanded, limit) == "pass":
        assert {rule(error, expanded, limit) for rule in RULES.values()} == {"pass"}


@EXAMPLES
@given(error=ERRORS, expanded=SIZES, limit=SIZES)
def test_four_way_splits_the_simple_rule(error, expanded, limit):
    """Both passes of the four-way rule are the simple pass."""
    passed = RULES["four_way"](error, expanded, limit) in ("pass", "conditional pass")
    assert passed == (RULES["simple"](error, expanded, limit) == "pass")


@EXAMPLES
@given(one=ERRORS, other=ERRORS, expanded=SIZES, limit=SIZES)
def test_larger_error_is_never_better(one, other, expanded, limit):
    """Verdicts do not improve as the size of the error grows."""
    small, large = sorted((one, other), key=abs)
    for rule in RULES.values():
        ranks = [SEVERITY.index(rule(error, expanded, limit)) for error in (small, large)]
        assert ranks == sorted(ranks)


def test_guarded_rule_cannot_pass_without_room():
    """U beyond the limit leaves nothing that passes, not even no error at all."""
    assert RULES["guarded"](0.0, 0.0501, 0.05) == "fail"


@EXAMPLES
@given(error=ERRORS, u=SIZES, limit=SIZES)
def test_conformance_probability_is_even_and_bounded(error, u, limit):
    """It lies between 0 and 1 and does not depend on the sign of the error."""
    found = conformance_probability(error, u, limit)
    assert 0.0 <= found <= 1.0
    assert conformance_probability(-error, u, limit) == pytest.approx(found, abs=1e-14)


def test_conformance_probability_agrees_with_counting():
    """Drawn a million times, the share of true errors within the limit is the probability."""
    drawn = np.random.default_rng(1).normal(0.03, 0.02, 1_000_000)
    counted = np.mean(np.abs(drawn) <= 0.05)
    assert conformance_probability(0.03, 0.02, 0.05) == pytest.approx(counted, abs=0.002)


@pytest.mark.parametrize(("error", "expected"), [(0.05, 1.0), (0.051, 0.0)])
def test_conformance_probability_of_a_known_error_is_certain(error, expected):
    """With no uncertainty the error lies within the limit or it does not."""
    assert conformance_probability(error, 0.0, 0.05) == expected


@pytest.mark.parametrize(
    ("verdicts", "expected"),
    [
        (["pass", "fail", "conditional pass"], "fail"),
        (["pass", "conditional fail", "conditional pass"], "conditional fail"),
        (["reference", "pass", "not measured"], "pass"),
        (["reference", "not measured"], "not measured"),
        ([], "not measured"),
    ],
)
def test_worst_verdict_leaves_out_what_was_not_judged(verdicts, expected):
    """A reference and what was not measured take no part."""
    assert worst(verdicts) == expected


def test_conditional_verdicts_stand_with_the_plain_ones() -> None:
    """Every verdict for or against a roll is one of the two."""
    assert set(SEVERITY[:2]) == PASSING == {"pass", "conditional pass"}
    assert set(SEVERITY[2:]) == FAILING == {"fail", "conditional fail"}
