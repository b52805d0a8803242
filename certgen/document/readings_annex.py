"""The readings as taken, every one by its setup in order, with what the adjustment made of it.

Residual and w are those of W. Baarda, "A testing procedure for use in geodetic networks" (1968), as in
certgen/network/reliability.py; the share that is checked is the redundancy number of the reading.
"""

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from itertools import zip_longest

from certgen.assessment.assessment import Assessment
from certgen.document.content import Block, Column, Paragraphs, Table
from certgen.network.reliability import CHECKED
from certgen.network.solution import Aspect
from certgen.survey.survey import (
    ROUNDS,
    HeightReading,
    RollReading,
    Round,
    Setup,
    SlopeReading,
)
from certgen.wording.rounding import UNIT_SETS, Unit, fixed
from certgen.wording.wording import Wording

_ALIKE = 1e-9  # mm, by which the residuals at both ends of a seating differ from each other's opposite
_PLACES = {"mm": 3, "thou": 1, "mm/m": 4, "thou/ft": 3}


# where a reading stands in the survey, its side or way round, and why it is set aside
_Place = tuple[str, str | None, str | None]
_ENDS, _WAYS = ("operator_mark", "drive_mark"), ("reading_direct", "reading_turned")


@dataclass(frozen=True, slots=True)
class _Found:
    """What the adjustment made of one reading: residual in its own unit (fitted less read), w, redundancy."""

    residual: float
    w: float
    redundancy: float


@dataclass(frozen=True, slots=True)
class _Printer:
    """What turns readings into cells: the adjustment by place in the survey and side, unit, sign, words."""

    found: Mapping[tuple[str, str | None], _Found]
    unit: Unit
    sign: float
    wording: Wording

    def number(self, value: float, more: int = 0) -> str:
        """Return a reading in the survey's sign; a residual has one place more."""
        places = _PLACES[self.unit.sign] + more
        text = fixed(self.sign * value * self.unit.per_engine_unit, places, signed=True)
        return self.wording.digits.written(text)

    def adjusted(self, readings: Sequence[_Place]) -> tuple[str, str, str]:
        """Return residual, w and how far it is checked, of one reading or of two that belong together.

        Of two it is that of the second, the first being its opposite; both where it is not.
        """
        if any(exclude is not None for _, _, exclude in readings):
            return "", "", self.wording.word("reading_set_aside")
        found = [self.found[where, side] for where, side, _ in readings]
        last = found[-1]
        if last.redundancy < CHECKED:
            return "", "", self.wording.word("reading_alone")
        apart = len(found) > 1 and abs(found[0].residual + last.residual) > _ALIKE
        shown = found if apart else [last]
        return (
            " / ".join(self.number(one.residual, 1) for one in shown),
            " / ".join(self.wording.digits.fixed(self.sign * one.w, 2, signed=True) for one in shown),
            f"{self.wording.digits.fixed(100.0 * last.redundancy, 0)} %",
        )


def readings_blocks(assessment: Assessment, wording: Wording) -> Iterator[Block]:
    """Yield what the annex says of its columns, then the readings of every setup and of the level."""
    survey = assessment.survey
    units = UNIT_SETS[survey.certificate.units][0]
    yield Paragraphs((wording.word("readings_intro", small=units.small.sign, slope=units.slope.sign),))
    rolls = _Printer(_adjusted(assessment.solution.parallel), units.small, survey.positive.roll_sign, wording)
    marks = _Printer(rolls.found, units.small, survey.positive.monument_sign, wording)
    for setup in survey.setups:
        yield from _setup(setup, rolls)
    if any(setup.monuments for setup in survey.setups):
        yield _monuments(survey.setups, marks)
    if survey.level is not None:
        found = _adjusted(assessment.solution.level)
        slopes = _Printer(found, units.slope, 1.0, wording)
        heights = _Printer(found, units.small, 1.0, wording)
        title = wording.word("readings_level", instrument=survey.level.instrument)
        yield from _table(title, _slopes(survey.level.slopes, slopes), slopes, _WAYS)
        yield from _table(title, _seatings(survey.level.heights, heights), heights, _ENDS)


def _adjusted(aspect: Aspect | None) -> Mapping[tuple[str, str | None], _Found]:
    if aspect is None:
        return {}
    quality = aspect.quality
    numbers = zip(
        aspect.network.observations, quality.residuals.residual, quality.w, quality.redundancy, strict=True
    )
    return {
        (one.label.where, one.label.side): _Found(float(residual), float(w), float(redundancy))
        for one, residual, w, redundancy in numbers
        if one.label.source != "prior"
    }


