"""What the tables of the first form of the pages have to say: values, verdicts and sides at their places.

That form is no longer printed. Its tables of results and of moves stood under fixed captions, a row for each
roll or pair of rolls. A printed number is right where it is the value inside, rounded to its last digit.
"""

import re
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import Any

from certgen.verify.visible_text import Text
from certgen.wording.rounding import MINUS, NOTHING, UNIT_SETS

FORM = 1
# by language, in this order
_KEYS = (
    *("pass", "conditional pass", "conditional fail", "fail", "reference", "not measured", "not adjusted"),
    *("operator", "drive", "level", "parallel", "adjacent level", "adjacent parallel"),
    *("move level", "move parallel", "as_found", "as_left"),
)
_WORDS = {
    "en": (
        *(
            "pass",
            "conditional pass",
            "conditional fail",
            "fail",
            "reference",
            "not measured",
            "not adjusted",
        ),
        *("operator side", "drive side", "Level, positive where the drive side is high"),
        "Parallel to the reference, positive where the drive side lies downstream",
        *("Adjacent rolls, level difference", "Adjacent rolls, parallel difference"),
        *("Level, raise (+) or lower (−)", "Parallel, downstream (+) or upstream (−)"),
        *("The line as found", "The line as left"),
    ),
    "de": (
        *("bestanden", "bedingt bestanden", "bedingt nicht bestanden", "nicht bestanden", "Bezug"),
        *("nicht gemessen", "nicht verstellt", "Bedienseite", "Antriebsseite"),
        "Horizontalität, positiv, wo die Antriebsseite hoch liegt",
        "Parallelität zum Bezug, positiv, wo die Antriebsseite in Bahnlaufrichtung liegt",
        "Benachbarte Walzen, Unterschied der Horizontalität",
        "Benachbarte Walzen, Unterschied der Parallelität",
        "Horizontalität, heben (+) oder senken (−)",
        "Parallelität, in Bahnlaufrichtung (+) oder dagegen (−)",
        *("Die Linie, wie vorgefunden", "Die Linie, wie hinterlassen"),
    ),
    "fr": (
        *("conforme", "conforme sous réserve", "non conforme sous réserve", "non conforme", "référence"),
        *("non mesuré", "non réglé", "côté opérateur", "côté entraînement"),
        "Horizontalité, positive quand le côté entraînement est haut",
        "Parallélisme à la référence, positif quand le côté entraînement est en aval",
        "Rouleaux voisins, différence d'horizontalité",
        "Rouleaux voisins, différence de parallélisme",
        "Horizontalité, lever (+) ou baisser (−)",
        "Parallélisme, vers l'aval (+) ou l'amont (−)",
        *("La ligne telle que trouvée", "La ligne telle que laissée"),
    ),
    "es": (
        *("conforme", "conforme con reservas", "no conforme con reservas", "no conforme", "referencia"),
        *("no medido", "no ajustado", "lado operario", "lado accionamiento"),
        "Horizontalidad, positiva donde el lado accionamiento está alto",
        "Paralelismo con la referencia, positivo donde el lado accionamiento está aguas abajo",
        "Rodillos contiguos, diferencia de horizontalidad",
        "Rodillos contiguos, diferencia de paralelismo",
        "Horizontalidad, subir (+) o bajar (−)",
        "Paralelismo, aguas abajo (+) o aguas arriba (−)",
        *("La línea como se encontró", "La línea como se dejó"),
    ),
}
ROUNDS = ("as_found", "as_left")
_NUMBER = re.compile(rf"[+{MINUS}-]?[0-9]+(?:[.,][0-9]+)?")
_LINE = 2.0  # points within which baselines are one line
_NEXT = 12.5  # points at most from one line of a row to its next


@dataclass(slots=True)
class _Row:
    """The texts of one row of a table, line by line; those of a line from left to right."""

    page: int
    lines: list[list[Text]]

    def numbers(self, line: int) -> list[str]:
        found = self.lines[line] if line < len(self.lines) else []
        return [one.letters for one in found if _NUMBER.fullmatch(one.letters) or one.letters == NOTHING]

    def words(self) -> str:
        """What is no number, cell by cell; the id left out."""
        first = self.lines[0][0]
        cells = [
            one
            for line in self.lines
            for one in line
            if one is not first and not _NUMBER.fullmatch(one.letters) and one.letters != NOTHING
        ]
        cells.sort(key=lambda one: (round(one.x), -one.y))
        return " ".join(one.letters for one in cells)


