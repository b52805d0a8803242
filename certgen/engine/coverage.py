"""From standard to expanded uncertainty: U = k u (JCGM 100:2008, 6.2.1 and G.1.3)."""

from math import inf, isinf

from scipy.special import ndtri, stdtrit

from certgen.survey.survey import Coverage


def coverage_factor(coverage: Coverage, dof: float = inf) -> float:
    """Return k: as stated, or from Student's t at `dof` degrees of freedom for the stated probability."""
    if coverage.k is not None:
        return coverage.k
    if coverage.probability is None:
        msg = "a coverage states k or a probability"
        raise ValueError(msg)
    upper = (1.0 + coverage.probability) / 2.0
    return float(ndtri(upper) if isinf(dof) else stdtrit(dof, upper))