def _setup(setup: Setup, rolls: _Printer) -> Iterator[Table]:
    wording = rolls.wording
    day = "" if setup.day is None else f", {wording.date(setup.day)}"
    title = wording.word("readings_setup", setup=f"{setup.id}{day}", instrument=setup.instrument)
    yield from _table(title, _seatings(setup.readings, rolls), rolls, _ENDS)


Seating = RollReading | HeightReading
_ByRoll = Mapping[str, Mapping[Round, list[tuple[str, ...]]]]


def _seatings(readings: Iterable[Seating], printer: _Printer) -> _ByRoll:
    """The cells of every seating by roll and round, in the order taken."""
    found: dict[str, dict[Round, list[tuple[str, ...]]]] = {}
    for one in readings:
        ends = zip((one.operator_mm, one.drive_mm), one.repeats, strict=True)
        texts = [
            printer.number(value)
            + (f" ({printer.wording.word('reading_mean', count=count)})" if count > 1 else "")
            for value, count in ends
        ]
        sides = [(one.where, side, one.exclude) for side in ("operator", "drive")]
        cells = (*texts, *printer.adjusted(sides))
        found.setdefault(one.roll, {}).setdefault(one.round, []).append(cells)
    return found


def _slopes(readings: Iterable[SlopeReading], printer: _Printer) -> _ByRoll:
    """The cells of every place that the level was read at, both ways round where it was turned there."""
    pairs: dict[tuple[str, Round, float], list[list[SlopeReading]]] = {}
    for one in readings:
        rows = pairs.setdefault((one.roll, one.round, one.at_mm), [])
        if rows and len(rows[-1]) == 1 and rows[-1][0].reversed != one.reversed:
            rows[-1].append(one)
        else:
            rows.append([one])
    found: dict[str, dict[Round, list[tuple[str, ...]]]] = {}
    for (roll, which, _), rows in pairs.items():
        for row in rows:
            ways = sorted(row, key=lambda one: one.reversed)
            texts = {one.reversed: printer.number(one.slope_mm_per_m) for one in ways}
            sides = [(one.where, "reversed" if one.reversed else "direct", one.exclude) for one in ways]
            cells = (texts.get(False, ""), texts.get(True, ""), *printer.adjusted(sides))
            found.setdefault(roll, {}).setdefault(which, []).append(cells)
    return found


def _table(title: str, by_roll: _ByRoll, printer: _Printer, firsts: tuple[str, str]) -> Iterator[Table]:
    """As found beside as left, a row for each reading of a roll; a round that nobody read has no columns."""
    if not by_roll:
        return
    rounds = [which for which in ROUNDS if any(which in one for one in by_roll.values())]
    word, sign = printer.wording.word, printer.unit.sign
    columns = [Column(word("roll"), "left", share=0.8)]
    for which in rounds:
        group = word(which)
        columns += [Column(word(key), "right", group, 1.0, sign) for key in (*firsts, "residual")]
        columns += [Column("w", "right", group, 0.7), Column(word("reading_checked"), "right", group, 0.9)]
    rows = []
    for roll, by_round in by_roll.items():
        lists = [by_round.get(which, []) for which in rounds]
        for number, parts in enumerate(zip_longest(*lists, fillvalue=("",) * 5)):
            name = roll if number == 0 else f"{roll} {word('reading_again')}"
            rows.append((name, *(cell for part in parts for cell in part)))
    yield Table(title, tuple(columns), tuple(rows))


def _monuments(setups: Sequence[Setup], printer: _Printer) -> Table:
    """The readings of the monuments, by setup in the order in which they were taken."""
    word, rows = printer.wording.word, []
    for setup in setups:
        seen: set[str] = set()
        for one in setup.monuments:
            name = f"{one.monument} {word('reading_again')}" if one.monument in seen else one.monument
            seen.add(one.monument)
            shown = printer.adjusted([(one.where, None, one.exclude)])
            rows.append((setup.id, name, printer.number(one.value_mm), *shown))
    columns = (
        Column(word("setup"), "left"),
        Column(word("monument"), "left", share=1.6),
        Column(word("reading"), "right", unit=printer.unit.sign),
        Column(word("residual"), "right", unit=printer.unit.sign),
        Column("w", "right", share=0.7),
        Column(word("reading_checked"), "right", share=0.9),
    )
    return Table(word("readings_monuments"), columns, tuple(rows))
