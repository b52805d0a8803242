"""What a certificate may be made of: a closed list, that of the certificate which its survey gives.

Every entry of every dictionary that the catalog leads to is written as a path (`/Pages/Kids/*/MediaBox`),
names and what says how a page is shown with their value. What the certificate printed anew does not have is
nothing that certgen writes: an annotation, an action, a layer, a form, another page box, one more attachment.
So is an object that nothing leads to. It holds for certificates of every form, printed no longer or still.
"""

import re
from collections import Counter
from collections.abc import Iterator
from typing import Any

from certgen.certificate.raw_file import Name, Reference, Revision, Stream
from certgen.certificate.verification import Check, differs, held

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
            whole = _folded(f"{path}/{'*' if free else key}")
            yield f"{whole}{_stated(file, whole, key, below)}", number
            yield from _walk(file, whole, below, (seen, number))
    elif isinstance(value, list) and path.rpartition("/")[2] not in _SHOWN:
        for below in value:
            if isinstance(below, Name):
                yield f"{path}/*{_stated(file, f'{path}/*', '*', below)}", number
            yield from _walk(file, f"{path}/*", below, (seen, number))


def _folded(path: str) -> str:
    """A path in which what leads on to the same again and again stands once."""
    return re.sub(r"(/[^/]+(?:/\*)?)\1+(?=/|$)", r"\1", path)


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
