"""A trend in sentences: what drifts, what moved without drifting, when to survey next."""

from collections.abc import Iterator

from certgen.assessment.assessment import ASPECTS, AspectName
from certgen.assessment.next_survey import FEWEST_VISITS
from certgen.assessment.trend_records import Trend
from certgen.certificate.comparison_words import doubts, other_lines
from certgen.certificate.numbers import Numbers, joined
from certgen.certificate.rounding import fixed, places_for
from certgen.certificate.wording import Wording
from certgen.engine.drift import PROBABILITY, Drift


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
    yield from _unsteady(found, wording)
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


def _unsteady(found: Trend, wording: Wording) -> Iterator[str]:
    for aspect in ASPECTS:
        names = [name for name, which in found.unsteady if which == aspect]
        if names:
            told = joined(_moved(found, name, aspect, wording) for name in names)
            yield wording.word("trend_unsteady", aspect=wording.inline(aspect), list=told)


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
