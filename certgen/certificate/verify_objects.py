"""Two PDF files compared object by object, streams by what they hold rather than how they are packed."""

import re
from collections.abc import Callable, Iterator
from typing import Any

from pypdf import PdfReader
from pypdf.generic import ArrayObject, DictionaryObject, StreamObject

# how a stream is packed depends on the compressor, and is no part of what it says
_PACKING = ("/Length", "/Filter", "/DecodeParms")
_DIGEST = re.compile(rb"(?<=<certgen:digest>)\w{64}(?=<)")
MOST = 20

LeaveOut = Callable[[str, str], bool]
Alike = Callable[[StreamObject, StreamObject], bool]


def exactly(one: StreamObject, other: StreamObject) -> bool:  # noqa: ARG001  # the form of Alike
    """Tell that streams of other bytes are never the same."""
    return False


def nothing(path: str, key: str) -> bool:  # noqa: ARG001  # the form of LeaveOut
    """Leave nothing out."""
    return False


def differences(
    one: PdfReader, other: PdfReader, leave_out: LeaveOut = nothing, alike: Alike = exactly
) -> tuple[str, ...]:
    """Return the paths, from the trailer, at which two files differ; at most so many.

    `leave_out` says of a path and a key below it whether not to look there, `alike` of two streams that are
    not the same bytes whether they count as the same.
    """
    found: list[str] = []
    for key in ("/Root", "/Info"):
        for path in _Walk(leave_out, alike).compare(key, one.trailer[key], other.trailer[key]):
            found.append(path)
            if len(found) == MOST:
                return tuple(found)
    return tuple(found)


def same(one: Any, other: Any) -> bool:
    """Tell whether two values are the same, all that they lead to with them."""
    return not any(_Walk(nothing, exactly).compare("", one, other))


class _Walk:
    """Goes through both trees at once; a pair of objects that was seen is not looked at again."""

    def __init__(self, leave_out: LeaveOut, alike: Alike) -> None:
        self._leave_out = leave_out
        self._alike = alike
        self._seen: set[tuple[int, int]] = set()
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
        if any(streams) and not self._same(one, other):
            yield path
        for key in sorted({*one, *other} - ({*_PACKING} if any(streams) else set())):
            if not self._leave_out(path, key):
                yield from self.compare(f"{path}{key}", _raw(one, key), _raw(other, key))

    def _same(self, one: DictionaryObject, other: DictionaryObject) -> bool:
        if not isinstance(one, StreamObject) or not isinstance(other, StreamObject):
            return False
        return _held_by(one) == _held_by(other) or self._alike(one, other)

    def _arrays(self, path: str, one: ArrayObject, other: ArrayObject) -> Iterator[str]:
        if len(one) != len(other):
            yield path
        for index, pair in enumerate(zip(one, other, strict=False)):
            yield from self.compare(f"{path}/{index}", *pair)


def _held_by(stream: StreamObject) -> bytes:
    """What a stream holds; of metadata all but the digest, which is of packed bytes and checked by itself."""
    data = stream.get_data()
    return _DIGEST.sub(b"", data) if stream.get("/Type") == "/Metadata" else data


def _raw(dictionary: DictionaryObject, key: str) -> Any:
    return dictionary.raw_get(key) if key in dictionary else None
