"""What is said before a certificate is issued: rolls that can never pass, readings that do not fit."""

from certgen.assessment.assess import assess
from certgen.findings import Finding
from certgen.network.solution import solve_survey
from certgen.results.cautions import cautions, contradictions
from certgen.survey.survey import Limit, Web
from tests.simulate.blunders import from_two_setups
from tests.simulate.records import read, roll, setup, survey


def said(*readings, limit: float = 0.05, **changes) -> tuple[Finding, ...]:
    """Return the cautions on R1 (the reference) and R2."""
    rolls = (roll("R1"), roll("R2", parallel_limit=Limit(limit, "")))
    seen = setup("A", {}, read("R1", 0.0, 0.0), *readings)
    return cautions(assess(solve_survey(survey(rolls, (seen,), **changes))))


def test_sound_survey_raises_no_caution():
    """U below the limit and nothing left over."""
    assert said(read("R2", 0.0, 0.0)) == ()


def test_roll_that_can_never_pass_is_named():
    """U of 0.025 against 0.02 under guarded acceptance: whatever it reads, it fails."""
    (caution,) = said(read("R2", 0.0, 0.0), limit=0.02)
    assert (caution.severity, caution.where) == ("warning", "rolls[1]")
    assert "R2 parallel can never pass" in caution.message


def test_rules_without_a_guard_band_can_always_pass():
    """Under simple acceptance U takes no part."""
    assert said(read("R2", 0.0, 0.0), limit=0.02, decision="simple") == ()


def test_readings_that_do_not_fit_are_pointed_out():
    """Two readings of one roll 1 mm apart: the fit as a whole, and both readings by name."""
    fit, readings = said(read("R2", 0.0, 0.0), read("R2", 0.0, 1.0))
    assert fit.where == "setups"
    assert "residuals are larger than stated (p < 0.001)" in fit.message
    assert readings.where == "as_found.R2"
    found = "R2 as found in setup A contradicts the other readings by 1 mm"
    assert readings.message.startswith(found)
    assert readings.message.endswith("it may as well be R2 as found in setup A")


def test_cause_of_a_contradiction_is_said_where_the_numbers_show_it() -> None:
    """3 mm twice, and 30 mm once."""
    *_, found = said(*(read("R2", 0.0, value) for value in (3.0, 3.0, 30.0)))
    assert "R2 as found in setup A: a slipped decimal would explain it." in found.hint


def test_warning_says_whose_the_cause_is_and_points_at_that_reading() -> None:
    """Of two readings that contradict each other, the one with ten times too much, in either setup."""
    for first, second, right in ((21.0, -0.945, "A"), (0.21, -9.45, "B")):
        (found,) = contradictions(solve_survey(from_two_setups(first, second)))
        other = {"A": "B", "B": "A"}[right]
        assert found.where == f"{right}.as_found.R2"
        assert found.message.startswith(f"R2 as found in setup {right} contradicts")
        assert found.message.endswith(f"it may as well be R2 as found in setup {other}")
        assert found.hint.startswith(
            f"R2 as found in setup {right}: a slipped decimal would explain it. Correct"
        )


def test_warning_says_both_causes_where_they_fit_about_as_well() -> None:
    """Neither is what it looks like."""
    (found,) = contradictions(solve_survey(from_two_setups(2.055, -0.945)))
    assert found.hint.startswith(
        "R2 as found in setup A: a slipped decimal would explain it; "
        "R2 as found in setup B: swapped ends or a lost sign would explain it. Correct"
    )


def test_limit_beyond_what_the_web_bears_is_pointed_out():
    """Strain 0.001, span a twentieth of the width: 0.05 mm/m is critical; the limit of 0.1 is twice that."""
    web = Web(2000.0, 0.05, 0.2, 4000.0, {"R2": 100.0})
    (caution,) = said(read("R2", 0.0, 0.0), limit=0.1, web=web)
    assert (caution.where, caution.severity) == ("rolls[1]", "warning")
    assert "limit for parallel of R2 is 2.0 times" in caution.message
    assert said(read("R2", 0.0, 0.0), limit=0.05, web=web) == ()
