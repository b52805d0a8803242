"""What can be seen on a page: every text with its place, unless it is hidden (ISO 32000-1:2008, 8 and 9).

A page of a certificate is drawn with few operators. Any other one is named and refused, such as those that
make text invisible or squeeze it. A text counts as hidden where it is as pale as what lies under it, too
small to be read, off the page, clipped away, or under something that is drawn later.
"""

import re
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from typing import Any

from certgen.verify.page_geometry import (
    Matrix,
    Point,
    curve_points,
    is_inside,
    line_bands,
    matrix_of,
    moved,
    times,
    within,
)
from certgen.verify.pdf_objects import Revision, Stream

MOST_CONTENT = 40_000_000  # bytes of all pages that are read in this way; a thousand rolls take 15 million
_LEAST_SIZE = 3.5  # points; the smallest letters of a certificate are larger
_LEAST_CONTRAST = 1.6
_WIDE_LINE = 1.6  # points: a narrower line hides no letter, unless it is as pale as the paper
_PALE = 2.0  # points: what lines as pale as the paper count as, for many of them may lie side by side
_LETTERHEAD = 125.0  # points from the top of the first page, where a logo may stand
_WHITE, _BLACK = (1.0, 1.0, 1.0), (0.0, 0.0, 0.0)
_TOKEN = re.compile(
    rb"[\x00\t\n\x0c\r ]*+(?:\((?P<text>(?:[^()\\]++|\\.)*+)\)|/(?P<name>[^\x00\t\n\x0c\r ()<>\[\]{}/%]++)"
    rb"|(?P<number>[+-]?(?:[0-9]{1,15}(?:\.[0-9]*+)?|\.[0-9]++))(?=[\x00\t\n\x0c\r \[\]/(<]|\Z)"
    rb"|(?P<bracket>\[|\]|<<|>>)|(?P<word>[A-Za-z'\"][A-Za-z0-9*]*+)|(?P<end>\Z))",
    re.DOTALL,
)
_ESCAPE = re.compile(rb"\\([0-7]{1,3}|\r\n|.)", re.DOTALL)
_ESCAPED = {
    b"n": b"\n",
    b"r": b"\r",
    b"t": b"\t",
    b"b": b"\b",
    b"f": b"\f",
    b"\n": b"",
    b"\r": b"",
    b"\r\n": b"",
}
_MAPPED = re.compile(rb"<([0-9A-Fa-f]{2})> <((?:[0-9A-Fa-f]{4})+)>\n")

Colour = tuple[float, ...]


@dataclass(slots=True)
class Text:
    """A text on a page (from 1): its letters, begin and end of its baseline, its size, what hides it.

    It stands `aside` where it is an artifact, which is not read aloud (14.8.2.2).
    """

    page: int
    letters: str
    x: float
    y: float
    end: float
    size: float
    hidden: str = ""
    aside: bool = False
    middles: list[Point] = field(default_factory=list)  # of its letters


@dataclass(frozen=True, slots=True)
class Font:
    """What the codes of a font stand for, and how wide they are in thousandths of the size."""

    letters: Mapping[int, str]
    widths: Mapping[int, float]


@dataclass(slots=True)
class _State:
    ctm: Matrix = (1.0, 0.0, 0.0, 1.0, 0.0, 0.0)
    fill: Colour = _BLACK
    line: Colour = _BLACK
    width: float = 1.0
    font: Font | None = None
    size: float = 0.0
    leading: float = 0.0
    cap: float = 0.0
    word_space: float = 0.0
    letter_space: float = 0.0
    clip: tuple[float, float, float, float] | None = None


@dataclass(frozen=True, slots=True)
class _Shape:
    """What was painted, as far as it is not clipped away."""

    paths: list[list[Point]]
    clip: tuple[float, float, float, float] | None

    def covers(self, point: Point) -> bool:
        """Whether a point lies within one of the paths, each closed."""
        return (self.clip is None or within(point, self.clip)) and any(
            is_inside(path, point) for path in self.paths
        )


