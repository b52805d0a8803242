"""The solver against NIST's certified linear least squares (NIST/ITL Statistical Reference Datasets).

Achieved, relative: 2e-15 for NoInt1 and NoInt2, 5e-14 for Norris, 2e-11 for Longley, whose columns are
nearly dependent (condition number about 5e9).
"""

import numpy as np
import pytest
from statsmodels.datasets import longley

from tests.reference import regression
from tests.reference.regression import Certified, found, regress


def line_columns(x: tuple[float, ...]) -> np.ndarray:
    """Return the columns of a straight line with intercept."""
    return np.column_stack([np.ones(len(x)), x])


def longley_table() -> tuple[np.ndarray, np.ndarray]:
    """Return the columns (intercept and six regressors) and the employment of the Longley data."""
    data = longley.load_pandas()
    regressors = data.exog.to_numpy(float)
    return np.column_stack([np.ones(len(regressors)), regressors]), data.endog.to_numpy(float)


CASES = {
    "NoInt1": (np.vstack(regression.NOINT1_X), regression.NOINT1_Y, regression.NOINT1, 1e-13),
    "NoInt2": (np.vstack(regression.NOINT2_X), regression.NOINT2_Y, regression.NOINT2, 1e-13),
    "Norris": (line_columns(regression.NORRIS_X), regression.NORRIS_Y, regression.NORRIS, 1e-12),
    "Longley": (*longley_table(), regression.LONGLEY, 1e-10),
}


@pytest.fixture(params=CASES, name="case")
def _case(request: pytest.FixtureRequest) -> tuple[Certified, Certified, float]:
    columns, y, certified, relative = CASES[request.param]
    return found(regress(columns, y)), certified, relative


def test_coefficients_agree_with_the_certified_values(case):
    """Coefficients agree to the stated relative tolerance."""
    solved, certified, relative = case
    assert solved.coefficients == pytest.approx(certified.coefficients, rel=relative)


def test_standard_deviations_agree_with_the_certified_values(case):
    """The engine's u times the residual scatter is the certified standard deviation."""
    solved, certified, relative = case
    assert solved.deviations == pytest.approx(certified.deviations, rel=relative)


def test_residual_deviation_agrees_with_the_certified_value(case):
    """Chi-square over the degrees of freedom is the certified residual variance."""
    solved, certified, relative = case
    assert solved.residual_sd == pytest.approx(certified.residual_sd, rel=relative)
