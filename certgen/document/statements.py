"""The closing statements, and the clauses of ISO/IEC 17025:2017: where each is met, or that it is not.

Which clause asks what is stated from memory of the standard, in our own words; certgen claims no
accreditation.
"""

from collections.abc import Callable
from dataclasses import dataclass
from typing import Literal

from certgen.assessment.assessment import Assessment
from certgen.document.content import Block, Column, Facts, Paragraphs, Section, Table
from certgen.network.level import zero_was_found
from certgen.survey.survey import ROUNDS, Growth, Survey
from certgen.survey.unread import reference_was_moved
from certgen.wording.wording import Wording

Status = Literal["met", "not met", "not applicable"]


def instruments_section(survey: Survey, wording: Wording) -> Section:
    """Return the instruments with their traceability, and the conditions."""
    keys = (
        ("instrument", 0.8),
        ("kind", 2.0),
        ("serial", 1.2),
        ("calibrated", 1.0),
        ("due", 1.0),
        ("traceable", 2.0),
    )
    table = Table(
        caption="",
        columns=tuple(Column(wording.word(key), "left", share=share) for key, share in keys),
        rows=tuple(
            (i.id, i.kind, i.serial, wording.date(i.calibrated), wording.date(i.due), i.traceable_to)
            for i in survey.instruments
        ),
    )
    return Section(wording.word("section_instruments"), (table, _conditions(survey, wording)))


def _conditions(survey: Survey, wording: Wording) -> Block:
    pairs = []
    if survey.conditions.temperature_c is not None:
        celsius = survey.conditions.temperature_c
        both = f"{wording.digits.fixed(celsius, 1)} °C ({wording.digits.fixed(celsius * 1.8 + 32.0, 1)} °F)"
        pairs.append((wording.word("temperature"), both))
    if survey.conditions.notes:
        pairs.append((wording.word("conditions_notes"), survey.conditions.notes))
    return Facts(tuple(pairs)) if pairs else Paragraphs((wording.word("no_conditions"),))


def method_section(assessment: Assessment, wording: Wording) -> Section:
    """Return the method in words, as far as this survey used it."""
    survey, level = assessment.survey, assessment.survey.level
    texts = wording.paragraphs(
        "method",
        parallel=bool(survey.setups),
        level=level is not None,
        surveyed_left="as_left" in assessment.surveyed,
        reference_moved=reference_was_moved(survey),
        reference_roll=survey.reference.roll,
        reference_line=", ".join(survey.reference.monuments),
        setups=len(survey.setups),
        monuments=bool(survey.monuments),
        zero_found=level is not None and zero_was_found(level),
        slopes=level is not None and bool(level.slopes),
        heights=level is not None and bool(level.heights),
        drift=_drift(assessment),
        sag=_sag(assessment),
        taper=any(roll.taper_mm for roll in survey.rolls),
        growth=any(roll.growth != Growth() for roll in survey.rolls),
    )
    return Section(wording.word("section_method"), (Paragraphs(texts),))


def _drift(assessment: Assessment) -> bool:
    parallel = assessment.solution.parallel
    return parallel is not None and any(u.kind == "drift_rate" for u in parallel.network.values)


def _sag(assessment: Assessment) -> bool:
    level = assessment.solution.level
    return level is not None and any(unknown.kind == "sag" for unknown in level.network.values)


def notes_section(survey: Survey, wording: Wording) -> Section:
    """Return deviations and notes, as the survey has them."""
    notes = tuple(f"- {note}" for note in survey.notes) or (wording.word("notes_none"),)
    return Section(wording.word("section_notes"), (Paragraphs(notes),))


def safety_section(wording: Wording) -> Section:
    """Return the safety notes."""
    return Section(wording.word("section_safety"), (Paragraphs(wording.paragraphs("safety")),))


@dataclass(frozen=True, slots=True)
class Clause:
    """One clause: its number, the section that meets it (key of its title), how to tell from a survey."""

    number: str
    section: str
    status: Callable[[Survey], Status]