class Unreadable(ValueError):
    """The page holds something that no page of a certificate holds; the message names it."""


def visible(file: Revision) -> tuple[list[Text], list[str]]:
    """Return the texts of all pages as they are drawn, hidden ones too, and what is odd about the pages."""
    texts: list[Text] = []
    odd: list[str] = []
    fonts: dict[int, Font] = {}
    pages = file.pages()
    if sum(_length(file, page) for page in pages) > MOST_CONTENT:
        return [], [f"pages hold more than {MOST_CONTENT // 1_000_000} MB, too much to be read here"]
    for number, page in enumerate(pages, 1):
        sheet = _Sheet(number, _box(page), _Fonts(file, page, fonts))
        try:
            sheet.read(_content(file, page))
        except Unreadable as error:
            odd.append(f"page {number}: {error}")
        texts += sheet.texts
    return texts, odd


def _length(file: Revision, page: Mapping[str, Any]) -> int:
    found = file.at(page.get("Contents"))
    return found.length if isinstance(found, Stream) else 0


def _content(file: Revision, page: Mapping[str, Any]) -> bytes:
    found = file.at(page.get("Contents"))
    if not isinstance(found, Stream):
        raise Unreadable("its content is not one stream")
    return found.data


def _box(page: Mapping[str, Any]) -> tuple[float, float, float, float]:
    found = page.get("MediaBox")
    if (
        not isinstance(found, list)
        or len(found) != 4
        or not all(isinstance(one, int | float) for one in found)
    ):
        return 0.0, 0.0, 0.0, 0.0
    return float(found[0]), float(found[1]), float(found[2]), float(found[3])


class _Fonts:
    """The fonts of a page by name, each read once for the whole file."""

    def __init__(self, file: Revision, page: Mapping[str, Any], known: dict[int, Font]) -> None:
        resources = file.at(page.get("Resources"))
        found = file.at(resources.get("Font")) if isinstance(resources, dict) else None
        self._file, self._known = file, known
        self._named: dict[str, Any] = found if isinstance(found, dict) else {}

    def __getitem__(self, name: str) -> Font:
        reference = self._named.get(name)
        number = getattr(reference, "number", -1)
        if number not in self._known:
            font = self._file.at(reference)
            if not isinstance(font, dict):
                raise Unreadable(f"a text is set in a font that is missing, {name:.40}")
            self._known[number] = _font(self._file, font)
        return self._known[number]


def _font(file: Revision, font: Mapping[str, Any]) -> Font:
    widths = file.at(font.get("Widths"))
    first = font.get("FirstChar")
    known = {
        first + at: float(width)
        for at, width in enumerate(widths if isinstance(widths, list) else ())
        if isinstance(first, int) and isinstance(width, int | float)
    }
    return Font(letters_of(file, font), known)


def letters_of(file: Revision, font: Mapping[str, Any]) -> dict[int, str]:
    """Return the letters of a font's codes, by its own table (9.10.3), as the drawing library writes it."""
    stream = file.at(font.get("ToUnicode"))
    table = stream.data if isinstance(stream, Stream) else b""
    start = table.find(b"beginbfchar\n")
    pairs = _MAPPED.findall(table, max(start, 0), table.find(b"endbfchar") + 1) if start >= 0 else []
    return {int(code, 16): bytes.fromhex(one.decode()).decode("utf-16-be", "replace") for code, one in pairs}


