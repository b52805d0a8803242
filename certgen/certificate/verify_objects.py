"""Two PDF files compared object by object, streams by what they hold rather than how they are packed."""

from collections.abc import Callable, Iterator
from typing import Any

from pypdf import PdfReader
from pypdf.generic import ArrayObject, DictionaryObject, StreamObject

# how a stream is packed depends on the compressor, and is no part of what it says
_PACKING = ("/Length", "/Filter", "/DecodeParms")
MOST = 20

LeaveOut = Callable[[str, str], bool]


def nothing(path: str, key: str) -> bool:  # noqa: ARG001  # the form of LeaveOut
    """Leave nothing out."""
    return False


def differences(one: PdfReader, other: PdfReader, leave_out: LeaveOut = nothing) -> tuple[str, ...]:
    """Return the paths, from the trailer, at which two files differ; at most so many.

    `leave_out` says of a path and a key below it whether not to look there.
    """
    found: list[str] = []
    for key in ("/Root", "/Info"):
        for path in _Walk(leave_out, set()).compare(key, one.trailer[key], other.trailer[key]):
            found.append(path)
            if len(found) == MOST:
                return tuple(found)
    return tuple(found)


class _Walk:
    """Goes through both trees at once; a pair of objects that was seen is not looked at again."""

    def __init__(self, leave_out: LeaveOut, seen: set[tuple[int, int]]) -> None:
        self._leave_out = leave_out
        self._seen = seen
        self._kept: list[Any] = []  # so that no two objects share an identity

    def compare(self, path: str, one: Any, other: Any) -> Iterator[str]:
        """Yield the paths below which the two differ."""
        one, other = (None if item is None else item.get_object() for item in (one, other))
        if isinstance(one, DictionaryObject) and isinstance(other, DictionaryObject):
            if self._is_new(one, other):
                yield from self._dictionaries(path, one, other)
        elif isinstance(one, ArrayObject) and isinstance(other, ArrayObject):
            yield from self._arrays(path, one, other)
        elif type(one) is not type(other) or one != other:
            yield path

    def _is_new(self, one: Any, other: Any) -> bool:
        pair = (id(one), id(other))
        new = pair not in self._seen
        self._seen.add(pair)
        self._kept += [one, other]
        return new

    def _dictionaries(self, path: str, one: DictionaryObject, other: DictionaryObject) -> Iterator[str]:
        streams = [isinstance(item, StreamObject) for item in (one, other)]
        if any(streams) and (not all(streams) or one.get_data() != other.get_data()):  # type: ignore[attr-defined]
            yield path
        for key in sorted({*one, *other} - ({*_PACKING} if any(streams) else set())):
            if not self._leave_out(path, key):
                yield from self.compare(f"{path}{key}", _raw(one, key), _raw(other, key))

    def _arrays(self, path: str, one: ArrayObject, other: ArrayObject) -> Iterator[str]:
        if len(one) != len(other):
            yield path
        for index, pair in enumerate(zip(one, other, strict=False)):
            yield from self.compare(f"{path}/{index}", *pair)


def _raw(dictionary: DictionaryObject, key: str) -> Any:
    return dictionary.raw_get(key) if key in dictionary else None
