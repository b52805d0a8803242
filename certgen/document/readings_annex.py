"""The readings as taken, every one by its setup in order, with what the adjustment made of it.

Residual and w are those of W. Baarda, "A testing procedure for use in geodetic networks" (1968), as in
certgen/network/reliability.py; the share that is checked is the redundancy number of the reading.
"""

from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from itertools import zip_longest

from certgen.assessment.assessment import Assessment
from certgen.document.content import Block, Column, Paragraphs, Table
from certgen.network.reliability import CHECKED
from certgen.network.solution import Aspect
from certgen.survey.survey import (
    ROUNDS,
    HeightReading,
    MonumentReading,
    RollReading,
    Round,
    Setup,
    SlopeReading,
)
from certgen.wording.rounding import UNIT_SETS, Unit, fixed
from certgen.wording.wording import Wording

_ALIKE = 1e-9  # mm, by which the residuals at both ends of a seating differ from each other's opposite
_PLACES = {"mm": 3, "thou": 1, "mm/m": 4, "thou/ft": 3}


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

    def adjusted(self, where: str, sides: Sequence[str | None], exclude: str | None) -> tuple[str, str, str]:
        """Return residual, w and how far it is checked; a seating by its drive side, both where they differ."""
        if exclude is not None:
            return "", "", self.wording.word("reading_set_aside")
        ends = [self.found[where, side] for side in sides]
        last = ends[-1]
        if last.redundancy < CHECKED:
            return "", "", self.wording.word("reading_alone")
        apart = len(ends) > 1 and abs(ends[0].residual + last.residual) > _ALIKE
        shown = ends if apart else [last]
        return (
            "\n".join(self.number(one.residual, 1) for one in shown),
            "\n".join(self.wording.digits.fixed(self.sign * one.w, 2, signed=True) for one in shown),
            f"{self.wording.digits.fixed(100.0 * last.redundancy, 0)} %",
        )


def readings_blocks(assessment: Assessment, wording: Wording) -> Iterator[Block]:
    """Yield what the annex says of its columns, then the readings of every setup and of the level."""
    survey = assessment.survey
    units = UNIT_SETS[survey.certificate.units][0]
    yield Paragraphs((wording.word("readings_intro", small=units.small.sign, slope=units.slope.sign),))
    rolls = _Printer(
        _adjusted(assessment.solution.parallel), units.small, survey.positive.roll_sign, wording
    )
    marks = _Printer(rolls.found, units.small, survey.positive.monument_sign, wording)
    for setup in survey.setups:
        yield from _setup(setup, rolls, marks)
    if survey.level is not None:
        found = _adjusted(assessment.solution.level)
        slopes = _Printer(found, units.slope, 1.0, wording)
        heights = _Printer(found, units.small, 1.0, wording)
        title = wording.word("readings_level", instrument=survey.level.instrument)
        yield from _table(title, _by_roll(survey.level.slopes), slopes, _slope)
        yield from _table(title, _by_roll(survey.level.heights), heights, _seating)


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


def _setup(setup: Setup, rolls: _Printer, marks: _Printer) -> Iterator[Table]:
    wording = rolls.wording
    day = "" if setup.day is None else f", {wording.date(setup.day)}"
    title = wording.word("readings_setup", setup=f"{setup.id}{day}", instrument=setup.instrument)
    yield from _table(title, _by_roll(setup.readings), rolls, _seating)
    if setup.monuments:
        yield _monuments(wording.word("readings_monuments", setup=setup.id), setup.monuments, marks)


Reading = RollReading | HeightReading | SlopeReading
_Cells = Callable[[Reading, _Printer], tuple[str, ...]]
_ByRoll = Mapping[str, Mapping[Round, list[Reading]]]


def _by_roll(readings: Iterable[Reading]) -> _ByRoll:
    """Readings by roll, then by round, in the order taken."""
    found: dict[str, dict[Round, list[Reading]]] = {}
    for reading in readings:
        found.setdefault(reading.roll, {}).setdefault(reading.round, []).append(reading)
    return found


def _seating(reading: Reading, printer: _Printer) -> tuple[str, ...]:
    """The readings at both ends; how many were averaged, where there were several."""
    assert isinstance(reading, RollReading | HeightReading)  # noqa: S101  # by who calls it
    ends = (printer.number(reading.operator_mm), printer.number(reading.drive_mm))
    counts = [f" ({printer.wording.word('reading_mean', count=n)})" if n > 1 else "" for n in reading.repeats]
    texts = tuple(f"{end}{count}" for end, count in zip(ends, counts, strict=True))
    return (*texts, *printer.adjusted(reading.where, ("operator", "drive"), reading.exclude))


def _slope(reading: Reading, printer: _Printer) -> tuple[str, ...]:
    """Which way round the level lay, and what it read."""
    assert isinstance(reading, SlopeReading)  # noqa: S101  # by who calls it
    way = "reading_turned" if reading.reversed else "reading_direct"
    side = "reversed" if reading.reversed else "direct"
    shown = printer.adjusted(reading.where, (side,), reading.exclude)
    return (printer.wording.word(way), printer.number(reading.slope_mm_per_m), *shown)


def _table(title: str, by_roll: _ByRoll, printer: _Printer, cells: _Cells) -> Iterator[Table]:
    """As found beside as left, a row for each reading of a roll; a round that nobody read has no columns."""
    if not by_roll:
        return
    rounds = [which for which in ROUNDS if any(which in one for one in by_roll.values())]
    word = printer.wording.word
    firsts = ("reading_way", "reading") if cells is _slope else ("operator_mark", "drive_mark")
    columns = [Column(word("roll"), "left", share=0.8)]
    for which in rounds:
        group = word(which)
        kinds = (("left" if cells is _slope else "right"), "right")
        columns += [
            Column(word(key), "left" if kind == "left" else "right", group, 1.0, _unit(kind, printer))
            for key, kind in zip(firsts, kinds, strict=True)
        ]
        columns += [
            Column(word("residual"), "right", group, 1.0, printer.unit.sign),
            Column("w", "right", group, 0.7),
            Column(word("reading_checked"), "right", group, 0.9),
        ]
    rows = []
    for roll, by_round in by_roll.items():
        lists = [[cells(one, printer) for one in by_round.get(which, [])] for which in rounds]
        for number, parts in enumerate(zip_longest(*lists, fillvalue=("",) * 5)):
            name = roll if number == 0 else f"{roll} {word('reading_again')}"
            rows.append((name, *(cell for part in parts for cell in part)))
    yield Table(title, tuple(columns), tuple(rows))


def _unit(kind: str, printer: _Printer) -> str:
    return "" if kind == "left" else printer.unit.sign


def _monuments(title: str, readings: Sequence[MonumentReading], printer: _Printer) -> Table:
    """The readings of the monuments in the order in which they were taken."""
    word, seen = printer.wording.word, set()
    rows = []
    for one in readings:
        name = f"{one.monument} {word('reading_again')}" if one.monument in seen else one.monument
        seen.add(one.monument)
        rows.append(
            (name, printer.number(one.value_mm), *printer.adjusted(one.where, (None,), one.exclude))
        )
    columns = (
        Column(word("monument"), "left", share=1.6),
        Column(word("reading"), "right", unit=printer.unit.sign),
        Column(word("residual"), "right", unit=printer.unit.sign),
        Column("w", "right", share=0.7),
        Column(word("reading_checked"), "right", share=0.9),
    )
    return Table(title, columns, tuple(rows))
