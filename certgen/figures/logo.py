"""A contractor's logo, made harmless: PNG and JPEG are drawn anew on white, SVG may only draw paths."""

import re
from io import BytesIO
from typing import Any
from xml.etree import ElementTree

from PIL import Image, UnidentifiedImageError

from certgen.wording.wording import Logo

MOST_BYTES = 2 * 1024 * 1024
_MOST_PIXELS = 25_000_000
_LARGEST = (1200, 600)
_SHAPES = frozenset(
    ("svg", "g", "defs", "title", "desc", "path", "rect", "circle", "ellipse", "line", "polyline", "polygon")
)
_GRADIENTS = frozenset(("linearGradient", "radialGradient", "stop"))
_MOST_SHAPES = 2000
_LENGTHS = frozenset(
    (
        "width",
        "height",
        "x",
        "y",
        "x1",
        "y1",
        "x2",
        "y2",
        "r",
        "rx",
        "ry",
        "cx",
        "cy",
        "fx",
        "fy",
        "stroke-width",
    )
)
# no more than five digits before the point, nor an exponent that makes it more
_SIZE = r"[+-]?(?:[0-9]{1,5}(?:\.[0-9]{0,12})?|\.[0-9]{1,12})(?:[eE](?:-[0-9]{1,2}|\+?0))?"
_NUMBER = re.compile(_SIZE)
_LENGTH = re.compile(rf"\s*{_SIZE}(?:px|pt|pc|mm|cm|in|%)?\s*")
_NUMBERS = re.compile(rf"(?:[\s,]*{_SIZE})*[\s,]*")
_PATH = re.compile(rf"(?:[\s,]*(?:[MmLlHhVvCcSsQqTtAaZz]|{_SIZE}))*[\s,]*")
_TRANSFORM = re.compile(
    rf"(?:\s*(?:matrix|translate|scale|rotate|skewX|skewY)\((?:[\s,]*{_SIZE}){{1,6}}\s*\)[\s,]*)*"
)
_DECLARED = re.compile(r"<!(?!--)|<\?(?!xml\s)")
_OTHER_ENCODING = re.compile(r"encoding\s*=\s*[\"'](?!utf-8)", re.IGNORECASE)
_REACHES_OUT = re.compile(r"url\((?!\s*['\"]?#)|@import|expression\(|javascript:", re.IGNORECASE)


class UnfitLogo(ValueError):
    """The file cannot serve as a logo; the message says why."""


def logo_of(data: bytes) -> Logo:
    """Return the logo in a file's bytes; UnfitLogo where it is none or could do harm."""
    if data.startswith((b"\x89PNG", b"\xff\xd8")):
        return Logo("png", _redrawn(data))
    return Logo("svg", _checked(data))


def _redrawn(data: bytes) -> bytes:
    """The picture without transparency, profile or notes, no larger than it can be printed."""
    try:
        with Image.open(BytesIO(data), formats=["PNG", "JPEG"]) as picture:
            if picture.width * picture.height > _MOST_PIXELS:
                raise UnfitLogo(f"has more than {_MOST_PIXELS // 1_000_000} million pixels")
            shown = picture.convert("RGBA")
    except (UnidentifiedImageError, OSError, SyntaxError, Image.DecompressionBombError):
        raise UnfitLogo("cannot be read as PNG or JPEG") from None
    paper = Image.new("RGB", shown.size, "white")
    paper.paste(shown, mask=shown.getchannel("A"))
    paper.thumbnail(_LARGEST)
    buffer = BytesIO()
    paper.save(buffer, "PNG")
    return buffer.getvalue()


def _checked(data: bytes) -> bytes:
    """The drawing as it is, once nothing in it reads, runs or grows."""
    try:
        text = data.decode("utf-8-sig")
    except UnicodeDecodeError:
        raise UnfitLogo("is neither PNG nor JPEG nor SVG in UTF-8") from None
    if _DECLARED.search(text) or _OTHER_ENCODING.search(text[:200]):
        raise UnfitLogo("holds declarations (DOCTYPE, ENTITY, a style sheet); save it as plain SVG")
    try:
        root = ElementTree.fromstring(text)  # noqa: S314  # without declarations there is nothing to expand
    except (ElementTree.ParseError, RecursionError, ValueError):
        raise UnfitLogo("is neither PNG nor JPEG nor SVG") from None
    _require_shapes(root, text)
    return text.encode()


def _require_shapes(root: ElementTree.Element, text: str) -> None:
    if _name(root.tag) != "svg":
        raise UnfitLogo("is neither PNG nor JPEG nor SVG")
    for count, element in enumerate(root.iter()):
        name = _name(element.tag)
        if count >= _MOST_SHAPES:
            raise UnfitLogo(f"has more than {_MOST_SHAPES} shapes")
        if name not in _SHAPES | _GRADIENTS:
            raise UnfitLogo(f"holds <{name}>; turn texts, pictures and styles into plain shapes")
        for key, value in element.attrib.items():
            if _name(key).lower().startswith("on") or _name(key) == "href" or _REACHES_OUT.search(value):
                raise UnfitLogo(f"refers to something outside by {_name(key)}")
            if not _is_sound(_name(key), value):
                line = text.count("\n", 0, max(text.find(value), 0)) + 1
                raise UnfitLogo(f"holds in line {line} a {_name(key)} that is none, {value[:40]!r}")


def _is_sound(key: str, value: str) -> bool:
    """Whether what places or sizes a shape can be read, and lies within what a logo may measure."""
    if key in _LENGTHS:
        return _LENGTH.fullmatch(value) is not None
    if key in ("viewBox", "points"):
        return _NUMBERS.fullmatch(value) is not None and len(_NUMBER.findall(value)) % 2 == 0
    if key == "d":
        return _PATH.fullmatch(value) is not None
    return key not in ("transform", "gradientTransform") or _TRANSFORM.fullmatch(value) is not None


def _name(tag: Any) -> str:
    return str(tag).rpartition("}")[2]
