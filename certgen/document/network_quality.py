"""The proof: how the networks fit, suspects, readings set aside, closures."""

from collections.abc import Iterator

from certgen.assessment.assessment import ASPECTS, AspectName, Assessment
from certgen.document.content import Block, Column, Paragraphs, Section, Table
from certgen.document.doubt_words import candidate_text, gathered_text, reading_text
from certgen.network.causes import Cause
from certgen.network.equations import Label
from certgen.network.quality import LOW_P, Closure, Named
from certgen.network.reliability import DETECTABLE
from certgen.network.solution import Aspect, SetAside, set_aside
from certgen.results.network_results import unit_of, unit_of_size
from certgen.survey.survey import MonumentReading, Setup, SlopeReading
from certgen.wording.rounding import NOTHING, Digits
from certgen.wording.values import Numbers, joined
from certgen.wording.wording import Wording


def surveyed(assessment: Assessment) -> list[tuple[AspectName, Aspect]]:
    """Return the aspects that were surveyed, level first."""
    found = [(name, assessment.solution.aspect(name)) for name in ASPECTS]
    return [(name, aspect) for name, aspect in found if aspect is not None]


def network_section(assessment: Assessment, numbers: Numbers, wording: Wording) -> Section:
    """Return setups, fit, suspects and closures of both networks."""
    blocks: list[Block] = [_fit_table(assessment, wording)]
    blocks += _remarks(assessment, wording)
    blocks.append(Paragraphs(tuple(_checked(name, one, wording) for name, one in surveyed(assessment))))
    if assessment.survey.setups:
        blocks.append(_setup_table(assessment, numbers, wording))
    blocks += _suspect_tables(assessment, numbers, wording)
    blocks += _set_aside_table(assessment, numbers, wording)
    blocks += _closure_tables(assessment, numbers, wording)
    return Section(wording.word("section_network"), tuple(blocks))


def _fit_table(assessment: Assessment, wording: Wording) -> Table:
    keys = ("observations", "unknowns", "dof", "chi_square", "p_value", "critical_w")
    return Table(
        caption="",
        columns=(Column(wording.word("network"), "left"), *(Column(wording.word(key)) for key in keys)),
        rows=tuple((wording.word(name), *_fit(one, wording.digits)) for name, one in surveyed(assessment)),
    )


def _fit(aspect: Aspect, digits: Digits) -> tuple[str, ...]:
    quality = aspect.quality
    return (
        str(quality.observations),
        str(quality.unknowns),
        str(quality.dof),
        digits.fixed(quality.chi_square, 2),
        NOTHING if quality.p_value is None else digits.p_value(quality.p_value),
        digits.fixed(quality.critical_w, 2),
    )


def _remarks(assessment: Assessment, wording: Wording) -> Iterator[Paragraphs]:
    for name, aspect in surveyed(assessment):
        p = aspect.quality.p_value
        if p is None:
            yield _remark(name, wording.word("no_check"), wording)
        elif p < LOW_P:
            yield _remark(name, wording.word("p_low", p=wording.digits.p_value(p)), wording)


def _checked(name: AspectName, aspect: Aspect, wording: Wording) -> str:
    """How many readings others check, and which ones none does, both ends of a seating as one."""
    quality = aspect.quality
    return wording.word(
        "checked",
        aspect=wording.word(name),
        checked=quality.readings - len(quality.unchecked),
        readings=quality.readings,
        list=gathered_text(quality.unchecked, wording),
    )


def _remark(name: AspectName, text: str, wording: Wording) -> Paragraphs:
    return Paragraphs((wording.word("titled", title=wording.word(name), text=text),))


def _setup_table(assessment: Assessment, numbers: Numbers, wording: Wording) -> Table:
    setups = assessment.survey.setups
    dated = any(setup.day is not None for setup in setups)
    columns = (
        Column(wording.word("setup"), "left", share=0.8),
        Column(wording.word("instrument"), "left"),
        *((Column(wording.word("date"), "left"),) if dated else ()),
        Column(wording.word("azimuth"), group=numbers.slope_signs()),
        Column(wording.word("expanded"), group=numbers.slope_signs()),
        Column(wording.word("monuments_read"), "left", share=1.4),
        Column(wording.word("rolls_read"), "left", share=3.0),
    )
    rows = (_setup_row(assessment, setup, numbers, wording) for setup in setups)
    shown = tuple(row if dated else (*row[:2], *row[3:]) for row in rows)
    return Table(wording.word("setups"), columns, shown)


def _setup_row(assessment: Assessment, setup: Setup, numbers: Numbers, wording: Wording) -> tuple[str, ...]:
    azimuth = assessment.solution.azimuth(setup.id)
    expanded = assessment.coverage_factor * azimuth.u
    return (
        f"{setup.id}, {wording.word('reversed_setup')}" if setup.reversed else setup.id,
        setup.instrument,
        NOTHING if setup.day is None else wording.date(setup.day),
        numbers.slope(azimuth.value, expanded),
        numbers.slope(expanded, expanded).replace("+", ""),
        joined(dict.fromkeys(reading.monument for reading in setup.monuments)) or NOTHING,
        joined(dict.fromkeys(reading.roll for reading in setup.readings)) or NOTHING,
    )


def _suspect_tables(assessment: Assessment, numbers: Numbers, wording: Wording) -> Iterator[Block]:
    named = [one for _, aspect in surveyed(assessment) for one in aspect.quality.named]
    if not named:
        yield Paragraphs((wording.word("no_suspects"),))
        return
    columns = (
        Column(wording.word("reading"), "left", share=2.6),
        Column("w", share=0.6),
        Column(wording.word("seems_off"), share=1.1),
        Column(wording.word("detectable"), share=1.1),
        Column(wording.word("cause"), "left", share=2.4),
    )
    rows = tuple(row for one in named for row in _suspect(one, numbers, wording))
    note = wording.word("suspects_note", small=numbers.small_signs(), slope=numbers.slope_signs())
    yield Table(wording.word("suspects"), columns, rows, note)


