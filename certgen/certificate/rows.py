"""How a long line breaks over rows of drawings: in web order, at most fourteen rolls to a row."""

from collections.abc import Sequence
from typing import TypeVar

MOST_IN_A_ROW = 14

T = TypeVar("T")


def rows_of(rolls: Sequence[T]) -> list[Sequence[T]]:
    """Return the rolls in as few rows as will do, as even as can be."""
    count = -(-len(rolls) // MOST_IN_A_ROW)
    size = -(-len(rolls) // count)
    return [rolls[start : start + size] for start in range(0, len(rolls), size)]
