"""What passes taken together: counts, the bound of the worst alone, what rolls and pairs share, editions."""

import json
from dataclasses import replace

import pytest
from scipy.special import ndtr, ndtri, stdtr
from scipy.stats import multivariate_normal

from certgen import resources
from certgen.assessment.assess import assess
from certgen.assessment.joint_probability import Passes
from certgen.assessment.rules import PASSING
from certgen.cli.solve_text import summary_text
from certgen.document.uncertainty_section import decision_section
from certgen.network.solution import solve_survey
from certgen.results.survey_results import survey_results
from certgen.survey.survey import Coverage, Limit, StandardUncertainty, Survey
from certgen.wording.values import numbers_for
from certgen.wording.wording import Wording
from tests.certificate.samples import sample
from tests.simulate.records import UNCERTAINTY, read, roll, setup, survey

SPAN_M = 2.1
SAMPLES = ("tutorial", "winder_inch", "coater_mm", "dryer_mixed", "unwind_wide")


def apart(**changes: object) -> Survey:
    """Return three rolls read once against R1, 0.02 mm/m off it, with a limit that they are 2 u within."""
    plain = survey(
        tuple(roll(name, adjacent_limit=None) for name in ("R1", "R2", "R3")),
        (setup("A", {}, read("R1", 0.0, 0.0), *(read(n, 0.0, 0.02 * SPAN_M) for n in ("R2", "R3"))),),
    )
    u = assess(solve_survey(plain)).rolls[1].parallel.as_found.u_mm_per_m  # type: ignore[union-attr]
    limit = Limit(0.02 + 2.0 * u, "2 u off")
    rolls = (plain.rolls[0], *(replace(one, parallel_limit=limit) for one in plain.rolls[1:]))
    return replace(plain, rolls=rolls, **changes)


def taken_together(taken: Survey) -> Passes:
    """Return what passes as found."""
    found = assess(solve_survey(taken)).passes["as_found"]
    assert found is not None
    return found


def test_rolls_read_against_one_reference_share_half_of_their_error() -> None:
    """Both stand 2 u from one limit: 2.275 % each, correlated by 1/2, 4.145 % together.

    The bivariate normal distribution at (2, 2) with 1/2, by an integral over the shared error.
    """
    found = taken_together(apart())
    assert found.count == 2
    assert found.largest_risk == pytest.approx(ndtr(-2.0), rel=1e-4)
    assert found.any_outside == pytest.approx(0.0414473, rel=2e-3)
    assert found.all_conform_probability == 1.0 - found.any_outside


@pytest.mark.parametrize("decision", ["simple", "guarded", "four_way"])
@pytest.mark.parametrize("name", SAMPLES)
def test_risk_of_any_lies_between_the_worst_and_the_sum(name: str, decision: str) -> None:
    """Of every sample: all that pass are counted, of rolls and pairs, level and parallel (Boole)."""
    assessment = assess(solve_survey(replace(sample(name).survey, decision=decision)))  # type: ignore[arg-type]
    for which, found in assessment.passes.items():
        states = [one.aspect(a).in_round(which) for one in assessment.rolls for a in ("level", "parallel")]
        states += [one.aspect(a).get(which) for one in assessment.adjacent for a in ("level", "parallel")]
        passing = [one for one in states if one is not None and one.verdict in PASSING]
        assert (found is None) == (not passing)
        if found is not None:
            alone = [1.0 - one.conformance_probability for one in passing]
            assert found.count == len(passing)
            assert found.largest_risk == pytest.approx(max(alone), abs=1e-12)
            assert max(alone) - 1e-12 <= found.any_outside <= sum(alone) + found.accuracy + 1e-12


def test_results_hold_the_probability_beside_the_verdicts() -> None:
    """The verdicts keep their place; null for a round of which nothing passes."""
    overall = json.loads(json.dumps(survey_results(sample("tutorial"))["overall"], allow_nan=False))
    assert overall["as_left"] == "pass"
    assert overall["all_conform_probability"]["as_left"] == pytest.approx(0.99536, abs=2e-5)
    assert overall["passing"]["as_left"].keys() == {"count", "any_outside", "accuracy", "largest_risk"}
    seen = setup("A", {}, read("R1", 0.0, 0.0), read("R2", 0.0, 2.0))
    none = survey_results(assess(solve_survey(survey((roll("R1"), roll("R2")), (seen,)))))["overall"]
    assert none["all_conform_probability"]["as_found"] is None  # type: ignore[index]


def test_degrees_of_freedom_widen_the_risk_save_in_the_first_edition() -> None:
    """2 u from the limit at 3 degrees of freedom: 6.97 % by Student's t, 2.28 % if normal."""
    scatter = StandardUncertainty(0.5, "normal", "standard 0.5 mm", 3.0)
    stated = replace(
        UNCERTAINTY,
        repeatability_mm=scatter,
        reading_mm=None,
        seating_mm=None,
        coverage=Coverage(None, 0.95),
    )
    taken = replace(apart(), uncertainty=stated, decision="simple")
    u = assess(solve_survey(taken)).rolls[1].parallel.as_found.u_mm_per_m  # type: ignore[union-attr]
    limit = Limit(0.02 + 2.0 * u, "2 u off")
    rolls = (taken.rolls[0], *(replace(one, parallel_limit=limit) for one in taken.rolls[1:]))
    for edition, one_sided in ((2, stdtr(3.0, -2.0)), (1, ndtr(-2.0))):
        assessment = assess(solve_survey(replace(taken, rolls=rolls, edition=edition)))
        state = assessment.rolls[1].parallel.as_found
        beyond = stdtr(3.0, -(2.0 + 0.04 / u)) if edition == 2 else ndtr(-(2.0 + 0.04 / u))
        assert state is not None
        assert 1.0 - state.conformance_probability == pytest.approx(one_sided + beyond, rel=1e-6)
        found = assessment.passes["as_found"]
        assert found is not None
        assert found.largest_risk == pytest.approx(one_sided + beyond, rel=1e-6)
        # both rolls, correlated by 1/2, each between the normal bounds that are exceeded as often
        high, low = -ndtri(one_sided), ndtri(beyond)
        both = multivariate_normal([0.0, 0.0], [[1.0, 0.5], [0.5, 1.0]])
        within = both.cdf([high, high], lower_limit=[low, low])
        assert found.any_outside == pytest.approx(1.0 - within, rel=2e-3)


@pytest.mark.parametrize("language", ["en", "de", "fr", "es"])
def test_probability_stands_beside_the_decision_rule_and_in_solve(language: str) -> None:
    """To two digits of the risk, in the decimal sign of the language; of the tutorial 0.46 and 99.54 %."""
    assessment, wording = sample("tutorial"), Wording(resources.templates(), language)
    section = decision_section(assessment, numbers_for(assessment.survey, wording.digits), wording)
    texts = " ".join(str(text) for block in section.blocks for text in getattr(block, "texts", ()))
    for number in ("99.54", "0.46"):
        assert wording.digits.written(number) in texts
        assert wording.digits.written(number) in summary_text(assessment, wording)
