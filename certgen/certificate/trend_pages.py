"""A trend as a document in the look of the certificate: conclusion, drift, slopes, a panel for every roll."""

from certgen.assessment.assessment import ASPECTS
from certgen.assessment.trend_records import Trend
from certgen.assessment.trend_results import trend_results
from certgen.certificate.assemble import type_area
from certgen.certificate.content import Block, Content, Facts, Figure, Paragraphs, Section
from certgen.certificate.diagram import Picture
from certgen.certificate.look import load_fonts
from certgen.certificate.numbers import Numbers, joined, numbers_for
from certgen.certificate.report_pages import report_pdf
from certgen.certificate.report_record import Basis
from certgen.certificate.rounding import UNIT_SETS
from certgen.certificate.trend_plot import trend_plots
from certgen.certificate.trend_tables import drift_table, slopes_table
from certgen.certificate.trend_words import trend_conclusion, trend_identification
from certgen.certificate.wording import Wording
from certgen.survey.survey import Paper


def trend_pdf(found: Trend, wording: Wording, paper: Paper | None = None) -> bytes:
    """Return the trend as the bytes of a PDF, by default on the paper of the last survey.

    The same input gives the same bytes.
    """
    load_fonts()
    paper = paper or found.surveys[-1].certificate.paper
    width, _ = type_area(paper)
    figures = {"trend": trend_pictures(found, wording, width)}
    basis = Basis("trend", found.surveys, trend_results(found))
    return report_pdf(basis, compose_trend(found, wording), figures, wording, paper)


def trend_pictures(found: Trend, wording: Wording, width: float) -> list[Picture]:
    """Return the panels of every roll, that many points wide; the first of each aspect has a caption."""
    unit = UNIT_SETS[found.surveys[-1].certificate.units][0].slope.sign
    pictures = []
    for aspect in ASPECTS:
        plus = wording.word(f"plus {aspect}")
        caption = wording.word("trend_plot_caption", aspect=wording.word(aspect), plus=plus, unit=unit)
        for drawing in trend_plots(found, aspect, wording, width):
            pictures.append(Picture(caption, drawing))
            caption = ""
    return pictures


def compose_trend(found: Trend, wording: Wording) -> Content:
    """Return everything the trend says, in order, as records."""
    survey = found.surveys[-1]
    numbers = numbers_for(survey, wording.digits)
    points = tuple(f"- {text}" for text in trend_conclusion(found, numbers, wording))
    counting, closing = wording.paragraphs("trend"), wording.paragraphs("trend_closing")
    return Content(
        title=wording.word("trend_title"),
        identification=trend_identification(found, wording),
        contractor=survey.contractor.name,
        author=survey.contractor.name,
        language=wording.language,
        sections=(
            Section(wording.word("trend_section_line"), (_facts(found, wording),)),
            Section(wording.word("trend_section_conclusion"), (Paragraphs(points),)),
            Section(wording.word("trend_section_drift"), _drifts(found, numbers, wording)),
            Section(wording.word("trend_section_plot"), (Figure("trend"),)),
            Section(wording.word("trend_section_slopes"), _slopes(found, numbers, wording)),
            Section(wording.word("trend_section_counting"), (Paragraphs(counting),)),
            Section(wording.word("section_safety"), (Paragraphs(wording.paragraphs("compare_safety")),)),
            Section(wording.word("compare_section_validity"), (Paragraphs(closing),)),
        ),
        end=wording.word("trend_end"),
    )


def _facts(found: Trend, wording: Wording) -> Facts:
    survey = found.surveys[-1]
    visits = (
        wording.word("trend_visit", number=one.certificate.number, day=wording.date(one.visit.started))
        for one in found.surveys
    )
    pairs = (
        (wording.word("customer"), survey.customer.name),
        (wording.word("line"), survey.line.name),
        (wording.word("asset"), survey.line.asset),
        (wording.word("trend_visits"), joined(visits)),
    )
    return Facts(pairs)


def _drifts(found: Trend, numbers: Numbers, wording: Wording) -> tuple[Block, ...]:
    tables = (drift_table(found, aspect, numbers, wording) for aspect in ASPECTS)
    return tuple(table for table in tables if table is not None)


def _slopes(found: Trend, numbers: Numbers, wording: Wording) -> tuple[Block, ...]:
    tables = (slopes_table(found, aspect, numbers, wording) for aspect in ASPECTS)
    return tuple(table for table in tables if table is not None)
