"""A cross-reference table that is a stream, within bounds (ISO 32000-1:2008, 7.5.8)."""

from collections.abc import Sequence
from dataclasses import dataclass

from certgen.verify.pdf_objects import MOST_OBJECTS, Stream

TABLE_KEYS = {"Type", "W", "Index", "Filter", "DecodeParms", "Length"}  # all that are not of a trailer
_UP = 12  # the predictor: every row as its difference to the row above


@dataclass(frozen=True, slots=True)
class Table:
    """A table that is a stream: its number, the place of its object, the stream."""

    number: int
    place: int
    stream: Stream

    def entries(self) -> dict[int, int | tuple[int, int]]:
        """Return the place of every object, or the number of its stream and its index there.

        Raises KeyError, TypeError or ValueError for anything that certgen or a signature never writes.
        """
        keys, found = self.stream.keys, dict[int, int | tuple[int, int]]()
        widths, size = keys["W"], keys["Size"]
        if len(widths) != 3 or not all(0 < width <= 8 for width in widths) or size > MOST_OBJECTS:
            raise ValueError(widths)
        index = keys.get("Index", [0, size])
        numbers = [n for first, count in _pairs(index, size) for n in range(first, first + count)]
        data, row = self._rows(sum(widths)), sum(widths)
        if len(data) != row * len(numbers) or len(set(numbers)) != len(numbers):
            raise ValueError(numbers)
        for at, number in enumerate(numbers):
            one = data[at * row : (at + 1) * row]
            kind, place, more = (
                int.from_bytes(one[sum(widths[:i]) : sum(widths[: i + 1])], "big") for i in range(3)
            )
            if (kind == 0) != (number == 0) or kind > 2 or (kind == 1 and more):
                raise ValueError(number)
            found[number] = place if kind == 1 else (place, more)
        found.pop(0, None)
        return found

    def _rows(self, width: int) -> bytes:
        """The rows, put together from their differences where they are written so (7.4.4.4)."""
        data, how = self.stream.data, self.stream.keys.get("DecodeParms")
        if how is None:
            return data
        if how != {"Predictor": _UP, "Columns": width} or len(data) % (width + 1):
            raise ValueError(how)
        rows, above = bytearray(), bytes(width)
        for at in range(0, len(data), width + 1):
            if data[at] != 2:
                raise ValueError(at)
            above = bytes((a + b) & 255 for a, b in zip(data[at + 1 : at + 1 + width], above, strict=True))
            rows += above
        return bytes(rows)


def _pairs(index: Sequence[int], size: int) -> list[tuple[int, int]]:
    """First number and count of every part of a table; together no more than there are objects."""
    pairs = list(zip(index[::2], index[1::2], strict=True))
    if any(first < 0 or count < 0 or first + count > size for first, count in pairs):
        raise ValueError(index)
    if sum(count for _, count in pairs) > size:
        raise ValueError(index)
    return pairs
