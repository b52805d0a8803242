"""The sentence of a verdict: rolls are counted, and "outside" is said only where it is certain."""

import pytest

from certgen.assessment.assess import assess
from certgen.document.first_page import verdict_boxes
from certgen.network.solution import solve_survey
from certgen.survey.survey import Limit
from tests.certificate.samples import WORDING
from tests.simulate.records import read, roll, setup, survey

LIMIT = 0.1  # mm/m, of every roll here
SPAN_M = 2.1  # about the distance of the targets; the errors below keep well away from what it decides


def box(*errors_mm: float, decision: str = "guarded", **changes: object):
    """Return the verdict on a line read once, whose other rolls differ by so much from end to end."""
    names = [f"R{number}" for number in range(1, len(errors_mm) + 2)]
    limit = Limit(LIMIT, "0.1 mm/m")
    rolls = tuple(roll(name, 1000.0 * at, parallel_limit=limit, **changes) for at, name in enumerate(names))
    readings = (read(name, 0.0, end) for name, end in zip(names, (0.0, *errors_mm), strict=True))
    taken = survey(rolls, (setup("A", {}, *readings),), decision=decision)
    (found,) = verdict_boxes(assess(solve_survey(taken)), WORDING)
    return found


@pytest.mark.parametrize(
    ("errors", "sentence"),
    [
        ((0.0, 0.0), "All 2 rolls within tolerance"),
        ((5.0, 0.0), "1 of 2 rolls outside tolerance"),
        ((5.0, -5.0), "2 of 2 rolls outside tolerance"),
        ((0.0,), "The roll is within tolerance"),
    ],
)
def test_rolls_are_counted_and_not_checks(errors: tuple[float, ...], sentence: str) -> None:
    """The reference, which nobody judges for parallel, is none of them."""
    assert box(*errors).sentence == sentence


def near(share: float) -> float:
    """Return the difference end to end (mm) of a roll whose error is that many limits."""
    one = box(1.0)
    assert one.sentence == "1 of 1 rolls outside tolerance"
    taken = survey(
        tuple(roll(name, at) for at, name in ((0.0, "R1"), (1000.0, "R2"))),
        (setup("A", {}, read("R1", 0.0, 0.0), read("R2", 0.0, 1.0)),),
    )
    slope = assess(solve_survey(taken)).rolls[1].parallel.as_found.slope_mm_per_m
    return share * LIMIT / slope


def test_outside_is_said_only_beyond_the_limit_by_more_than_its_uncertainty() -> None:
    """Just beyond, and just within by less than U, a guarded line is not shown to be within tolerance."""
    for share in (1.001, 0.999):
        found = box(near(share), 0.0)
        assert found.verdict == "fail"
        assert found.sentence == "1 of 2 rolls not shown to be within tolerance"
        assert found.details[0] == "the other 1 within tolerance"
    both = box(near(1.001), 5.0, 0.0)
    assert both.sentence == "2 of 3 rolls not shown to be within tolerance"
    assert both.details[:2] == ("1 of them beyond the limit by more than U", "the other 1 within tolerance")


def test_conditional_verdicts_are_named() -> None:
    """Under the four-way rule: which roll is just beyond, which just within."""
    found = box(near(1.001), near(0.999), 0.0, decision="four_way")
    assert found.sentence == "2 of 3 rolls not shown to be within tolerance"
    assert "Just beyond the limit, by less than U: R2" in found.details
    assert "Just within the limit, by less than U: R3" in found.details
    assert found.details[-1] == "Checks not passed: parallel 1 of 3"


def test_pairs_are_no_rolls() -> None:
    """Every roll passes by itself, two neighbours do not: the pair is named."""
    narrow = Limit(0.01, "0.01 mm/m")
    found = box(near(0.3), near(-0.3), adjacent_limit=narrow)
    assert found.sentence == "All 2 rolls within tolerance"
    assert found.verdict == "fail"
    assert found.details[0].startswith("but not every pair of adjacent rolls: ")
    assert "R2 – R3" in found.details[0]
    assert found.details[-1].startswith("Checks not passed: parallel 0 of 2, adjacent rolls")
