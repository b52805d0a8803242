"""Which shims to lay under a bearing: the pack nearest to the wanted thickness. Lengths in mm.

Thicknesses are whole numbers of a nanometre here, so sums and ties are exact: an inch size to five decimals
and a millimetre size to six are whole numbers of it. What sums so many pieces can make is kept as the bits
of one integer; adding a size to every sum at once is a shift. Source: the usual dynamic programme for
subset sums with repetition, here with the number of pieces as its stage.
"""

from dataclasses import dataclass
from math import gcd, inf

from certgen.survey.survey import ShimStock

_PER_MM = 1_000_000
# Beyond so many steps of the stock's common measure the measure is made coarser: that only happens to a
# stock without a sensible common measure, and then leaves a four-millionth of the thickness.
_MOST_STEPS = 1 << 22


@dataclass(frozen=True, slots=True)
class ShimPack:
    """Shims to lay under one bearing, thickest first; `residual_mm` is the wanted thickness less the total.

    A pack without pieces says that no shim in stock brings the bearing nearer.
    """

    pieces_mm: tuple[float, ...]
    total_mm: float
    residual_mm: float


def pack(stock: ShimStock, wanted_mm: float, most_mm: float = inf) -> ShimPack | None:
    """Return the pack nearest to `wanted_mm`, then with the fewest pieces, then the thinner, thickest first.

    Never thicker than `most_mm`. None where nothing is to be raised: shims are only added.
    """
    wanted = round(wanted_mm * _PER_MM)
    if wanted <= 0:
        return None
    sizes = sorted({round(size * _PER_MM) for size in stock.stock_mm}, reverse=True)
    # a sum beyond twice the wanted one is worse than no shim at all
    limit = min(round(min(2.0 * wanted_mm, most_mm) * _PER_MM), stock.max * sizes[0])
    pieces = _pieces([size for size in sizes if size <= limit], min(wanted, limit), limit, stock.max)
    total = sum(pieces) / _PER_MM
    return ShimPack(tuple(size / _PER_MM for size in pieces), total, wanted_mm - total)


def _pieces(sizes: list[int], wanted: int, limit: int, most: int) -> list[int]:
    """Return the pieces in nanometres; sizes come thickest first and sums stay within `limit`."""
    if not sizes:
        return []
    step = max(gcd(*sizes), -(-limit // _MOST_STEPS))
    steps = {size: max(1, round(size / step)) for size in sizes}
    stages = _stages(list(steps.values()), limit // step, most)
    count, total = min(
        ((count, total) for count, sums in enumerate(stages) for total in _around(sums, wanted // step)),
        key=lambda found: (abs(found[1] * step - wanted), *found),
    )
    return _taken(steps, stages, count, total)


def _stages(steps: list[int], limit: int, most: int) -> list[int]:
    """Return, for each number of pieces from none, the sums it can make as bits; none beyond `limit`."""
    mask = (1 << (limit + 1)) - 1
    stages = [1]
    while len(stages) <= most and stages[-1]:
        sums = 0
        for step in steps:
            sums |= stages[-1] << step
        stages.append(sums & mask)
    return stages


def _around(sums: int, wanted: int) -> list[int]:
    """Return the largest sum not above the wanted one and the smallest above it, where there are such."""
    below, above = sums & ((1 << (wanted + 1)) - 1), sums >> (wanted + 1)
    found = [below.bit_length() - 1] if below else []
    return [*found, (above & -above).bit_length() + wanted] if above else found


def _taken(steps: dict[int, int], stages: list[int], count: int, total: int) -> list[int]:
    """Return `count` sizes that make the sum, the thickest possible first."""
    taken: list[int] = []
    for left in range(count - 1, -1, -1):
        size = next(s for s, step in steps.items() if step <= total and stages[left] >> (total - step) & 1)
        taken.append(size)
        total -= steps[size]
    return taken