def odd_places(texts: Sequence[Text], found: Mapping[str, Any], units: str) -> Iterator[str]:
    """Yield what visible texts say otherwise than the results; `units` are those of the pages."""
    language = str(found["printed"].get("language"))
    words = dict(zip(_KEYS, _WORDS.get(language, _WORDS["en"]), strict=True))
    factors = [(one.slope.per_engine_unit, one.small.per_engine_unit) for one in UNIT_SETS[units]]
    checker = _Checker(texts, words, factors)
    yield from checker.overall(found)
    for aspect in ("level", "parallel"):
        rows = [(roll["id"], roll[aspect]) for roll in found["rolls"]]
        yield from checker.table(words[aspect], rows, last=True)
        pairs = [(f"{one['from']} {NOTHING} {one['to']}", one[aspect]) for one in found["adjacent"]]
        yield from checker.table(words[f"adjacent {aspect}"], pairs, last=False)
        moves = [(roll["id"], roll[aspect], roll["moves"][aspect]) for roll in found["rolls"]]
        yield from checker.moves(words[f"move {aspect}"], [one for one in moves if one[2]])


class _Checker:
    """Looks up tables and rows on the pages."""

    def __init__(
        self, texts: Sequence[Text], words: Mapping[str, str], factors: Sequence[tuple[float, float]]
    ) -> None:
        self._texts, self._words, self._factors = texts, words, factors

    def overall(self, found: Mapping[str, Any]) -> Iterator[str]:
        """The boxes on the first page: under each title its verdict."""
        for which in ROUNDS:
            at = [
                i for i, one in enumerate(self._texts) if one.letters == self._words[which] and one.page == 1
            ]
            verdict = self._words.get(found["overall"][which], "")
            said = self._texts[at[0] + 1].letters if at and at[0] + 1 < len(self._texts) else ""
            if said != verdict:
                title = self._words[which]
                yield f"page 1: “{title}”: “{said}” should be “{verdict}”"

    def table(self, caption: str, rows: Sequence[tuple[str, Any]], *, last: bool) -> Iterator[str]:
        """A table of results: for each round slope, over bearings, U, verdict; then change, target, limit."""
        rows = [(name, one) for name, one in rows if one and any(one.get(which) for which in ROUNDS)]
        measured = any(one[w]["verdict"] != "not measured" for _, one in rows for w in ROUNDS if one.get(w))
        for name, one, row in self._rows(caption, rows) if measured else ():
            if row is None:
                yield f"“{caption}”, {name}: this row was not found"
                continue
            yield from self._words_of(row, f"page {row.page}: “{caption}”, {name}", one)
            for line, (slope, small) in enumerate(self._factors):
                expected = list(_values(one, slope, small, last=last))
                if line:  # a dash stands once, whatever the units
                    expected = [value for value in expected if value is not None]
                yield from _numbers(f"page {row.page}: “{caption}”, {name}", row.numbers(line), expected)

    def _words_of(self, row: _Row, place: str, one: Mapping[str, Any]) -> Iterator[str]:
        expected = []
        for which in ROUNDS:
            state = one.get(which) or {"verdict": "not measured"}
            expected.append(self._words[state["verdict"]])
            if state.get("adjusted") is False and state["verdict"] not in ("reference", "not measured"):
                expected.append(self._words["not adjusted"])
        if row.words() != " ".join(expected):
            yield f"{place}: “{row.words()}” should be “{' '.join(expected)}”"

    def moves(self, caption: str, rows: Sequence[tuple[str, Any, Any]]) -> Iterator[str]:
        """The table of moves: side and amount from as found, then side and amount of what remains."""
        sides = {self._words[side]: side for side in ("operator", "drive")}
        for name, (aspect, move), row in self._rows(caption, [(one[0], one[1:]) for one in rows]):
            if row is None:
                yield f"“{caption}”, {name}: this row was not found"
                continue
            place = f"page {row.page}: “{caption}”, {name}"
            said = list(_sided(row, sides))
            small = self._factors[0][1]
            amount = move.get("up_mm", move.get("downstream_mm"))
            if not said or said[-1][0] != move["side"]:
                yield f"{place}: the side is not {self._words[move['side']]}"
                continue
            yield from _numbers(place, [said[-1][1]], [amount * small])
            error = _over(aspect.get("as_found"))
            if len(said) > 1 and error is not None:
                up = -error if said[0][0] == "drive" else error
                yield from _numbers(place, [said[0][1]], [up * small])

    def _rows(
        self, caption: str, wanted: Sequence[tuple[str, Any]]
    ) -> Iterator[tuple[str, Any, _Row | None]]:
        """The rows of a table, each with what it is to say; they follow the caption in their order."""
        found = self._below(caption, [name for name, _ in wanted])
        for at, (name, one) in enumerate(wanted):
            yield name, one, found[at] if at < len(found) else None

    def _stands(self, caption: str, at: int) -> bool:
        """Whether a caption begins at a text, and goes on in those that follow, to its last word."""
        rest = caption
        for one in self._texts[at : at + 4]:
            if not one.letters.strip() or not rest.startswith(one.letters.strip()):
                return False
            rest = rest[len(one.letters.strip()) :].lstrip()
            if not rest:
                return True
        return False

    def _below(self, caption: str, names: Sequence[str]) -> list[_Row]:
        """The rows that begin with these names, one after the other, below the first line of a caption."""
        start = next((i for i in range(len(self._texts)) if self._stands(caption, i)), None)
        lines = [] if start is None else list(_lines(self._texts[start + 1 :]))
        rows: list[_Row] = []
        for line in lines:
            first = line[0]
            if len(rows) < len(names) and first.letters == names[len(rows)]:
                rows.append(_Row(first.page, [line]))
            elif rows and _goes_on(rows[-1], line):
                rows[-1].lines.append(line)
            elif len(rows) == len(names):
                break
        return rows


