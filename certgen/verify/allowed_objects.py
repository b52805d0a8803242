"""What a certificate may be made of: a closed list; and two PDF files compared object by object.

Every entry of every dictionary that the catalog leads to is written as a path (`/Pages/Kids/*/MediaBox`),
names and what says how a page is shown with their value. What the certificate printed anew does not have is
nothing that certgen writes: an annotation, an action, a layer, a form, another page box, one more attachment.
So is an object that nothing leads to. It holds for certificates of every form, printed no longer or still.
"""

import re
from collections import Counter
from collections.abc import Callable, Iterator
from typing import Any

from pypdf import PdfReader
from pypdf.generic import ArrayObject, DictionaryObject, StreamObject

from certgen.verify.compare_contents import Check, differs, held
from certgen.verify.pdf_objects import Name, Reference, Revision, Stream

# how a stream is packed depends on the compressor, and is no part of what it says
_PACKING = ("/Length", "/Filter", "/DecodeParms")
_DIGEST = re.compile(rb"(?<=<certgen:digest>)\w{64}(?=<)")
MOST = 20

LeaveOut = Callable[[str, str], bool]
Alike = Callable[[StreamObject, StreamObject], bool]
# under these stand names of the author's choice
_NAMED_FREELY = ("Font", "XObject")
# what follows from the letters, the length or the title of a text
_FREE = re.compile(r".*/(Title|Subject|BaseFont|FontName|Name|Length1?|Dest/\*|Params/(CheckSum|Size))")
_SHOWN = ("MediaBox", "Rotate")
# here every entry counts, with its text and as often as it stands
_SAID = ("/AF/", "/Names/", "/Info/", "/Lang")
# of one logo on the first page, which the templates that print anew may not have
_LOGO = frozenset(
    f"/Pages/Kids/*/Resources/XObject{path}"
    for path in (
        *("", "/*", "/*/BitsPerComponent", "/*/ColorSpace=DeviceRGB", "/*/Filter/*=FlateDecode"),
        *("/*/Filter", "/*/Height", "/*/Width", "/*/Length", "/*/Subtype=Image", "/*/Type=XObject"),
    )
)
# of the first form of the pages, which is no longer printed: all that it had
_FIRST = frozenset(
    (
        "/Pages/Kids/*/Trans",
        "/Pages/Kids/*/Rotate=0",
    )
)


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
            if len(one) != len(other):
                yield path
            for index, pair in enumerate(zip(one, other, strict=False)):
                yield from self.compare(f"{path}/{index}", *pair)
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


def _held_by(stream: StreamObject) -> bytes:
    """What a stream holds; of metadata all but the digest, which is of packed bytes and checked by itself."""
    data = stream.get_data()
    return _DIGEST.sub(b"", data) if stream.get("/Type") == "/Metadata" else data


def _raw(dictionary: DictionaryObject, key: str) -> Any:
    return dictionary.raw_get(key) if key in dictionary else None


def closed(issued: Revision, printed: Revision) -> Check:
    """Return the check that a file holds nothing but what certgen writes, as does `printed`, printed anew."""
    seen: set[int] = set()
    wanted = Counter(path for path, _ in _paths(printed, set()))
    found = list(_paths(issued, seen))
    odd = {
        f"{path:.200}: certgen writes no such thing, or another ({_where(number)})"
        for path, number in found
        if path not in wanted and path not in _LOGO | _FIRST
    }
    often = Counter(path for path, _ in found if path.startswith(_SAID))
    odd |= {f"{path:.200}: stands {count} times" for path, count in often.items() if count > wanted[path] > 0}
    lost = sorted(issued.objects.keys() - seen)
    odd |= {f"object {number}: nothing leads to it ({_kind(issued.objects[number])})" for number in lost}
    if odd:
        text = "The certificate holds what certgen never writes into one"
        return differs("objects", text, sorted(odd))
    return held("objects", f"All {len(seen)} objects are of kinds that certgen writes into a certificate")


def _paths(file: Revision, seen: set[int]) -> Iterator[tuple[str, int]]:
    """Yield the path of every entry and the number of its object; `seen` takes the numbers reached."""
    # pages before the outline, which leads to them too
    catalog = file.root()
    first = {key: catalog[key] for key in ("Pages", "Names") if key in catalog}
    seen.add(file.trailer["Root"].number)
    yield from _walk(file, "", {**first, **catalog}, (seen, file.trailer["Root"].number))
    yield from _walk(file, "/Info", file.trailer.get("Info"), (seen, 0))


def _walk(file: Revision, path: str, value: Any, at: tuple[set[int], int]) -> Iterator[tuple[str, int]]:
    seen, number = at
    if isinstance(value, Reference):
        if value.number in seen:
            return
        seen.add(value.number)
        number, value = value.number, file.at(value)
    if isinstance(value, Stream):
        value = value.keys
    if isinstance(value, dict):
        for key, below in value.items():
            free = path.rpartition("/")[2] in _NAMED_FREELY
            # a path in which what leads on to the same again and again stands once
            whole = re.sub(r"(/[^/]+(?:/\*)?)\1+(?=/|$)", r"\1", f"{path}/{'*' if free else key}")
            yield f"{whole}{_stated(file, whole, key, below)}", number
            yield from _walk(file, whole, below, (seen, number))
    elif isinstance(value, list) and path.rpartition("/")[2] not in _SHOWN:
        for below in value:
            if isinstance(below, Name):
                yield f"{path}/*{_stated(file, f'{path}/*', '*', below)}", number
            yield from _walk(file, f"{path}/*", below, (seen, number))


def _stated(file: Revision, path: str, key: str, value: Any) -> str:
    """The value of an entry where it belongs to the kind of thing, and not to the one certificate."""
    value = file.at(value)
    if _FREE.fullmatch(path):
        return ""
    if isinstance(value, dict | Stream) or (isinstance(value, list) and key not in _SHOWN):
        return ""
    said = isinstance(value, Name | bool) or key in _SHOWN or path.startswith(_SAID)
    return f"={_text(value)}" if said else ""


def _text(value: Any) -> str:
    if isinstance(value, bytes):
        return value.decode("latin-1")
    return " ".join(map(_text, value)) if isinstance(value, list) else str(value)


def _where(number: int) -> str:
    return f"object {number}" if number else "document information"


def _kind(value: Any) -> str:
    keys = value.keys if isinstance(value, Stream) else value
    found = keys.get("Type") if isinstance(keys, dict) else None
    return (
        f"of the kind {found}"
        if isinstance(found, Name)
        else "a stream"
        if isinstance(value, Stream)
        else "data"
    )
