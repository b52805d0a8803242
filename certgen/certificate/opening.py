"""The first page: verdicts, who and where, tolerances."""

from collections.abc import Iterable, Iterator

from certgen.assessment.assessment import ASPECTS, AspectName, Assessment
from certgen.assessment.rules import FAILING, PASSING, SEVERITY, Verdict
from certgen.certificate.content import Block, Column, Facts, Paragraphs, Section, Table, VerdictBox, Verdicts
from certgen.certificate.doubt_words import doubt_notice
from certgen.certificate.numbers import Numbers, joined
from certgen.certificate.stated import stated
from certgen.certificate.wording import Wording
from certgen.survey.survey import ROUNDS, Limit, Roll, Round, Survey


def verdict_section(assessment: Assessment, wording: Wording) -> Section:
    """Return the overall verdicts in words, with what was not measured and what was not adjusted."""
    boxes = tuple(_box(assessment, which, wording) for which in ROUNDS)
    notes, doubt = tuple(_notes(assessment, wording)), doubt_notice(assessment, wording)
    blocks: list[Block] = [Verdicts(boxes)]
    blocks += [doubt] if doubt is not None else []
    blocks += [Paragraphs(notes)] if notes else []
    return Section(wording.word("section_verdict"), tuple(blocks))


def _box(assessment: Assessment, which: Round, wording: Wording) -> VerdictBox:
    return verdict_box(which, assessment.overall[which], _all_verdicts(assessment, which), wording)


def verdict_box(which: Round, overall: str, verdicts: Iterable[str], wording: Wording) -> VerdictBox:
    """Return the verdict on a round, counting the verdicts on rolls and adjacent rolls that are outside."""
    judged = [one for one in verdicts if one in SEVERITY]
    outside = sum(one in FAILING for one in judged)
    counts = wording.word("verdict_counts", outside=outside, judged=len(judged))
    return VerdictBox(
        title=wording.word(f"line_{which}"),
        verdict=wording.word(overall),
        detail=counts if judged else wording.word("verdict_none"),
        passed=overall in PASSING,
    )


def _all_verdicts(assessment: Assessment, which: Round) -> Iterator[Verdict]:
    for name in ASPECTS:
        yield from (roll.aspect(name).verdict(which) for roll in assessment.rolls)
        yield from (
            pair.aspect(name)[which].verdict for pair in assessment.adjacent if which in pair.aspect(name)
        )


def _notes(assessment: Assessment, wording: Wording) -> Iterator[str]:
    missing = [f"{roll} ({wording.inline(name)})" for roll, name in assessment.not_measured]
    if missing:
        yield wording.word("not_measured_note", list=joined(missing))
    unmoved = list(_not_adjusted(assessment, wording))
    if unmoved:
        yield wording.word("not_adjusted_note", list=joined(unmoved))


def _not_adjusted(assessment: Assessment, wording: Wording) -> Iterator[str]:
    for roll in assessment.rolls:
        names = [
            wording.inline(name)
            for name in ASPECTS
            if roll.aspect(name).as_left is not None
            and not roll.aspect(name).adjusted
            and roll.aspect(name).verdict("as_left") != "reference"
        ]
        if names:
            yield f"{roll.id} ({joined(names)})"


def parties_section(assessment: Assessment, wording: Wording) -> Section:
    """Return contractor, customer, line, dates, reference and decision rule."""
    survey = assessment.survey
    contractor = [(wording.word("contractor"), survey.contractor.name), *_contact(survey.contractor, wording)]
    customer = [(wording.word("customer"), survey.customer.name), *_contact(survey.customer, wording)]
    pairs = [pair for both in zip(contractor, customer, strict=True) for pair in both]
    return Section(
        wording.word("section_parties"), (Facts((*pairs, *_line_facts(survey, wording)), columns=2),)
    )


