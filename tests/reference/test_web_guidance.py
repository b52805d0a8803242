"""What has been published on how much misalignment a web bears, against the program's units and formulas.

T. J. Walker, "How Much Misalignment Is Trouble?", Paper, Film & Foil Converter, February 2009;
T. J. Walker, "Q&A on Roller Deflection", Paper, Film & Foil Converter, November 2001;
"When Rollers Fight, Webs Lose", Paper, Film & Foil Converter. Guidance only: no tolerance is preset here.
"""

import pytest

from certgen.assessment.web_limit import critical_slope, lateral_shift
from certgen.survey.survey import Web
from certgen.survey.units import measure

SLOPE = ("slope",)
INCH = 25.4
LBF_PER_IN = 0.1751268  # N/mm, NIST SP 811, B.8


def slope(text: str) -> float:
    """Return a slope in mm/m."""
    return measure(text, SLOPE).value


def test_two_mil_per_foot_is_a_sixth_of_a_mm_per_m():
    """Walker 2009: usually 2 mil/ft; that is 166.7 microradian."""
    assert slope("2 mil/ft") == pytest.approx(1.0 / 6.0, rel=1e-12)


def test_two_mil_per_foot_is_not_two_mm_per_m():
    """Walker 2001 prints "2 mils/ft or about 2 mm/m": a misprint by the factor 12."""
    assert slope("2 mm/m") / slope("2 mil/ft") == pytest.approx(12.0, rel=1e-12)


def test_ten_mil_per_foot_run_aside_by_seven_per_foot():
    """Rollers Fight: 10 mil/ft shift the web about 7 mil for every foot of span; two thirds of ten."""
    assert round(10.0 * lateral_shift(0.0)) == 7


def test_aluminium_bears_less_than_one_mil_per_foot():
    """Walker 2009: 60 in wide, 1 mil, 1 lbf/in, span 40 % of the width; aluminium below 1 mil/ft.

    Modulus of aluminium 69 GPa, from memory.
    """
    web = Web(60 * INCH, 0.0254, LBF_PER_IN, 69_000.0, {"R": 0.4 * 60 * INCH})
    found = critical_slope(web, "R")
    assert found is not None
    assert 0.3 < found.simple_mm_per_m * 12.0 < 1.0


def test_polyester_wrinkles_before_its_edge_goes_slack():
    """Same web of polyester: Walker 2009 gives 2 mil/ft, the slack edge only comes at several times that.

    Modulus of polyester film 4.5 GPa, from memory. In so short a span wrinkles bind earlier, as
    docs/web_tolerance.md warns.
    """
    web = Web(60 * INCH, 0.0254, LBF_PER_IN, 4_500.0, {"R": 0.4 * 60 * INCH})
    found = critical_slope(web, "R")
    assert found is not None
    assert 3.0 < found.simple_mm_per_m / slope("2 mil/ft") < 5.0
