"""A comparison as a document in the look of the certificate: conclusion, tables, plot, how it is judged."""

from certgen.assessment.assessment import ASPECTS
from certgen.assessment.comparison import Comparison
from certgen.assessment.comparison_results import comparison_results
from certgen.certificate.assemble import drawing_area
from certgen.certificate.comparison_plot import comparison_plot
from certgen.certificate.comparison_table import comparison_table
from certgen.certificate.comparison_words import (
    comparison_conclusion,
    comparison_identification,
    coverage_text,
    moment_text,
    reference_text,
    remarks,
    significance_text,
)
from certgen.certificate.content import Block, Content, Facts, Figure, Paragraphs, Section
from certgen.certificate.diagram import Picture
from certgen.certificate.look import load_fonts
from certgen.certificate.numbers import Numbers, numbers_for
from certgen.certificate.report_pages import report_pdf
from certgen.certificate.report_record import Basis
from certgen.certificate.rounding import significant
from certgen.certificate.wording import Wording
from certgen.survey.survey import Paper


def comparison_pdf(comparison: Comparison, wording: Wording, paper: Paper | None = None) -> bytes:
    """Return the comparison as the bytes of a PDF, by default on the paper of the later survey.

    The same input gives the same bytes.
    """
    load_fonts()
    paper = paper or comparison.after.survey.certificate.paper
    drawings = comparison_plot(comparison, wording, *drawing_area(paper))
    captions = [wording.word("compare_plot_caption"), *[""] * (len(drawings) - 1)]
    pictures = [Picture(caption, drawing) for caption, drawing in zip(captions, drawings, strict=False)]
    content = compose_comparison(comparison, wording)
    return report_pdf(_basis(comparison), content, {"comparison": pictures}, wording, paper)


def _basis(comparison: Comparison) -> Basis:
    surveys = (comparison.before.survey, comparison.after.survey)
    used = surveys[-1:] if comparison.within_one_visit else surveys
    return Basis("comparison", used, comparison_results(comparison))


def compose_comparison(comparison: Comparison, wording: Wording) -> Content:
    """Return everything the comparison says, in order, as records."""
    survey = comparison.after.survey
    numbers = numbers_for(survey, wording.digits)
    return Content(
        title=wording.word("compare_title"),
        identification=comparison_identification(comparison, wording),
        contractor=survey.contractor.name,
        author=survey.contractor.name,
        language=wording.language,
        sections=(
            Section(wording.word("compare_section_line"), (_facts(comparison, numbers, wording),)),
            Section(wording.word("compare_section_conclusion"), _conclusion(comparison, numbers, wording)),
            Section(wording.word("compare_section_changes"), _tables(comparison, numbers, wording)),
            Section(wording.word("compare_section_plot"), (Figure("comparison"),)),
            Section(wording.word("compare_section_counting"), (_counting(comparison, wording),)),
            Section(wording.word("section_safety"), (Paragraphs(wording.paragraphs("compare_safety")),)),
            Section(wording.word("compare_section_validity"), _validity(comparison, wording)),
        ),
        end=wording.word("compare_end"),
    )


def _facts(comparison: Comparison, numbers: Numbers, wording: Wording) -> Facts:
    survey = comparison.after.survey
    pairs = (
        (wording.word("customer"), survey.customer.name),
        (wording.word("line"), survey.line.name),
        (wording.word("asset"), survey.line.asset),
        (wording.word("compare_before"), moment_text(comparison.before, wording)),
        (wording.word("compare_after"), moment_text(comparison.after, wording)),
        (wording.word("compare_reference"), reference_text(comparison, wording)),
        (wording.word("compare_relevant"), _relevant(comparison, numbers, wording)),
        (wording.word("compare_significance"), _significance(comparison, wording)),
    )
    return Facts(pairs)


def _relevant(comparison: Comparison, numbers: Numbers, wording: Wording) -> str:
    stated = comparison.relevant_mm_per_m
    if stated is None:
        return wording.word("compare_relevant_tolerance")
    signs = (units.slope.sign for units in numbers.units)
    texts = numbers.lines(lambda units: significant(stated * units.slope.per_engine_unit, 3)).split("\n")
    return " / ".join(f"{text} {sign}" for text, sign in zip(texts, signs, strict=True))


def _significance(comparison: Comparison, wording: Wording) -> str:
    return wording.word("compare_significance_text", percent=significance_text(comparison, wording))


def _conclusion(comparison: Comparison, numbers: Numbers, wording: Wording) -> tuple[Block, ...]:
    found = tuple(f"- {text}" for text in comparison_conclusion(comparison, wording))
    notes = tuple(f"- {text}" for text in remarks(comparison, numbers, wording))
    return (Paragraphs((*found, *notes)),)


def _tables(comparison: Comparison, numbers: Numbers, wording: Wording) -> tuple[Block, ...]:
    tables = (comparison_table(comparison, aspect, numbers, wording) for aspect in ASPECTS)
    return tuple(table for table in tables if table is not None)


def _counting(comparison: Comparison, wording: Wording) -> Paragraphs:
    coverage = coverage_text(comparison.coverage, wording)
    return Paragraphs(wording.paragraphs("compare", one_visit=comparison.within_one_visit, coverage=coverage))


def _validity(comparison: Comparison, wording: Wording) -> tuple[Block, ...]:
    """What the document is and is not."""
    return (Paragraphs(wording.paragraphs("compare_closing", one_visit=comparison.within_one_visit)),)
