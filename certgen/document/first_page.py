"""The first page: verdicts, who and where, tolerances."""

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass

from certgen.assessment.assessment import ASPECTS, AspectName, Assessment, RollResult
from certgen.assessment.rules import FAILING, PASSING, SEVERITY
from certgen.document.content import Block, Column, Facts, Paragraphs, Section, Table, VerdictBox, Verdicts
from certgen.document.doubt_words import doubt_notice
from certgen.survey.edition import FIRST
from certgen.survey.survey import ROUNDS, Roll, Round, Survey
from certgen.wording.values import Numbers, joined, stated
from certgen.wording.wording import Wording

_MOST_NAMED = 8  # of what is missing in the box of a verdict; the note below it names all


def verdict_section(assessment: Assessment, wording: Wording) -> Section:
    """Return the overall verdicts in words, with what was not measured and what was not adjusted.

    There is no verdict on a round of which there was no survey.
    """
    boxes = tuple(_box(assessment, which, wording) for which in assessment.surveyed)
    notes, doubt = tuple(_notes(assessment, wording)), doubt_notice(assessment, wording)
    names = joined(_not_passed(assessment, wording))
    last = wording.inline(assessment.last_round)
    blocks: list[Block] = [Verdicts(boxes)]
    blocks += [Paragraphs((wording.word("not_passed_note", round=last, list=names),))] if names else []
    blocks += [doubt] if doubt is not None else []
    blocks += [Paragraphs(notes)] if notes else []
    return Section(wording.word("section_verdict"), tuple(blocks))


def _box(assessment: Assessment, which: Round, wording: Wording) -> VerdictBox:
    states = (pair.aspect(name).get(which) for pair in assessment.adjacent for name in ASPECTS)
    missing = () if assessment.survey.edition == FIRST else assessment.missing[which]
    judged = Judged(
        round=which,
        rolls=assessment.rolls,
        pairs=[state.verdict for state in states if state is not None],
        missing=[(one.roll, one.aspect) for one in missing],
    )
    return verdict_box(assessment.overall[which], judged, wording)


@dataclass(frozen=True, slots=True)
class Judged:
    """What a verdict on a round counts: rolls, the verdicts on pairs, and what is missing of which aspect."""

    round: Round
    rolls: Sequence[RollResult]
    pairs: Sequence[str]
    missing: Sequence[tuple[str, AspectName]]

    @property
    def verdicts(self) -> list[str]:
        """The verdicts on rolls and pairs that are for or against them."""
        of_rolls = [verdict for roll in self.rolls for verdict in self._of(roll)]
        return [*of_rolls, *(one for one in self.pairs if one in SEVERITY)]

    def passing(self) -> tuple[int, int]:
        """Return how many rolls pass in all that they are judged in, and how many are to be judged."""
        short = {roll for roll, _ in self.missing}
        judged = [roll for roll in self.rolls if roll.id in short or self._of(roll)]
        passing = (roll.id not in short and all(one in PASSING for one in self._of(roll)) for roll in judged)
        return sum(passing), len(judged)

    def _of(self, roll: RollResult) -> list[str]:
        found = (roll.aspect(name).verdict(self.round) for name in ASPECTS)
        return [one for one in found if one in SEVERITY]


def verdict_box(overall: str, judged: Judged, wording: Wording) -> VerdictBox:
    """Return the verdict on a round with what it counts: what was not measured, and what did not pass."""
    verdicts, details = judged.verdicts, []
    outside = sum(one in FAILING for one in verdicts)
    if judged.missing:
        details.append(missing_words(judged, wording))
    if verdicts and (outside or not judged.missing):
        details.append(wording.word("verdict_counts", outside=outside, judged=len(verdicts)))
    return VerdictBox(
        title=wording.word(f"line_{judged.round}"),
        verdict=wording.word(overall),
        detail=wording.word("between_clauses").join(details) or wording.word("verdict_none"),
        passed=overall in PASSING,
    )


