"""Uncertainties of many differences in one go: the same as one by one."""

import numpy as np
import pytest

from certgen.network.least_squares import known
from certgen.network.solution import solve_survey
from certgen.network.uncertainty import Differences
from certgen.survey.survey import Reference
from tests.simulate.lines import draw, stating


@pytest.mark.parametrize("reference", [Reference("R1"), Reference(None, ("M1", "M3"))], ids=["roll", "line"])
def test_uncertainty_of_every_difference_is_that_of_one(reference: Reference) -> None:
    """Slopes of both rounds, of which some share a block, and a known value beside them."""
    chance = np.random.default_rng(3)
    taken = stating(draw(chance, reference).survey(chance), 0.02)
    slopes = solve_survey(taken).parallel.slopes  # type: ignore[union-attr]
    estimates = {f"{name} {which}": each for (name, which), each in slopes.items()}
    size = next(iter(slopes.values())).shared.size
    estimates["zero"] = known(0.0, size)
    for name, against in estimates.items():
        wanted = {other: (each - against).u for other, each in estimates.items()}
        assert Differences(estimates).u(name) == pytest.approx(wanted, rel=1e-12)