def _suspect(named: Named, numbers: Numbers, wording: Wording) -> Iterator[tuple[str, ...]]:
    """A line for each candidate, the best one first; by the first edition, one with what is tied with it."""
    suspect = named.suspect
    for place, (one, cause) in enumerate(zip(suspect.candidates, named.causes, strict=True)):
        text = candidate_text(one, wording)
        sizes = (one.blunder, DETECTABLE * one.u)
        who = text if place == 0 else f"{wording.word('or')} {text}"
        yield (who, _w(one.w, numbers), *_sizes(sizes, unit_of_size(one), numbers), _cause(cause, wording))
    if not suspect.candidates:
        labels = (suspect.label, *suspect.others)
        who = f" {wording.word('or')} ".join(reading_text(label, wording) for label in labels)
        sizes = (suspect.blunder, suspect.detectable)
        texts = _sizes(sizes, unit_of(suspect.label), numbers)
        yield (who, _w(suspect.w, numbers), *texts, _cause(named.cause, wording))


def _w(w: float, numbers: Numbers) -> str:
    return numbers.digits.fixed(w, 2, signed=True)


def _sizes(sizes: tuple[float, float], unit: str, numbers: Numbers) -> tuple[str, str]:
    """By how much it seems off, and the smallest that would be found, in the unit of the reading."""
    off, least = (numbers.reading(size, slope=unit == "mm_per_m") for size in sizes)
    return off, least.replace("+", "")


def _cause(cause: Cause | None, wording: Wording) -> str:
    return NOTHING if cause is None else wording.word(f"cause {cause}")


def _closure_tables(assessment: Assessment, numbers: Numbers, wording: Wording) -> Iterator[Block]:
    closures = [closure for _, aspect in surveyed(assessment) for closure in aspect.quality.closures]
    rolls = tuple(closure for closure in closures if closure.label.monument is None)
    monuments = tuple(closure for closure in closures if closure.label.monument is not None)
    k = assessment.coverage_factor
    for title, unit, found in (
        ("closures", numbers.slope_signs(), rolls),
        ("monument_closures", numbers.small_signs(), monuments),
    ):
        rows = tuple(_closure(closure, k, numbers, wording) for closure in found if closure.checked)
        apart = _not_checked([closure for closure in found if not closure.checked], wording)
        if rows:
            yield Table(wording.word(title), _closure_columns(unit, wording), rows, apart)
        elif apart:
            yield Paragraphs((wording.word("titled", title=wording.word(title), text=apart),))


def _not_checked(found: list[Closure], wording: Wording) -> str:
    """The closures that close by construction, named and without a number; empty where there are none."""
    named = (
        f"{closure.label.roll or closure.label.monument}"
        f" ({_reading(closure.first, wording)} \N{EN DASH} {_reading(closure.label, wording)})"
        for closure in found
    )
    return wording.word("closures_not_checked", list=joined(dict.fromkeys(named))) if found else ""


def _closure_columns(unit: str, wording: Wording) -> tuple[Column, ...]:
    return (
        Column("", "left", share=0.6),
        Column(wording.word("closure_first"), "left", share=2.0),
        Column(wording.word("closure_again"), "left", share=2.0),
        Column(wording.word("difference"), group=unit),
        Column(wording.word("standard"), group=unit),
    )


def _closure(closure: Closure, k: float, numbers: Numbers, wording: Wording) -> tuple[str, ...]:
    shown = numbers.slope if closure.label.monument is None else numbers.length
    return (
        closure.label.roll or closure.label.monument or "",
        _reading(closure.first, wording),
        _reading(closure.label, wording),
        shown(closure.difference, k * closure.u),
        shown(closure.u, k * closure.u).replace("+", ""),
    )


def _reading(label: Label, wording: Wording) -> str:
    """The setup and the round; level is read without a setup."""
    setup = wording.inline("level") if label.setup is None else f"{wording.inline('setup')} {label.setup}"
    which = "" if label.round is None else wording.inline(label.round)
    return joined(part for part in (setup, which) if part)


def _set_aside_table(assessment: Assessment, numbers: Numbers, wording: Wording) -> Iterator[Table]:
    """The readings that the survey sets aside, with what was read and why."""
    found = set_aside(assessment.survey)
    if found:
        columns = (
            Column(wording.word("reading"), "left", share=1.6),
            Column(wording.word("read"), "left", share=1.6),
            Column(wording.word("reason"), "left", share=3.0),
        )
        rows = tuple(_set_aside(one, numbers, wording) for one in found)
        yield Table(wording.word("set_aside"), columns, rows)


def _set_aside(one: SetAside, numbers: Numbers, wording: Wording) -> tuple[str, str, str]:
    reading = one.reading
    setup = () if one.setup is None else (f"{wording.inline('setup')} {one.setup}",)
    if isinstance(reading, MonumentReading):
        return joined((*setup, reading.monument)), numbers.small(reading.value_mm), one.reason
    who = joined((*setup, reading.roll, wording.inline(reading.round)))
    if isinstance(reading, SlopeReading):
        return who, numbers.reading(reading.slope_mm_per_m, slope=True), one.reason
    ends = (numbers.small(value).split("\n") for value in (reading.operator_mm, reading.drive_mm))
    return who, "\n".join(" / ".join(pair) for pair in zip(*ends, strict=True)), one.reason
