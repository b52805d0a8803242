"""Labels along a line, kept apart."""

from collections.abc import Sequence


def spread(places: Sequence[float], gap: float, low: float, high: float) -> list[float]:
    """Return places at least `gap` apart, in the same order, within low..high as far as there is room.

    `places` are sorted. Those that crowd are set side by side about their common middle; where all together
    need more room than there is, they share it evenly.
    """
    if not places:
        return []
    gap = min(gap, (high - low) / len(places))
    groups: list[tuple[float, int]] = []  # middle, number of labels
    for place in places:
        groups.append((place, 1))
        while len(groups) > 1 and _overlap(groups[-2], groups[-1], gap):
            groups[-2:] = [_joined(*groups[-2:])]
        groups[-1] = _inside(groups[-1], gap, low, high)
        while len(groups) > 1 and _overlap(groups[-2], groups[-1], gap):
            groups[-2:] = [_inside(_joined(*groups[-2:]), gap, low, high)]
    return [middle + gap * (i - (count - 1) / 2.0) for middle, count in groups for i in range(count)]


def _overlap(first: tuple[float, int], second: tuple[float, int], gap: float) -> bool:
    room = gap * (first[1] + second[1]) / 2.0
    return second[0] - first[0] < room * (1.0 - 1e-12)


def _joined(first: tuple[float, int], second: tuple[float, int]) -> tuple[float, int]:
    count = first[1] + second[1]
    return (first[0] * first[1] + second[0] * second[1]) / count, count


def _inside(group: tuple[float, int], gap: float, low: float, high: float) -> tuple[float, int]:
    half = gap * group[1] / 2.0
    return min(max(group[0], low + half), high - half), group[1]
