"""The tables of a trend: drift with its proof and outlook, and the slopes at every visit."""

from collections.abc import Mapping
from datetime import date

from certgen.assessment.assessment import AspectName
from certgen.assessment.trend_records import AspectTrend, Trend
from certgen.certificate.content import Column, Table
from certgen.certificate.numbers import Numbers
from certgen.certificate.rounding import NOTHING, UnitSet, fixed, limit_places, places_for
from certgen.certificate.wording import Wording
from certgen.engine.drift import Drift
from certgen.survey.survey import Round

# a table holds so many visits side by side; of more, the latest
_MOST_VISITS = 7


def drift_table(found: Trend, aspect: AspectName, numbers: Numbers, wording: Wording) -> Table | None:
    """Return drift and outlook of one aspect, rows with a drift set bold; None where nothing was measured."""
    rolls = [(roll.name, roll.aspect(aspect)) for roll in found.rolls if roll.aspect(aspect).points]
    if not rolls:
        return None
    return Table(
        caption=wording.word(f"trend_table_{aspect}"),
        columns=_columns(wording),
        rows=tuple((name, *_cells(one, numbers, wording)) for name, one in rolls),
        note=wording.word("trend_note", unit=numbers.slope_signs()),
        emphasis=frozenset(
            i for i, (_, one) in enumerate(rolls) if one.drift is not None and one.drift.shown
        ),
    )


def _columns(wording: Wording) -> tuple[Column, ...]:
    reached = wording.word("trend_reached")
    return (
        Column(wording.word("roll"), "left"),
        Column(wording.word("trend_rate")),
        Column(wording.word("expanded"), share=0.8),
        Column("p", share=0.8),
        Column(wording.word("trend_outcome"), "left", share=1.9),
        Column(wording.word("trend_error")),
        Column(wording.word("trend_limit"), share=0.8),
        Column(wording.word("trend_kept"), "left", share=1.7),
        Column(wording.word("trend_expected"), "left", reached, share=1.5),
        Column(wording.word("trend_latest"), "left", reached, share=1.5),
    )


def _cells(one: AspectTrend, numbers: Numbers, wording: Wording) -> tuple[str, ...]:
    limit = one.limit_mm_per_m
    smallest = min(point.U_mm_per_m for point in one.points)
    return (
        *_rate(one.drift, numbers, wording),
        NOTHING if one.error_mm_per_m is None else numbers.slope(one.error_mm_per_m, smallest),
        NOTHING if limit is None else numbers.lines(lambda units: _limit(units, limit, smallest)),
        *_outlook(one, wording),
    )


def _unsigned(units: UnitSet, value: float, expanded: float) -> str:
    factor = units.slope.per_engine_unit
    return fixed(value * factor, places_for(expanded * factor))


def _limit(units: UnitSet, limit: float, expanded: float) -> str:
    factor = units.slope.per_engine_unit
    return fixed(limit * factor, limit_places(limit * factor, places_for(expanded * factor)))


def _rate(one: Drift | None, numbers: Numbers, wording: Wording) -> tuple[str, str, str, str]:
    if one is None:
        return NOTHING, NOTHING, NOTHING, wording.word("trend_no_rate")
    expanded = one.k * one.u_rate
    return (
        numbers.slope(one.rate, expanded),
        numbers.lines(lambda units: _unsigned(units, expanded, expanded)),
        wording.digits.p_value(one.p_value),
        wording.word(_outcome(one)),
    )


def _outcome(one: Drift) -> str:
    if one.shown:
        return "trend_shown"
    return "trend_not_steady" if one.unsteady else "trend_not_shown"


def _outlook(one: AspectTrend, wording: Wording) -> tuple[str, str, str]:
    outlook, last = one.outlook, one.points[-1].day
    if outlook is None:
        return _kept(one, wording), NOTHING, NOTHING
    return (
        _kept(one, wording),
        _reached(outlook.expected, last, wording),
        _reached(outlook.latest, last, wording),
    )


def _kept(one: AspectTrend, wording: Wording) -> str:
    if one.kept_now is False:
        return wording.word("trend_not_now")
    if one.outlook is None or one.outlook.kept_until is None:
        return NOTHING
    day = wording.date(one.outlook.kept_until)
    return wording.word("trend_beyond", day=day) if one.outlook.open_ended else day


def _reached(day: date | None, last: date, wording: Wording) -> str:
    """The day on which a tolerance is reached; where that is the last one read, it was by then."""
    if day is None:
        return NOTHING
    text = wording.date(day)
    return f"≤ {text}" if day <= last else text


def slopes_table(found: Trend, aspect: AspectName, numbers: Numbers, wording: Wording) -> Table | None:
    """Return the slopes of one aspect at the latest visits; None where nothing was measured."""
    rolls = [(roll.name, roll.aspect(aspect)) for roll in found.rolls if roll.aspect(aspect).points]
    surveys = found.surveys[-_MOST_VISITS:]
    units = numbers.units[0]
    columns = (
        Column(wording.word("roll"), "left"),
        *(Column(wording.date(survey.visit.started)) for survey in surveys),
    )
    visits = [survey.certificate.number for survey in surveys]
    rows = tuple((name, *(_slopes(one, visit, units, wording) for visit in visits)) for name, one in rolls)
    caption = wording.word(f"trend_slopes_{aspect}", unit=units.slope.sign)
    return Table(caption, columns, rows) if rows else None


def _slopes(one: AspectTrend, visit: str, units: UnitSet, wording: Wording) -> str:
    """As found, and below it as left where the roll was read again."""
    factor = units.slope.per_engine_unit
    read: Mapping[Round, str] = {
        point.round: fixed(point.slope_mm_per_m * factor, places_for(point.U_mm_per_m * factor), signed=True)
        for point in one.points
        if point.visit == visit
    }
    if not read:
        return NOTHING
    found, left = read.get("as_found", NOTHING), read.get("as_left")
    return wording.digits.written(found if left is None else f"{found}\n{left}")
