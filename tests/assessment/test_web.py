"""The tolerances beside what the web bears, as records and in the results."""

import json
from dataclasses import replace

import pytest

from certgen.assessment.assess import assess
from certgen.assessment.web_limit import web_margins
from certgen.network.solution import solve_survey
from certgen.results.survey_results import survey_results
from certgen.survey.survey import Limit, Survey, Web
from tests.simulate.records import read, roll, setup, survey

WEB = Web(2000.0, 0.05, 0.2, 4000.0, {"R2": 1000.0, "R3": 6000.0})  # strain 0.001


def line(web: Web | None = WEB) -> Survey:
    """Return three rolls, each with a limit of its own and one against the roll before."""
    rolls = tuple(replace(roll(name), adjacent_limit=Limit(0.1, "0.1 mm/m")) for name in ("R1", "R2", "R3"))
    seen = setup("A", {}, *(read(name, 0.0, 0.05) for name in ("R1", "R2", "R3")))
    return survey(rolls, (seen,), web=web)


def test_margin_is_limit_over_critical_slope() -> None:
    """Half a width of span bears 0.5 mm/m: a limit of 0.05 mm/m uses a tenth, one of 0.1 mm/m a fifth."""
    second, third = web_margins(line())
    assert (second.roll, second.span_mm, second.span_over_width) == ("R2", 1000.0, 0.5)
    assert second.critical_mm_per_m == pytest.approx(0.5)
    assert (second.limit_ratio, second.adjacent_limit_ratio) == (pytest.approx(0.1), pytest.approx(0.2))
    assert third.critical_mm_per_m == pytest.approx(3.0)
    assert third.critical_exact_mm_per_m < third.critical_mm_per_m


def test_first_roll_has_no_margin_against_the_one_before() -> None:
    """There is none."""
    first, *_ = web_margins(line(replace(WEB, spans_mm={"R1": 1000.0})))
    assert (first.roll, first.adjacent_limit_ratio) == ("R1", None)


def test_roll_without_limit_has_no_ratio() -> None:
    """The critical slope stands by itself."""
    taken = line()
    bare = replace(taken, rolls=tuple(replace(one, parallel_limit=None) for one in taken.rolls))
    found = web_margins(bare)[0]
    assert (found.limit_ratio, found.shift_at_limit_mm) == (None, None)
    assert found.critical_mm_per_m == pytest.approx(0.5)


def test_margins_stand_in_the_results() -> None:
    """Beside the parallel states of a roll with a span; null for one without."""
    found = json.loads(json.dumps(survey_results(assess(solve_survey(line())))))
    first, second, _ = found["rolls"]
    assert found["web"] == {"strain": pytest.approx(0.001)}
    assert first["parallel"]["web"] is None
    assert second["parallel"]["web"].keys() == {
        "span_mm",
        "span_over_width",
        "critical_mm_per_m",
        "critical_exact_mm_per_m",
        "limit_ratio",
        "adjacent_limit_ratio",
        "shift_at_limit_mm",
    }


def test_margins_change_no_verdict() -> None:
    """The web is information: with it and without, the rest of the results is the same."""
    with_web, without = (survey_results(assess(solve_survey(line(web)))) for web in (WEB, None))
    for found in (with_web, without):
        found.pop("web")
        for one in found["rolls"]:  # type: ignore[attr-defined]
            one["parallel"].pop("web")
    assert with_web == without