@dataclass(frozen=True, slots=True)
class Answer:
    """What the survey answers to a clause."""

    clause: Clause
    status: Status


def checklist(survey: Survey) -> tuple[Answer, ...]:
    """Return the answer to every clause, in their order."""
    return tuple(Answer(clause, clause.status(survey)) for clause in CLAUSES)


def checklist_section(survey: Survey, wording: Wording) -> Section:
    """Return the clauses as a table: what is asked, whether it is met, where."""
    columns = (
        Column(wording.word("clause"), "left", share=1.1),
        Column(wording.word("asks"), "left", share=4.2),
        Column(wording.word("answer"), "left", share=1.1),
        Column(wording.word("where"), "left", share=2.2),
    )
    rows = tuple(_row(answer, wording) for answer in checklist(survey))
    emphasis = frozenset(i for i, answer in enumerate(checklist(survey)) if answer.status == "not met")
    table = Table("", columns, rows, wording.word("checklist_note"), emphasis)
    return Section(wording.word("section_checklist"), (table,))


def _row(answer: Answer, wording: Wording) -> tuple[str, str, str, str]:
    clause = answer.clause
    where = wording.word(clause.section) if answer.status == "met" else "–"
    return clause.number, wording.word(f"clause {clause.number}"), wording.word(answer.status), where


def _always(_survey: Survey) -> Status:
    """What every survey must hold to be read at all."""
    return "met"


def _none(_survey: Survey) -> Status:
    """Sampling, items received and results of external providers do not occur in a survey on site."""
    return "not applicable"


def _conditions_clause(survey: Survey) -> Status:
    return "met" if survey.conditions.temperature_c is not None else "not met"


def _before_and_after(survey: Survey) -> Status:
    rounds = {reading.round for setup in survey.setups for reading in setup.readings}
    if survey.level is not None:
        rounds |= {slope.round for slope in survey.level.slopes}
        rounds |= {height.round for height in survey.level.heights}
    return "met" if rounds == set(ROUNDS) else "not met"


def _replaced(survey: Survey) -> Status:
    return "not applicable" if survey.certificate.revision == 0 else "met"


CLAUSES: tuple[Clause, ...] = (
    Clause("7.8.2.1 a)", "title", _always),
    Clause("7.8.2.1 b)", "section_verdict", _always),
    Clause("7.8.2.1 c)", "section_verdict", _always),
    Clause("7.8.2.1 d)", "every_page", _always),
    Clause("7.8.2.1 e)", "section_verdict", _always),
    Clause("7.8.2.1 f)", "section_method", _always),
    Clause("7.8.2.1 g)", "section_rolls", _always),
    Clause("7.8.2.1 h)", "section_verdict", _none),
    Clause("7.8.2.1 i)", "section_verdict", _always),
    Clause("7.8.2.1 j)", "section_verdict", _always),
    Clause("7.8.2.1 k)", "section_method", _none),
    Clause("7.8.2.1 l)", "section_verdict", _always),
    Clause("7.8.2.1 m)", "section_results", _always),
    Clause("7.8.2.1 n)", "section_notes", _always),
    Clause("7.8.2.1 o)", "section_verdict", _always),
    Clause("7.8.2.1 p)", "section_method", _none),
    Clause("7.8.4.1 a)", "section_results", _always),
    Clause("7.8.4.1 b)", "section_instruments", _conditions_clause),
    Clause("7.8.4.1 c)", "section_instruments", _always),
    Clause("7.8.4.1 d)", "section_results", _before_and_after),
    Clause("7.8.4.1 e)", "section_verdict", _always),
    Clause("7.8.4.1 f)", "section_notes", _none),
    Clause("7.8.6.1", "section_decision", _always),
    Clause("7.8.6.2", "section_results", _always),
    Clause("7.8.8", "section_verdict", _replaced),
)
