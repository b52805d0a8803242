"""Growth targets against handbook expansion coefficients, with their spread.

Coefficients, 1e-6/K: Callister & Rethwisch, Fundamentals of Materials Science and Engineering, Table B.6
(A36 and 1020 steel 11.7, 1040 11.3, 4140 12.3, 304 17.2); EN 10088-1 (1.4301, 20-100 °C: 16.0);
JCGM 100:2008, H.1 (steel gauge 11.5).
"""

from dataclasses import replace

import pytest

from certgen.assessment.rules import level_target, parallel_target
from certgen.moves.steps import bearing_move_mm
from certgen.survey.survey import BearingGrowth, Growth
from tests.simulate.records import roll, survey

CARBON_STEEL = (11.3, 11.7, 12.3)
AUSTENITIC = (16.0, 17.2)


def expansion_mm(length_mm: float, kelvin: float, coefficient: float) -> float:
    """Return what a pedestal grows, mm; coefficient in 1e-6/K."""
    return length_mm * kelvin * coefficient * 1e-6


def test_expansion_of_the_handbook_checks() -> None:
    """1 m of steel at 11.5e-6 grows 57.5 µm over 5 K; 10 m of A36 frame 351 µm over 3 K."""
    assert expansion_mm(1000.0, 5.0, 11.5) == pytest.approx(0.0575)
    assert expansion_mm(10_000.0, 3.0, 11.7) == pytest.approx(0.351)


@pytest.mark.parametrize("coefficient", [*CARBON_STEEL, *AUSTENITIC])
def test_hot_pedestal_is_set_low_by_what_it_will_grow(coefficient: float) -> None:
    """A drive-side pedestal of 1.2 m warms by 40 K: cold, the drive side must stand low by its growth."""
    up = expansion_mm(1200.0, 40.0, coefficient)
    cold = replace(roll("R2"), growth=Growth(drive=BearingGrowth(up_mm=up)))
    target = level_target(cold)
    assert target < 0.0
    assert target * cold.bearings_mm / 1000.0 == pytest.approx(-up, rel=1e-12)
    # from level, the move to the target lowers the drive bearing by just that
    assert bearing_move_mm(0.0 - target, cold.bearings_mm, "drive") == pytest.approx(-up, rel=1e-12)


def test_spread_of_the_handbooks_is_a_spread_of_the_target() -> None:
    """Austenitic steel by two handbooks: 16.0 and 17.2 differ by 7 %, and so do the targets."""
    targets = [
        level_target(
            replace(roll("R2"), growth=Growth(drive=BearingGrowth(up_mm=expansion_mm(1200.0, 40.0, c))))
        )
        for c in AUSTENITIC
    ]
    assert targets[1] / targets[0] == pytest.approx(17.2 / 16.0, rel=1e-12)


def test_growth_common_to_both_bearings_turns_nothing() -> None:
    """Both pedestals warm alike: the roll rises and stays level."""
    up = expansion_mm(1200.0, 40.0, 11.7)
    both = replace(roll("R2"), growth=Growth(BearingGrowth(up_mm=up), BearingGrowth(up_mm=up)))
    assert level_target(both) == 0.0


def test_frame_that_grows_along_the_machine_turns_a_roll_by_its_difference() -> None:
    """A drive-side frame 10 m long and 3 K warmer moves the drive end 351 µm downstream."""
    hot = replace(
        roll("R2"), growth=Growth(drive=BearingGrowth(downstream_mm=expansion_mm(10_000.0, 3.0, 11.7)))
    )
    line = survey((roll("R1"), hot))
    assert parallel_target(line, hot) * hot.bearings_mm / 1000.0 == pytest.approx(-0.351)
