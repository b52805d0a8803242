"""A tolerance on parallel taken from the web: as a slope for each roll, and how the survey states it."""

import pytest

from certgen.survey.survey import Limit, Web
from tests.survey.sound import findings, survey

LINE = ("parallel: {limit: 0.1 mm, over: bearings}", "parallel: {web_fraction: 20 %}")
# strain 0.15 / (3500 x 0.02) = 3/1400
WEB = "web: {width: 1500, thickness: 0.02 mm, tension: 150 N/m, modulus: 3.5 GPa, spans: {R2: 1100, R3: 700}}"
WITH_WEB = ("shims: {", f"{WEB}\nshims: {{")
STATED = "20 % of the slope at which one edge of the web goes slack"


def test_strain_of_the_web_is_tension_over_stiffness() -> None:
    """Tension per width over modulus and thickness, worked by hand."""
    web = survey(WITH_WEB).web
    assert web is not None
    assert web.strain == pytest.approx(3.0 / 1400.0)


def test_limit_from_the_web_follows_the_span() -> None:
    """A fifth of strain x span / width, in mm/m, for each roll."""
    _, second, third = survey(LINE, WITH_WEB).rolls
    slope = 0.2 * 1000.0 * 3.0 / 1400.0
    assert second.parallel_limit == Limit(pytest.approx(slope * 1100.0 / 1500.0), STATED)
    assert third.parallel_limit == Limit(pytest.approx(slope * 700.0 / 1500.0), STATED)


def test_reference_without_span_takes_the_shortest() -> None:
    """It is not judged, and as one roll among others it gets no more room than the tightest of them."""
    first, _, third = survey(LINE, WITH_WEB).rolls
    assert first.parallel_limit == third.parallel_limit


def test_own_tolerance_goes_before_the_line() -> None:
    """A roll may state a limit where the line takes the web's, or the other way round."""
    own = (
        "bearings: 2000, adjustable: drive",
        "bearings: 2000, adjustable: drive, parallel: {limit: 1 mm/m}",
    )
    assert survey(LINE, WITH_WEB, own).rolls[1].parallel_limit == Limit(1.0, "1 mm/m")
    share = (own[0], "bearings: 2000, adjustable: drive, parallel: {web_fraction: 10 %}")
    limit = survey(WITH_WEB, share).rolls[1].parallel_limit
    assert limit is not None
    assert limit.slope_mm_per_m == pytest.approx(0.1 * 1000.0 * 3.0 / 1400.0 * 1100.0 / 1500.0)


def test_roll_without_readings_needs_no_span() -> None:
    """A span is asked for only where a tolerance is needed."""
    web = WITH_WEB[1].replace("R2: 1100, ", "")
    unread = (
        ("      R2: {operator: 0, drive: -0.4}\n", ""),
        ("    as_left:\n      R2: {operator: 0, drive: 0.02}\n", ""),
    )
    found = survey(
        LINE, (WITH_WEB[0], web), *unread, ("adjustments:\n  - {roll: R2", "adjustments:\n  - {roll: R3")
    )
    assert found.rolls[1].parallel_limit is None


def test_reference_without_any_span_is_named() -> None:
    """With no span at all even the reference has nothing to take a tolerance from."""
    web = WITH_WEB[1].replace("{R2: 1100, R3: 700}", "{}")
    found = [one for one in findings(LINE, (WITH_WEB[0], web)) if one.severity == "error"]
    assert ["roll R1" in found[0].message, "roll R2" in found[1].message, "roll R3" in found[2].message] == [
        True
    ] * 3


def test_strain_of_a_slipped_unit_is_warned_of() -> None:
    """A film of 0.02 um would be torn, one of 20 um would not."""
    thin = (WITH_WEB[0], WITH_WEB[1].replace("0.02 mm", "0.02 um"))
    assert [one.where for one in findings(thin)] == ["web.tension"]
    assert findings(WITH_WEB) == ()


def test_web_is_the_same_in_other_units() -> None:
    """1 lbf/in is 0.175 126 8 N/mm, 1 psi 6894.757 Pa (NIST SP 811, B.8)."""
    inches = "web: {width: 1500, thickness: 1 mil, tension: 1 lbf/in, modulus: 500 ksi, spans: {R2: 1100}}"
    web = survey((WITH_WEB[0], f"{inches}\nshims: {{")).web
    assert isinstance(web, Web)
    assert web.tension_n_per_mm == pytest.approx(0.1751268, rel=1e-6)
    assert web.modulus_n_per_mm2 == pytest.approx(500_000 * 6894.757e-6, rel=1e-6)
