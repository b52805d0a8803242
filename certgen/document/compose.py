"""The content of a certificate, every section in reading order, and the letter that hands it over."""

from collections.abc import Iterator
from html import unescape
from textwrap import fill

from certgen.assessment.assessment import ASPECTS, Assessment
from certgen.assessment.rules import FAILING, SEVERITY
from certgen.document import (
    first_page,
    moves_section,
    network_quality,
    result_tables,
    statements,
    uncertainty_section,
    web_margin,
)
from certgen.document.content import Block, Content, Figure, Paragraphs, Section
from certgen.document.doubt_words import marked
from certgen.document.first_page import dates_of_work
from certgen.document.statements import checklist_section
from certgen.moves.plan import plan_of
from certgen.wording.values import Numbers, joined, numbers_for
from certgen.wording.wording import Wording, unhyphenated

_WIDTH = 76


def compose(assessment: Assessment, wording: Wording, *, with_checklist: bool = False) -> Content:
    """Return everything the certificate says, in order, as records; the list of clauses if asked for."""
    survey, numbers = assessment.survey, numbers_for(assessment.survey, wording.digits)
    head = survey.certificate
    return Content(
        title=wording.word("title"),
        identification=wording.word("number", number=head.number, revision=head.revision),
        contractor=survey.contractor.name,
        author=survey.contractor.name,
        language=wording.language,
        sections=(
            first_page.verdict_section(assessment, wording),
            first_page.parties_section(assessment, wording),
            _rolls_section(assessment, numbers, wording),
            Section(wording.word("section_diagram"), (Figure("line"),)),
            _results_section(assessment, numbers, wording),
            Section(wording.word("section_plot"), (Figure("plot"),)),
            moves_section.moves_section(assessment, numbers, wording),
            _figures_section(assessment, numbers, wording),
            *web_margin.web_sections(assessment, numbers, wording),
            network_quality.network_section(assessment, numbers, wording),
            uncertainty_section.decision_section(assessment, numbers, wording),
            statements.instruments_section(survey, wording),
            statements.method_section(assessment, wording),
            statements.notes_section(survey, wording),
            *([checklist_section(survey, wording)] if with_checklist else []),
            statements.safety_section(wording),
            statements.signatures_section(survey, wording),
        ),
        end=wording.word("end", number=head.number, revision=head.revision),
        letterhead=wording.look.letterhead,
    )


def _rolls_section(assessment: Assessment, numbers: Numbers, wording: Wording) -> Section:
    tolerances = first_page.tolerance_facts(assessment.survey, wording)
    rolls = first_page.roll_table(assessment.survey, numbers, wording)
    return Section(wording.word("section_rolls"), (tolerances, rolls))


def _results_section(assessment: Assessment, numbers: Numbers, wording: Wording) -> Section:
    blocks: list[Block] = []
    for name, _ in network_quality.surveyed(assessment):
        doubtful = marked(assessment, name)
        blocks.append(result_tables.result_table(assessment.rolls, name, numbers, wording, doubtful))
    for name, _ in network_quality.surveyed(assessment):
        adjacent = result_tables.adjacent_table(assessment, name, numbers, wording)
        blocks += [adjacent] if adjacent is not None else []
    return Section(wording.word("section_results"), tuple(blocks))


def _figures_section(assessment: Assessment, numbers: Numbers, wording: Wording) -> Section:
    blocks: list[Block] = [Paragraphs((wording.word("figures_intro", slope=numbers.slope_signs()),))]
    for name, _ in network_quality.surveyed(assessment):
        blocks.append(result_tables.figures_table(assessment, name, numbers, wording))
        adjacent = result_tables.adjacent_figures(assessment, name, numbers, wording)
        blocks += [adjacent] if adjacent is not None else []
    return Section(wording.word("section_figures"), tuple(blocks))


def letter_text(assessment: Assessment, wording: Wording) -> str:
    """Return the letter, ending in a line break; nothing in it is of the moment."""
    survey = assessment.survey
    sender = wording.look.letterhead or (
        survey.contractor.name,
        survey.contractor.address,
        survey.contractor.contact,
    )
    blocks = [
        "\n".join(sender),
        "\n".join((survey.customer.name, survey.customer.address, survey.customer.contact)),
        wording.date(survey.certificate.issued),
        fill(_subject(assessment, wording), _WIDTH),
        wording.word("letter_greeting"),
        *_paragraphs(assessment, wording),
        wording.word("letter_close"),
        f"{survey.contractor.surveyed_by}\n{survey.contractor.name}",
    ]
    return unhyphenated("\n\n".join(blocks)) + "\n"


def _subject(assessment: Assessment, wording: Wording) -> str:
    head = assessment.survey.certificate
    name = assessment.survey.line.name
    return wording.word("letter_subject", number=head.number, revision=head.revision, line=name)


def _paragraphs(assessment: Assessment, wording: Wording) -> Iterator[str]:
    survey, head = assessment.survey, assessment.survey.certificate
    failing, judged = list(_failing(assessment, wording)), len(list(_judged(assessment)))
    texts = wording.paragraphs(
        "letter",
        number=head.number,
        revision=head.revision,
        line=survey.line.name,
        asset=survey.line.asset,
        order=survey.customer.order,
        dates=dates_of_work(survey, wording),
        found=wording.word(assessment.overall["as_found"]),
        left=wording.word(assessment.overall["as_left"]),
        outside=len(failing),
        judged=judged,
        rule=wording.word(survey.decision),
        failing=joined(failing),
        moves=bool(plan_of(assessment).moving),
        unmeasured=joined(f"{one.roll} ({wording.inline(one.aspect)})" for one in assessment.unread),
        surveyed_left="as_left" in assessment.surveyed,
        doubt=any(doubts.any for doubts in assessment.doubts.values()),
    )
    for text in texts:
        yield fill(unescape(text.striptags()), _WIDTH)


def _judged(assessment: Assessment) -> Iterator[tuple[str, str, str]]:
    """Who, in what, and the verdict as left; as found where nothing was read as left."""
    last = assessment.last_round
    for name in ASPECTS:
        yield from (
            (roll.id, name, verdict)
            for roll in assessment.rolls
            if (verdict := roll.aspect(name).verdict(last)) in SEVERITY
        )
        for pair in assessment.adjacent:
            if last in pair.aspect(name):
                yield f"{pair.from_} – {pair.to}", name, pair.aspect(name)[last].verdict


def _failing(assessment: Assessment, wording: Wording) -> Iterator[str]:
    for who, name, verdict in _judged(assessment):
        if verdict in FAILING:
            yield f"{who} ({wording.inline(name)})"
