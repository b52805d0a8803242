"""Everything that passes taken together: the probability that all of it conforms.

Every error is a linear function of independent normal errors of unit variance. Separation of variables turns
the probability that all of them are within into the mean of a product of conditional ones (A. Genz,
"Numerical computation of multivariate normal probabilities", J. Comput. Graph. Stat. 1 (1992) 141-149). Where
they depend on each other, as pairs of neighbours do on their rolls, the dependent one bounds the last
variable that it holds (A. Genz, K.-S. Kwong, "Numerical evaluation of singular multivariate normal
distributions", J. Stat. Comput. Simul. 68 (2000) 1-21). Both cited from memory; held against closed forms,
against scipy and against plain draws in the tests.

The mean is taken over a fixed lattice (the fractions of multiples of roots of primes, folded), so that the
same errors give the same figure in every run. Up to some hundred bounds the worst comes first, by an
orthogonal triangularisation whose time grows with the third power; beyond that the errors are taken as they
come, those that are shared first, and time grows with the number of bounds times that of the shared errors.

A risk of 2.3 % for each of many passing results leaves a much larger one that some of them is out of
tolerance (total risk: IUPAC/CITAC Guide 2021, doi 10.1515/pac-2019-0906; a single one: JCGM 106:2012). It is
worked out from the joint covariance of the errors: what rolls share, and what pairs have of their rolls, is
in it. Level and parallel share no error. Where the degrees of freedom are finite, each bound is that of
Student's t for the result alone, and the dependence that of the normal distribution (our own choice).
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from math import sqrt
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray
from scipy.special import ndtr, ndtri

from certgen.assessment.rules import PASSING, normal_scores, risk
from certgen.network.least_squares import Array, Estimate
from certgen.survey.edition import FIRST
from certgen.survey.survey import Round
from certgen.survey.unread import ASPECTS, AspectName, Unread

if TYPE_CHECKING:
    from certgen.assessment.assessment import Assessment, Measured

_LEFT_OUT = 1e-3  # bounds whose risks sum to no more than this share of the largest are left out
_NOTHING = 1e-7  # a coefficient that is rounding, of rows of length 1
_DEPENDENT = 1e-6  # what is left of a row that depends on others
_ENOUGH = 2e-3  # the scatter of the mean, as a share of the risk, that two digits need
_BLOCKS = 8
_FIRST, _MOST = 1 << 8, 1 << 12  # points of a block
_FEW = 300  # bounds that are triangularised
_Sum = tuple[tuple[str, float], ...]


@dataclass(frozen=True, slots=True)
class Within:
    """A sum of estimates, each times a factor, whose error lies between two bounds.

    The bounds are in standard uncertainties of the sum, for an error of mean zero; `of` holds the indices.
    """

    of: tuple[tuple[int, float], ...]
    low: float
    high: float


@dataclass(frozen=True, slots=True)
class Outside:
    """The probability that one or more lie outside, and by how much that figure may be off (three sigma)."""

    risk: float
    error: float


def any_outside(estimates: Sequence[Estimate], bounds: Sequence[Within]) -> Outside:
    """Return the probability that at least one sum lies outside its bounds.

    Sums without any uncertainty take no part.
    """
    rows, low, high = _rows(estimates, bounds)
    alone = ndtr(low) + ndtr(-high)
    # equal ones stay in their order, however a machine rounds them
    order = np.argsort(-np.round(np.log(np.maximum(alone, 1e-300)), 6), kind="stable")
    small = np.cumsum(alone[order][::-1])[::-1] <= _LEFT_OUT * alone.max(initial=0.0)
    kept, dropped = order[~small], float(alone[order[small]].sum())
    if kept.size > _FEW:
        kept = np.sort(kept)
    if kept.size == 0:
        return Outside(dropped, dropped)
    if kept.size == 1:
        return Outside(float(alone[kept[0]]), dropped)
    found = _joint(rows[kept], low[kept], high[kept])
    # never less than that of the worst alone, never more than all together (Boole)
    risk = min(max(found.risk, float(alone.max())), float(alone.sum()), 1.0)
    return Outside(risk, found.error + dropped)


def _rows(estimates: Sequence[Estimate], bounds: Sequence[Within]) -> tuple[Array, Array, Array]:
    """The sums on independent errors, each of length 1, with their bounds."""
    # the estimates on independent errors of unit variance, shape (n, q). The errors of a block that one
    # estimate alone holds are taken together as one
    held: dict[str, list[int]] = {}
    for index, estimate in enumerate(estimates):
        for name in estimate.own:
            held.setdefault(name, []).append(index)
    columns = [_signed(np.array([one.shared for one in estimates]).reshape(len(estimates), -1))]
    own = np.zeros(len(estimates))
    for name, members in held.items():
        if len(members) == 1:
            own[members[0]] += float(np.sum(estimates[members[0]].own[name] ** 2))
        else:
            part = np.zeros((len(estimates), estimates[members[0]].own[name].size))
            for index in members:
                part[index] = estimates[index].own[name]
            columns.append(_signed(part))
    on = np.hstack([*columns, np.diag(np.sqrt(own))])
    rows = np.array([sum(factor * on[index] for index, factor in one.of) for one in bounds])
    rows = rows.reshape(len(bounds), on.shape[1])
    lengths = np.sqrt(np.sum(rows**2, axis=1))
    known = lengths > 0.0
    low, high = (np.array([getattr(one, end) for one in bounds]).reshape(-1) for end in ("low", "high"))
    return rows[known] / lengths[known, None], low[known], high[known]


def _signed(columns: Array) -> Array:
    """The columns with the first entry of each positive: which sign an error has is up to the machine."""
    some = np.abs(columns) > _NOTHING * np.abs(columns).max(axis=0, initial=0.0)
    first = columns[np.argmax(some, axis=0), np.arange(columns.shape[1])]
    return columns * np.where(first < 0.0, -1.0, 1.0)


def _joint(rows: Array, low: Array, high: Array) -> Outside:
    """With few bounds the worst come first, so that the later ones vary least with what was drawn before."""
    factor = _triangular(rows) if len(rows) <= _FEW else rows
    last = factor.shape[1] - 1 - np.argmax(np.abs(factor[:, ::-1]) > _NOTHING, axis=1)
    variables = int(last.max()) + 1
    # the first primes, by a sieve up to an upper bound of the last one (Rosser)
    bound = 15 if variables < 6 else int(variables * (np.log(variables) + np.log(np.log(variables)))) + 1
    sieve = np.ones(bound + 1, dtype=bool)
    sieve[:2] = False
    for number in range(2, int(sqrt(bound)) + 1):
        if sieve[number]:
            sieve[number * number :: number] = False
    roots = np.sqrt(np.flatnonzero(sieve)[:variables].astype(float))
    most = _MOST if len(rows) <= _FEW else _MOST // 8
    size = _FIRST
    while True:
        # points of the unit cube, shape (variables, count): Richtmyer's lattice, folded to be periodic
        steps = np.arange(1, (_BLOCKS * size) + 1, dtype=float)
        lattice = np.abs(2.0 * np.mod(roots[:, None] * steps, 1.0) - 1.0)
        drawn = _outside(factor, last, (low, high), lattice)
        means = drawn.reshape(_BLOCKS, size).mean(axis=1)
        risk, scatter = float(means.mean()), float(means.std(ddof=1)) / sqrt(_BLOCKS)
        if scatter <= _ENOUGH * risk or size * 4 > most:
            return Outside(risk, 3.0 * scatter)
        size *= 4


def _triangular(rows: Array) -> Array:
    """The rows on errors of their own, each of them brought in by the first row that needs it.

    By Gram and Schmidt, done twice: unlike a routine for QR, it is the same on every machine where rows
    depend on each other.
    """
    basis, factor, found = np.zeros_like(rows), np.zeros((len(rows), len(rows))), 0
    for index, row in enumerate(rows):
        rest = row
        for _ in range(2):
            parts = basis[:found] @ rest
            factor[index, :found] += parts
            rest = rest - parts @ basis[:found]
        length = float(np.sqrt(rest @ rest))
        if length > _DEPENDENT and found < rows.shape[0]:
            factor[index, found], basis[found] = length, rest / length
            found += 1
    return factor


def _outside(factor: Array, last: NDArray[np.intp], bounds: tuple[Array, Array], points: Array) -> Array:
    """The probability at each point that one or more lie outside, shape (count,).

    The coordinate of a point is the share of the way from the lower to the upper bound of its variable.
    """
    drawn, inside = np.zeros_like(points), np.ones(points.shape[1])
    outside = np.zeros(points.shape[1])  # summed by itself: one less what is inside would lose its digits
    low, high = (end[:, None] for end in bounds)
    for place, share in enumerate(points):
        ending = np.flatnonzero(last == place)
        if ending.size == 0:  # no bound on it by itself
            drawn[place] = ndtri(share)
            continue
        held = np.flatnonzero(np.any(factor[ending, :place], axis=0))
        before, by = factor[np.ix_(ending, held)] @ drawn[held], factor[ending, place, None]
        ends = (low[ending] - before) / by, (high[ending] - before) / by
        least = np.minimum(*ends).max(axis=0)
        most = np.maximum(np.maximum(*ends).min(axis=0), least)
        below, above = ndtr(least), ndtr(-most)
        lost = np.minimum(np.where(most > least, below + above, 1.0), 1.0)
        outside += inside * lost
        inside *= 1.0 - lost
        drawn[place] = ndtri(np.clip(below + share * (1.0 - above - below), 1e-300, 1.0 - 1e-16))
    return outside


@dataclass(frozen=True, slots=True)
class Passes:
    """The results of a round that pass, be it with a condition: of rolls and of pairs, level and parallel.

    `any_outside` is the probability that at least one of them is out of tolerance, known to `accuracy`
    (three sigma); `largest_risk` that of the worst one alone, which it is never below.
    """

    count: int
    any_outside: float
    accuracy: float
    largest_risk: float

    @property
    def all_conform_probability(self) -> float:
        """The probability that all of them conform."""
        return 1.0 - self.any_outside


def passes(assessment: "Assessment", which: Round) -> Passes | None:
    """Return what passes in a round, taken together; None where nothing does."""
    found = {name: list(_passing(assessment, name, which)) for name in ASPECTS}
    states = [state for judged in found.values() for _, state in judged]
    if not states:
        return None
    first = assessment.survey.edition == FIRST
    risks = (risk(*_of(state), *_dof(state, first)) for state in states)
    joint = [_together(assessment, name, which, judged) for name, judged in found.items() if judged]
    conform = 1.0
    outside = 0.0
    for one in joint:  # summed so that small risks keep their digits
        outside += conform * one.risk
        conform *= 1.0 - one.risk
    return Passes(len(states), outside, sum(one.error for one in joint), max(risks))


def _passing(assessment: "Assessment", name: AspectName, which: Round) -> Iterator[tuple[_Sum, "Measured"]]:
    """The passing states of an aspect, each with the rolls whose slopes it is the sum of."""
    for roll in assessment.rolls:
        state = roll.aspect(name).in_round(which)
        if state is not None and state.verdict in PASSING:
            yield ((roll.id, 1.0),), state
    for pair in assessment.adjacent:
        state = pair.aspect(name).get(which)
        if state is not None and state.verdict in PASSING:
            yield ((pair.to, 1.0), (pair.from_, -1.0)), state


def _together(
    assessment: "Assessment", name: AspectName, which: Round, judged: list[tuple[_Sum, "Measured"]]
) -> Outside:
    aspect, unread = assessment.solution.aspect(name), Unread(assessment.survey)
    if aspect is None:
        return Outside(0.0, 0.0)
    rolls = {roll.id: roll for roll in assessment.survey.rolls}
    named = dict.fromkeys(roll for parts, _ in judged for roll, _ in parts)
    order = {roll: index for index, roll in enumerate(id_ for id_ in rolls if id_ in named)}
    stands = ((roll, unread.stands_by(name, rolls[roll], which)) for roll in order)
    slopes = [aspect.judged[roll, read] for roll, read in stands if read is not None]
    first = assessment.survey.edition == FIRST
    bounds = [
        Within(
            tuple((order[roll], sign) for roll, sign in parts),
            *normal_scores(*_of(state), *_dof(state, first)),
        )
        for parts, state in judged
    ]
    return any_outside(slopes, bounds)


def _of(state: "Measured") -> tuple[float, float, float]:
    return state.error_mm_per_m, state.u_mm_per_m, state.limit_mm_per_m


def _dof(state: "Measured", first: bool) -> tuple[float, ...]:
    """The degrees of freedom where they are finite; the first edition took every error for normal."""
    return () if state.dof is None or first else (state.dof,)