def missing_words(judged: Judged, wording: Wording) -> str:
    """Return how many rolls pass and how many were not measured, the first few by name."""
    passing, rolls = judged.passing()
    names = missing_names(judged.missing, wording)
    more = len(names) - _MOST_NAMED
    listed = joined(names) if more <= 1 else joined(names[:_MOST_NAMED])
    return wording.word(
        "verdict_missing",
        passing=passing,
        rolls=rolls,
        missing=len(names),
        list=listed if more <= 1 else wording.word("and_more", list=listed, more=more),
    )


def missing_names(missing: Iterable[tuple[str, AspectName]], wording: Wording) -> list[str]:
    """Return the rolls that lack something: with the aspect, or alone where both are missing."""
    found: dict[str, list[AspectName]] = {}
    for roll, name in missing:
        found.setdefault(roll, []).append(name)
    return [
        roll if len(names) == len(ASPECTS) else f"{roll} {wording.inline(names[0])}"
        for roll, names in found.items()
    ]


def _not_passed(assessment: Assessment, wording: Wording) -> Iterator[str]:
    """The rolls, and the pairs of neighbours, that the verdict on the last round counts as not passed."""
    for roll in assessment.rolls:
        names = [name for name in ASPECTS if roll.aspect(name).verdict(assessment.last_round) in FAILING]
        if names:
            yield f"{roll.id} ({joined(wording.inline(name) for name in names)})"
    for pair in assessment.adjacent:
        states = ((name, pair.aspect(name).get(assessment.last_round)) for name in ASPECTS)
        names = [name for name, state in states if state is not None and state.verdict in FAILING]
        if names:
            yield f"{pair.from_} \N{EN DASH} {pair.to} ({joined(wording.inline(name) for name in names)})"


def _notes(assessment: Assessment, wording: Wording) -> Iterator[str]:
    if assessment.survey.edition == FIRST:
        missing = [f"{one.roll} ({wording.inline(one.aspect)})" for one in assessment.unread]
        if missing:
            yield wording.word("not_measured_note", list=joined(missing))
    else:
        yield from _missing_notes(assessment, wording)
    unmoved = list(_not_adjusted(assessment, wording))
    if unmoved:
        yield wording.word("not_adjusted_note", list=joined(unmoved))


def _missing_notes(assessment: Assessment, wording: Wording) -> Iterator[str]:
    """What was not measured in each round and why, once where both lack the same."""
    found, left = (assessment.missing[which] for which in ROUNDS)
    if left and left == found:
        yield wording.word("not_measured_note", list=_with_reasons(assessment, "as_left", wording))
    else:
        for which in ROUNDS:
            if assessment.missing[which]:
                listed = _with_reasons(assessment, which, wording)
                yield wording.word("not_measured_round", round=wording.inline(which), list=listed)
    for which in ROUNDS:
        if which not in assessment.surveyed:
            yield wording.word(f"nothing_{which}_note")


def _with_reasons(assessment: Assessment, which: Round, wording: Wording) -> str:
    by_reason: dict[str, list[tuple[str, AspectName]]] = {}
    for one in assessment.missing[which]:
        by_reason.setdefault(one.reason or "", []).append((one.roll, one.aspect))
    return wording.word("between_clauses").join(
        f"{joined(missing_names(listed, wording))} ({wording.word(f'reason {reason}')})"
        for reason, listed in by_reason.items()
    )


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
        limit = {"level": roll.level_limit, "parallel": roll.parallel_limit}.get(name, roll.adjacent_limit)
        if limit is not None:
            groups.setdefault(stated(limit.stated, wording), []).append(roll.id)
    if len(groups) == 1:
        return next(iter(groups))
    return wording.word("between_clauses").join(
        wording.word("tolerance_per_roll", stated=text, rolls=joined(ids)) for text, ids in groups.items()
    )


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