class _Sheet:
    """A page while it is read: what stands on it so far."""

    def __init__(self, page: int, box: tuple[float, float, float, float], fonts: _Fonts) -> None:
        self.texts: list[Text] = []
        self._page, self._box, self._fonts = page, box, fonts
        self._state, self._kept = _State(), list[_State]()
        self._line: Matrix = _State().ctm
        self._marked = self._aside = False
        self._after = 0.0  # how far texts of the line have come
        self._paths: list[list[Point]] = []
        self._clips = False
        self._pictures: list[list[Point]] = []
        self._painted: list[tuple[_Shape, Colour]] = []
        self._operators = _operators(self)

    def read(self, content: bytes) -> None:
        """Go through the operators; Unreadable at the first that no certificate has."""
        at, operands = 0, list[Any]()
        while (token := _TOKEN.match(content, at)) is not None and token["end"] is None:
            at = token.end()
            if token["word"] is None:
                operands.append(_operand(token))
                if len(operands) > 64:
                    break
                continue
            operator = self._operators.get(token["word"])
            if operator is None:
                raise Unreadable(
                    f"the operator {token['word'].decode():.20} stands on no page of a certificate"
                )
            try:
                operator(*operands)
            except (TypeError, ValueError, OverflowError) as error:
                if isinstance(error, Unreadable):
                    raise
                raise Unreadable(f"the operator {token['word'].decode():.20} is used wrongly") from None
            operands.clear()
        if token is None or token["end"] is None:
            raise Unreadable("something in its content is no drawing")

    def begin_artifact(self, role: str) -> None:
        if role != "Artifact":
            raise Unreadable("something is marked otherwise than certgen marks it")
        self._begin_marked()
        self._aside = True

    def begin_content(self, _role: str, *stated: Any) -> None:
        """Content of an element: its number, and no other words than those drawn (14.9.4)."""
        if len(stated) != 4 or stated[:2] != ("<<", "MCID") or stated[3] != ">>":
            raise Unreadable("something is marked otherwise than certgen marks it")
        self._begin_marked()

    def _begin_marked(self) -> None:
        if self._marked:
            raise Unreadable("marks of content stand within each other")
        self._marked = True

    def end_content(self) -> None:
        if not self._marked:
            raise Unreadable("a mark of content ends that was never begun")
        self._marked = self._aside = False

    def keep(self) -> None:
        if len(self._kept) > 60:
            raise Unreadable("its drawing is nested too deeply")
        now = self._state
        self._kept.append(_State(**{name: getattr(now, name) for name in _State.__dataclass_fields__}))

    def back(self) -> None:
        if self._kept:
            self._state = self._kept.pop()

    def change(self, *matrix: float) -> None:
        self._state.ctm = times(matrix_of(matrix), self._state.ctm)

    def set(self, **values: Any) -> None:
        for name, value in values.items():
            setattr(self._state, name, value)

    def select(self, name: str, size: float) -> None:
        self._state.font, self._state.size = self._fonts[name], float(size)

    def begin_text(self) -> None:
        self._line, self._after = (1.0, 0.0, 0.0, 1.0, 0.0, 0.0), 0.0

    def place_text(self, *matrix: float) -> None:
        self._line, self._after = matrix_of(matrix), 0.0

    def move_text(self, x: float, y: float) -> None:
        self._line, self._after = times((1.0, 0.0, 0.0, 1.0, float(x), float(y)), self._line), 0.0

    def next_line(self) -> None:
        self.move_text(0.0, -self._state.leading)

    def show(self, text: bytes) -> None:
        state = self._state
        if state.font is None:
            raise Unreadable("a text is set in no font")
        matrix = times(self._line, state.ctm)
        at, letters, middles = self._after, [], []
        for code in _unescaped(text):
            width = state.font.widths.get(code, 0.0) / 1000.0 * state.size + state.letter_space
            width += state.word_space if code == 32 else 0.0
            letters.append(state.font.letters.get(code, "\N{REPLACEMENT CHARACTER}"))
            middles.append(moved(matrix, at + width / 2.0, state.size * 0.25))
            at += width
        (x, y), (end, _) = moved(matrix, self._after, 0.0), moved(matrix, at, 0.0)
        size = state.size * min(abs(matrix[0]) + abs(matrix[1]), abs(matrix[2]) + abs(matrix[3]))
        found = Text(self._page, "".join(letters), x, y, end, size, "", self._aside, middles)
        found.hidden = self._hidden(found)
        if found.letters.strip():
            self.texts.append(found)
        self._after = at

    def _hidden(self, text: Text) -> str:
        state, (left, bottom, right, top) = self._state, self._box
        if abs(text.size) < _LEAST_SIZE:
            return "it is too small to be read"
        if not all(left <= x <= right and bottom <= y <= top for x, y in text.middles):
            return "it stands off the page"
        if state.clip is not None and not all(within(one, state.clip) for one in text.middles):
            return "it is clipped away"
        if any(is_inside(picture, one) for picture in self._pictures for one in text.middles):
            return "it stands on a picture"
        for middle in text.middles:
            under = next(
                (colour for shape, colour in reversed(self._painted) if shape.covers(middle)), _WHITE
            )
            if _contrast(state.fill, under) < _LEAST_CONTRAST:
                return "it is as pale as what lies under it"
        return ""

    def path(self, x: float, y: float) -> None:
        self._paths.append([moved(self._state.ctm, float(x), float(y))])

    def line_to(self, *numbers: float) -> None:
        if not self._paths:
            raise Unreadable("a line begins nowhere")
        for x, y in zip(numbers[::2], numbers[1::2], strict=True):
            self._paths[-1].append(moved(self._state.ctm, float(x), float(y)))

    def close(self) -> None:
        if self._paths:
            self._paths[-1].append(self._paths[-1][0])

    def curve(self, *numbers: float) -> None:
        if not self._paths:
            raise Unreadable("a curve begins nowhere")
        one, two, end = (moved(self._state.ctm, *numbers[i : i + 2]) for i in (0, 2, 4))
        self._paths[-1] += curve_points((self._paths[-1][-1], one, two, end))

    def rectangle(self, x: float, y: float, width: float, height: float) -> None:
        if self._state.clip is None and self._paths:
            raise Unreadable("more than one rectangle bounds what is drawn")
        self.path(x, y)
        self.line_to(x + width, y, x + width, y + height, x, y + height)

    def paint(self, *, fill: bool, stroke: bool) -> None:
        """Fill or draw the path: what it covers of earlier texts is hidden."""
        if self._state.clip is None and fill and len(self._paths) > 1:
            raise Unreadable("more than one shape is filled at once")
        if fill:
            self._cover(self._paths, self._state.fill)
        if stroke:
            scale = max(abs(number) for number in self._state.ctm[:4])
            width = self._state.width * scale
            pale = _contrast(self._state.line, _WHITE) < _LEAST_CONTRAST
            if width >= _WIDE_LINE or pale:
                cap = width / 2.0 * self._state.cap
                bands = [
                    band
                    for path in self._paths
                    for band in line_bands(path, max(width, _PALE) if pale else width, cap)
                ]
                self._cover(bands, self._state.line)
        if self._clips:
            self._clip()
        self._paths, self._clips = [], False

    def paint_logo(self) -> None:
        """Fill by winding, as a logo does: taken to cover all of the logo's place, and nowhere else."""
        clip, (left, _, right, top) = self._state.clip, self._box
        if clip is None or self._page != 1 or clip[0] < (left + right) / 2.0 or clip[1] < top - _LETTERHEAD:
            raise Unreadable("a filling of a logo stands elsewhere than in the letterhead")
        low, high = clip[:2], clip[2:]
        self._cover([[low, (high[0], low[1]), high, (low[0], high[1])]], self._state.fill)
        self._paths, self._clips = [], False

    def clip(self) -> None:
        self._clips = True

    def _clip(self) -> None:
        if len(self._paths) != 1 or len(self._paths[0]) != 4:
            raise Unreadable("something else than one rectangle bounds what is drawn")
        xs = [x for path in self._paths for x, _ in path] or [0.0]
        ys = [y for path in self._paths for _, y in path] or [0.0]
        box, now = (min(xs), min(ys), max(xs), max(ys)), self._state.clip
        if now is not None:
            box = (max(box[0], now[0]), max(box[1], now[1]), min(box[2], now[2]), min(box[3], now[3]))
        self._state.clip = box

    def picture(self, _name: str) -> None:
        corners = [moved(self._state.ctm, x, y) for x, y in ((0, 0), (1, 0), (1, 1), (0, 1))]
        left, _, right, top = self._box
        if self._page != 1 or any(x < (left + right) / 2.0 or y < top - _LETTERHEAD for x, y in corners):
            raise Unreadable("a picture stands elsewhere than in the letterhead")
        self._pictures.append(corners)
        self._cover([corners], (0.5, 0.5, 0.5))

    def _cover(self, paths: list[list[Point]], colour: Colour) -> None:
        shape = _Shape([path for path in paths if len(path) > 2], self._state.clip)
        if not shape.paths:
            return
        for text in self.texts:
            if not text.hidden and any(shape.covers(middle) for middle in text.middles):
                text.hidden = "something was drawn over it"
        self._painted.append((shape, colour))


