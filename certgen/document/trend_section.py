"""A trend in sentences and as tables: drift with its proof and outlook, and the slopes at every visit."""

from collections.abc import Iterator, Mapping
from datetime import date

from certgen.assessment.assessment import ASPECTS, AspectName
from certgen.document.comparison_section import doubts, other_lines
from certgen.document.content import Column, Table
from certgen.survey.survey import Round
from certgen.visits.drift import PROBABILITY, Drift
from certgen.visits.trend import FEWEST_VISITS, AspectTrend, Trend
from certgen.wording.rounding import NOTHING, UnitSet, fixed, limit_places, places_for
from certgen.wording.values import Numbers, joined
from certgen.wording.wording import Wording

# a table holds so many visits side by side; of more, the latest
_MOST_VISITS = 7


def trend_identification(found: Trend, wording: Wording) -> str:
    """Return how many visits are followed, from when to when."""
    first, last = (wording.date(found.surveys[index].visit.started) for index in (0, -1))
    return wording.word("trend_of", count=len(found.surveys), first=first, last=last)


def trend_conclusion(found: Trend, numbers: Numbers, wording: Wording) -> tuple[str, ...]:
    """Return what the trend comes to, what to do first."""
    return (
        *other_lines(found.surveys, wording),
        _next(found, wording),
        *_without_day(found, wording),
        *_rates(found, numbers, wording),
        *doubts(found.visits, wording),
        *_reference(found, wording),
        *_gone(found, wording),
    )


def _next(found: Trend, wording: Wording) -> str:
    following = found.next_survey
    because = _named(following.because, wording)
    but = bool(following.not_kept or found.unsteady or (following.not_foretold and not _is_pair(found)))
    if following.day is None:
        return wording.word("trend_no_day", two=_is_pair(found), but=but)
    if following.by_interval:
        return wording.word(
            "trend_next_interval", day=wording.date(following.day), two=_is_pair(found), but=but
        )
    return wording.word("trend_next", day=wording.date(following.day), because=because, but=but)


def _is_pair(found: Trend) -> bool:
    return len(found.visits) < FEWEST_VISITS


def _without_day(found: Trend, wording: Wording) -> Iterator[str]:
    """The rolls of which the day of the next survey says nothing."""
    following = found.next_survey
    lists = {"trend_not_kept": following.not_kept}
    if not _is_pair(found):  # of two visits nothing is foretold of any roll
        lists["trend_not_foretold"] = following.not_foretold
    for key, pairs in lists.items():
        if pairs:
            yield wording.word(key, list=_named(pairs, wording))


def _rates(found: Trend, numbers: Numbers, wording: Wording) -> Iterator[str]:
    """What drifts and what does not; between two visits a drift and a sudden movement look alike."""
    if _is_pair(found):
        yield wording.word("trend_two_visits")
        return
    yield from _drifting(found, numbers, wording)
    for aspect in ASPECTS:
        names = [name for name, which in found.unsteady if which == aspect]
        if names:
            told = joined(_moved(found, name, aspect, wording) for name in names)
            yield wording.word("trend_unsteady", aspect=wording.inline(aspect), list=told)
    yield wording.word("trend_chance", tested=found.tested, chance=_chance(found, wording))


def _named(pairs: tuple[tuple[str, AspectName], ...], wording: Wording) -> str:
    return joined(f"{roll} {wording.inline(aspect)}" for roll, aspect in pairs)


def _drifting(found: Trend, numbers: Numbers, wording: Wording) -> Iterator[str]:
    drifts = {(roll.name, name): roll.aspect(name).drift for roll in found.rolls for name in ASPECTS}
    for aspect in ASPECTS:
        shown = [(name, drifts[name, which]) for name, which in found.drifting if which == aspect]
        rates = [_rate(name, one, numbers, wording) for name, one in shown if one is not None]
        if rates:
            yield wording.word("trend_drifting", aspect=wording.inline(aspect), list=joined(rates))
    if not found.drifting:
        yield wording.word("trend_none")


def _rate(name: str, one: Drift, numbers: Numbers, wording: Wording) -> str:
    """A rate with its U in running text, in the first of the units."""
    units = numbers.units[0]
    factor = units.slope.per_engine_unit
    places = places_for(one.k * one.u_rate * factor)
    return wording.word(
        "trend_drifting_one",
        roll=name,
        rate=wording.digits.written(fixed(one.rate * factor, places, signed=True)),
        expanded=wording.digits.written(fixed(one.k * one.u_rate * factor, places)),
        unit=units.slope.sign,
    )


def _moved(found: Trend, name: str, aspect: AspectName, wording: Wording) -> str:
    """A roll, with the days between which it moved where that is all that happened."""
    between = next(roll.aspect(aspect).sudden for roll in found.rolls if roll.name == name)
    if between is None:
        return name
    first, last = (wording.date(day) for day in between)
    return wording.word("trend_moved_between", roll=name, first=first, last=last)


def _chance(found: Trend, wording: Wording) -> str:
    return wording.digits.significant((1.0 - PROBABILITY) * found.tested, 2)


def _reference(found: Trend, wording: Wording) -> Iterator[str]:
    common = found.reference
    if common is None:
        return
    if common.roll is None:
        text = wording.word("reference_line", ids=joined(common.monuments))
    else:
        name = next(roll.roll.name for roll in found.rolls if roll.name == common.roll)
        text = wording.word("reference_roll", id=common.roll, name=name)
    yield wording.word("trend_reference", reference=text)


def _gone(found: Trend, wording: Wording) -> Iterator[str]:
    present = {roll.id for roll in found.surveys[-1].rolls}
    names = [roll.name for roll in found.rolls if roll.name not in present]
    if names:
        yield wording.word("trend_gone", list=joined(names))


def drift_table(found: Trend, aspect: AspectName, numbers: Numbers, wording: Wording) -> Table | None:
    """Return drift and outlook of one aspect, rows with a drift set bold; None where nothing was measured."""
    rolls = [(roll.name, roll.aspect(aspect)) for roll in found.in_order(aspect)]
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
        *_rate_cell(one.drift, numbers, wording),
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


def _rate_cell(one: Drift | None, numbers: Numbers, wording: Wording) -> tuple[str, str, str, str]:
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
