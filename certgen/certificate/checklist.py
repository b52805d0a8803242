"""The clauses of ISO/IEC 17025:2017 on certificates: where each is met, or that it is not.

Which clause asks what is stated from memory of the standard, in our own words; certgen claims no
accreditation.
"""

from collections.abc import Callable
from dataclasses import dataclass
from typing import Literal

from certgen.certificate.content import Column, Section, Table
from certgen.certificate.wording import Wording
from certgen.survey.survey import ROUNDS, Survey

Status = Literal["met", "not met", "not applicable"]


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


def _conditions(survey: Survey) -> Status:
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
    Clause("7.8.2.1 b)", "section_parties", _always),
    Clause("7.8.2.1 c)", "section_parties", _always),
    Clause("7.8.2.1 d)", "every_page", _always),
    Clause("7.8.2.1 e)", "section_parties", _always),
    Clause("7.8.2.1 f)", "section_method", _always),
    Clause("7.8.2.1 g)", "section_rolls", _always),
    Clause("7.8.2.1 h)", "section_parties", _none),
    Clause("7.8.2.1 i)", "section_parties", _always),
    Clause("7.8.2.1 j)", "section_parties", _always),
    Clause("7.8.2.1 k)", "section_method", _none),
    Clause("7.8.2.1 l)", "section_signatures", _always),
    Clause("7.8.2.1 m)", "section_results", _always),
    Clause("7.8.2.1 n)", "section_notes", _always),
    Clause("7.8.2.1 o)", "section_signatures", _always),
    Clause("7.8.2.1 p)", "section_method", _none),
    Clause("7.8.4.1 a)", "section_results", _always),
    Clause("7.8.4.1 b)", "section_instruments", _conditions),
    Clause("7.8.4.1 c)", "section_instruments", _always),
    Clause("7.8.4.1 d)", "section_results", _before_and_after),
    Clause("7.8.4.1 e)", "section_verdict", _always),
    Clause("7.8.4.1 f)", "section_notes", _none),
    Clause("7.8.6.1", "section_decision", _always),
    Clause("7.8.6.2", "section_results", _always),
    Clause("7.8.8", "section_parties", _replaced),
)