def _contact(party: object, wording: Wording) -> list[tuple[str, str]]:
    return [(wording.word(key), str(getattr(party, key))) for key in ("address", "contact")]


def _line_facts(survey: Survey, wording: Wording) -> list[tuple[str, str]]:
    return [
        (wording.word("line"), survey.line.name),
        (wording.word("dates_of_work"), dates_of_work(survey, wording)),
        (wording.word("asset"), survey.line.asset),
        (wording.word("date_of_issue"), wording.date(survey.certificate.issued)),
        (wording.word("location"), survey.line.location),
        (wording.word("order"), survey.customer.order),
        (wording.word("reference_label"), reference_text(survey, wording)),
        (wording.word("decision_rule"), wording.word(survey.decision)),
        *_replaced(survey, wording),
    ]


def _replaced(survey: Survey, wording: Wording) -> list[tuple[str, str]]:
    """What this certificate replaces, and why (ISO/IEC 17025:2017, 7.8.8)."""
    head = survey.certificate
    if head.supersedes is None:
        return []
    return [(wording.word("supersedes"), head.supersedes), (wording.word("amended"), head.reason or "")]


def dates_of_work(survey: Survey, wording: Wording) -> str:
    """Return the day or the days of the work."""
    first, last = wording.date(survey.visit.started), wording.date(survey.visit.finished)
    return (
        wording.word("one_day", day=first) if first == last else wording.word("days", first=first, last=last)
    )


def reference_text(survey: Survey, wording: Wording) -> str:
    """Return what parallel is measured against."""
    if survey.reference.roll is None:
        return wording.word("reference_line", ids=joined(survey.reference.monuments))
    name = next(roll.name for roll in survey.rolls if roll.id == survey.reference.roll)
    return wording.word("reference_roll", id=survey.reference.roll, name=name)


def tolerance_facts(survey: Survey, wording: Wording) -> Facts:
    """Return each tolerance as it was stated, with the rolls it holds for where they differ."""
    names: tuple[AspectName | str, ...] = (*ASPECTS, "adjacent")
    pairs = [
        (wording.word("tolerance_on", aspect=wording.inline(name)), text)
        for name in names
        if (text := _stated(survey, name, wording))
    ]
    return Facts(tuple(pairs))


def _stated(survey: Survey, name: str, wording: Wording) -> str:
    groups: dict[str, list[str]] = {}
    for roll in survey.rolls:
        limit = _limit(roll, name)
        if limit is not None:
            groups.setdefault(stated(limit.stated, wording), []).append(roll.id)
    if len(groups) == 1:
        return next(iter(groups))
    return wording.word("between_clauses").join(
        wording.word("tolerance_per_roll", stated=text, rolls=joined(ids)) for text, ids in groups.items()
    )


def _limit(roll: Roll, name: str) -> Limit | None:
    return {"level": roll.level_limit, "parallel": roll.parallel_limit}.get(name, roll.adjacent_limit)


def roll_table(survey: Survey, numbers: Numbers, wording: Wording) -> Table:
    """Return the rolls of the line with their dimensions."""
    keys = ("station", "height", "diameter", "face", "bearings")
    dimensions = [Column(wording.word(key), group=numbers.dimension_signs()) for key in keys]
    return Table(
        caption=wording.word("table_rolls"),
        columns=(
            Column(wording.word("roll"), "left", share=0.7),
            Column(wording.word("name"), "left", share=2.6),
            *dimensions,
            Column(wording.word("adjustable"), "left", share=1.3),
        ),
        rows=tuple(_roll_row(roll, numbers, wording) for roll in survey.rolls),
    )


def _roll_row(roll: Roll, numbers: Numbers, wording: Wording) -> tuple[str, ...]:
    sizes = (roll.station_mm, roll.height_mm, roll.diameter_mm, roll.face_mm, roll.bearings_mm)
    return (roll.id, roll.name, *(numbers.dimension(size) for size in sizes), wording.word(roll.adjustable))
