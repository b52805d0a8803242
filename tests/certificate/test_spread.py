"""Labels kept apart along a line."""

from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st

from certgen.figures.shapes import spread
from tests.simulate.records import EXAMPLES


def test_labels_with_room_stay_where_they_are() -> None:
    """Nothing is moved without need."""
    assert spread([1.0, 3.0, 9.0], 1.0, 0.0, 10.0) == [1.0, 3.0, 9.0]


def test_crowded_labels_share_their_middle() -> None:
    """Three in one place stand side by side about it."""
    assert spread([5.0, 5.0, 5.0], 1.0, 0.0, 10.0) == pytest.approx([4.0, 5.0, 6.0])


def test_no_labels_need_no_room() -> None:
    """An empty line."""
    assert spread([], 1.0, 0.0, 10.0) == []


@EXAMPLES
@given(st.lists(st.floats(0.0, 10.0), min_size=1, max_size=30), st.floats(0.01, 3.0))
def test_labels_never_overlap_nor_leave_the_line(places: list[float], gap: float) -> None:
    """At least the gap apart, or sharing the whole line evenly; the order is kept."""
    found = spread(sorted(places), gap, 0.0, 10.0)
    apart = min(gap, 10.0 / len(places))
    assert all(second - first >= apart - 1e-9 for first, second in pairwise(found))
    assert found[0] >= apart / 2.0 - 1e-9
    assert found[-1] <= 10.0 - apart / 2.0 + 1e-9
