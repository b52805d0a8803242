"""The uncertainty budget of one estimate: what each source of the survey contributes to its variance."""

from collections.abc import Mapping

from certgen.engine.estimate import Estimate
from certgen.engine.network import Network


def contributions(network: Network, estimate: Estimate) -> Mapping[str, float]:
    """Return the variance by source, in the estimate's unit squared; they sum to the square of its u.

    An estimate is a sum of gains times observations; the gain of observation i is the covariance of the
    estimate with the fitted observation over the variance of the reading (least squares, Gauss-Markov),
    and the variance is the sum of squared gains times variances (JCGM 100:2008, 5.1.2).
    """
    totals: dict[str, float] = {}
    for observation, fit in zip(network.observations, network.fits, strict=True):
        gain = estimate.covariance(fit) / observation.sigma**2
        for source, variance in observation.parts.items():
            totals[source] = totals.get(source, 0.0) + gain**2 * variance
    return totals