def _lines(texts: Sequence[Text]) -> Iterator[list[Text]]:
    """Texts of one height, in the order of drawing of their pages, from top to bottom and left to right."""
    last = texts[-1].page if texts else 0
    for page in range(texts[0].page if texts else 1, last + 1):
        on_page = sorted((one for one in texts if one.page == page), key=lambda one: -one.y)
        line: list[Text] = []
        for one in on_page:
            if line and line[0].y - one.y > _LINE:
                yield sorted(line, key=lambda text: text.x)
                line = []
            line.append(one)
        if line:
            yield sorted(line, key=lambda text: text.x)


def _goes_on(row: _Row, line: list[Text]) -> bool:
    above = row.lines[-1][0]
    near = line[0].page == row.page and 0.0 < above.y - line[0].y <= _NEXT
    return near and line[0].x > row.lines[0][0].x + 3.0


def _values(one: Mapping[str, Any], slope: float, small: float, *, last: bool) -> Iterator[float | None]:
    for which in ROUNDS:
        state = one.get(which) or {}
        yield _times(state.get("slope_mm_per_m"), slope)
        yield _times(state.get("over_bearings_mm"), small)
        yield _times(state.get("U_mm_per_m"), slope)
    left = one.get("as_left") or {}
    if last:
        change = one.get("change") or {}
        yield _times(change.get("slope_mm_per_m"), slope)
        yield _times(left.get("target_mm_per_m"), slope)
    yield _times(left.get("limit_mm_per_m"), slope)


def _times(value: float | None, factor: float) -> float | None:
    return None if value is None else value * factor


def _numbers(place: str, said: Sequence[str], expected: Sequence[float | None]) -> Iterator[str]:
    """Each number to its last digit; the column of targets is there only where there are some."""
    if len(said) == len(expected) - 1 and len(expected) > 2:
        expected = [*expected[:-2], expected[-1]]
    if len(said) != len(expected):
        yield f"{place}: {len(said)} numbers stand where {len(expected)} should"
        return
    for text, value in zip(said, expected, strict=True):
        if not _is(text, value):
            told = NOTHING if value is None else f"{value:.6g}"
            yield f"{place}: “{text}” should be {told}"


def _is(text: str, value: float | None) -> bool:
    """Whether a printed number is the value, rounded to the last digit that is printed."""
    if value is None or text == NOTHING:
        return value is None and text == NOTHING
    plain = text.replace(",", ".").replace(MINUS, "-")
    places = len(plain.partition(".")[2])
    return abs(float(plain) - value) <= 0.5000001 * 10.0**-places


def _sided(row: _Row, sides: Mapping[str, str]) -> Iterator[tuple[str, str]]:
    """Each side in the first line of a row, with the number that follows it."""
    line = row.lines[0]
    for one, after in pairwise(line):
        if one.letters in sides:
            yield sides[one.letters], after.letters


def _over(state: Mapping[str, Any] | None) -> float | None:
    """The error over the bearings in mm; None where a slope of nothing does not tell their distance."""
    if not state or not state.get("slope_mm_per_m"):
        return None
    return float(state["error_mm_per_m"] * state["over_bearings_mm"] / state["slope_mm_per_m"])
