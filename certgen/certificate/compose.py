"""Compose the content of a certificate from an assessment: every section in reading order."""

from certgen.assessment.assessment import Assessment
from certgen.certificate import moving, opening, proof, statements, tables, uncertainty, web_margin
from certgen.certificate.checklist import checklist_section
from certgen.certificate.content import Block, Content, Figure, Paragraphs, Section
from certgen.certificate.doubt_words import marked
from certgen.certificate.numbers import Numbers, numbers_for
from certgen.certificate.wording import Wording


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
            opening.verdict_section(assessment, wording),
            opening.parties_section(assessment, wording),
            _rolls_section(assessment, numbers, wording),
            Section(wording.word("section_diagram"), (Figure("line"),)),
            _results_section(assessment, numbers, wording),
            Section(wording.word("section_plot"), (Figure("plot"),)),
            moving.moves_section(assessment, numbers, wording),
            _figures_section(assessment, numbers, wording),
            *web_margin.web_sections(assessment, numbers, wording),
            proof.network_section(assessment, numbers, wording),
            uncertainty.decision_section(assessment, numbers, wording),
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
    tolerances = opening.tolerance_facts(assessment.survey, wording)
    rolls = opening.roll_table(assessment.survey, numbers, wording)
    return Section(wording.word("section_rolls"), (tolerances, rolls))


def _results_section(assessment: Assessment, numbers: Numbers, wording: Wording) -> Section:
    blocks: list[Block] = []
    for name, _ in proof.surveyed(assessment):
        doubtful = marked(assessment, name)
        blocks.append(tables.result_table(assessment.rolls, name, numbers, wording, doubtful))
    for name, _ in proof.surveyed(assessment):
        adjacent = tables.adjacent_table(assessment, name, numbers, wording)
        blocks += [adjacent] if adjacent is not None else []
    return Section(wording.word("section_results"), tuple(blocks))


def _figures_section(assessment: Assessment, numbers: Numbers, wording: Wording) -> Section:
    blocks: list[Block] = [Paragraphs((wording.word("figures_intro", slope=numbers.slope_signs()),))]
    for name, _ in proof.surveyed(assessment):
        blocks.append(tables.figures_table(assessment, name, numbers, wording))
        adjacent = tables.adjacent_figures(assessment, name, numbers, wording)
        blocks += [adjacent] if adjacent is not None else []
    return Section(wording.word("section_figures"), tuple(blocks))
