"""The closing statements: instruments, conditions, method, notes, safety, signatures."""

from certgen.assessment.assessment import Assessment
from certgen.certificate.content import Block, Column, Facts, Paragraphs, Section, Signatures, Table
from certgen.certificate.wording import Wording
from certgen.engine.level import zero_was_found
from certgen.survey.survey import Growth, Survey
from certgen.survey.unread import reference_was_moved


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


def signatures_section(survey: Survey, wording: Wording) -> Section:
    """Return the places to sign, the validity statements and the digest of the survey file."""
    places = (
        (wording.word("surveyed_by"), survey.contractor.surveyed_by),
        (wording.word("approved_by"), survey.contractor.approved_by),
    )
    digest = Facts(((wording.word("survey_digest"), survey.sha256),))
    closing = Paragraphs(wording.paragraphs("closing"))
    return Section(
        wording.word("section_signatures"), (Signatures(places, wording.word("date")), closing, digest)
    )