def _operators(sheet: _Sheet) -> dict[bytes, Callable[..., None]]:
    """Every operator that a page of a certificate may hold (ISO 32000-1:2008, annex A)."""

    def nothing(*_: Any) -> None:
        """What changes neither what is seen nor where."""

    def grey(name: str) -> Callable[[float], None]:
        return lambda level: sheet.set(**{name: (float(level),) * 3})

    def rgb(name: str) -> Callable[[float, float, float], None]:
        return lambda r, g, b: sheet.set(**{name: (float(r), float(g), float(b))})

    def painted(fill: bool, stroke: bool) -> Callable[[], None]:
        return lambda: sheet.paint(fill=fill, stroke=stroke)

    return {
        **dict.fromkeys((b"j", b"M", b"d", b"ET"), nothing),
        b"BMC": sheet.begin_artifact,
        b"BDC": sheet.begin_content,
        b"EMC": sheet.end_content,
        b"J": lambda cap: sheet.set(cap=1.0 if cap else 0.0),
        b"h": sheet.close,
        b"f": sheet.paint_logo,
        b"B": sheet.paint_logo,
        b"f*": painted(True, False),
        b"B*": painted(True, True),
        b"S": painted(False, True),
        b"W": sheet.clip,
        b"W*": sheet.clip,
        b"n": painted(False, False),
        b"q": sheet.keep,
        b"Q": sheet.back,
        b"cm": sheet.change,
        b"w": lambda width: sheet.set(width=float(width)),
        b"g": grey("fill"),
        b"G": grey("line"),
        b"rg": rgb("fill"),
        b"RG": rgb("line"),
        b"m": sheet.path,
        b"l": sheet.line_to,
        b"c": sheet.curve,
        b"re": sheet.rectangle,
        b"BT": sheet.begin_text,
        b"Tf": sheet.select,
        b"Tm": sheet.place_text,
        b"Td": sheet.move_text,
        b"T*": sheet.next_line,
        b"Tj": sheet.show,
        b"TL": lambda leading: sheet.set(leading=float(leading)),
        b"Tw": lambda space: sheet.set(word_space=float(space)),
        b"Tc": lambda space: sheet.set(letter_space=float(space)),
        b"Do": sheet.picture,
    }


def _operand(token: re.Match[bytes]) -> Any:
    if token["number"] is not None:
        return float(token["number"])
    if token["name"] is not None:
        return token["name"].decode("latin-1")
    return token["bracket"].decode() if token["bracket"] is not None else token["text"]


def _unescaped(text: bytes) -> bytes:
    def one(found: re.Match[bytes]) -> bytes:
        sign = found[1]
        return bytes([int(sign, 8) & 255]) if sign[:1].isdigit() else _ESCAPED.get(sign, sign)

    return _ESCAPE.sub(one, text)


def _contrast(one: Colour, other: Colour) -> float:
    """The contrast of two colours, 1 to 21 (WCAG 2.2)."""
    light, dark = sorted((_luminance(one), _luminance(other)), reverse=True)
    return (light + 0.05) / (dark + 0.05)


def _luminance(colour: Colour) -> float:
    parts = [min(max(part, 0.0), 1.0) for part in colour]
    red, green, blue = (
        part / 12.92 if part <= 0.04045 else ((part + 0.055) / 1.055) ** 2.4 for part in parts
    )
    return 0.2126 * red + 0.7152 * green + 0.0722 * blue
