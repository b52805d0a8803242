"""Reports beside the certificate, in its look: a comparison, a reference study, a trend."""

from dataclasses import replace

from certgen.assessment.assessment import ASPECTS
from certgen.document.comparison_section import (
    comparison_conclusion,
    comparison_identification,
    comparison_table,
    coverage_text,
    moment_text,
    reference_text,
    remarks,
    significance_text,
)
from certgen.document.content import Block, Content, Facts, Figure, Paragraphs, Section
from certgen.document.study_section import study_conclusion, study_table
from certgen.document.survey_facts import dates_of_work
from certgen.document.trend_section import drift_table, slopes_table, trend_conclusion, trend_identification
from certgen.figures.line_diagram import Picture
from certgen.figures.look import load_fonts
from certgen.figures.plots import comparison_plot
from certgen.figures.study_plot import study_plot
from certgen.figures.trend_plot import panels, trend_plots
from certgen.pdf.archive.metadata import Basis, attached_lines, report_record
from certgen.pdf.archive.print_record import printed_report
from certgen.pdf.canvas import require_letters
from certgen.pdf.flowables import Figures, flowables, letterhead
from certgen.pdf.pdf_document import bound, drawing_area, type_area
from certgen.reference_study.study import Study
from certgen.results.report_results import comparison_results, study_results, trend_results
from certgen.survey.survey import Paper
from certgen.visits.comparison import Comparison
from certgen.visits.trend import Trend
from certgen.wording.rounding import UNIT_SETS, significant
from certgen.wording.values import Numbers, joined, numbers_for
from certgen.wording.wording import Wording


def report_pdf(basis: Basis, content: Content, figures: Figures, wording: Wording, paper: Paper) -> bytes:
    """Return the report as the bytes of a PDF/A-3a file; `figures` holds its drawings by name.

    A last section lists the surveys and results inside it with their digests.
    """
    record = report_record(basis, content, printed_report(wording, paper, basis.kind))
    lines = attached_lines(basis, record.attachments, wording)
    section = Section(
        wording.word("attached_title"), (Paragraphs((wording.word("attached_intro"),)), Facts(lines))
    )
    whole = replace(content, sections=(*content.sections, section))
    require_letters(whole, wording.look.letterhead)
    width, height = type_area(paper)
    story = [*letterhead(wording.look, width), *flowables(whole, figures, width, height)]
    return bound(whole, story, record, wording, paper)


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
            Section(
                wording.word("compare_section_conclusion"),
                _comparison_conclusion(comparison, numbers, wording),
            ),
            Section(wording.word("compare_section_line"), (_comparison_facts(comparison, numbers, wording),)),
            Section(wording.word("compare_section_changes"), _tables(comparison, numbers, wording)),
            Section(wording.word("compare_section_plot"), (Figure("comparison"),)),
            Section(wording.word("compare_section_counting"), (_comparison_counts(comparison, wording),)),
            Section(wording.word("section_safety"), (Paragraphs(wording.paragraphs("compare_safety")),)),
            Section(wording.word("compare_section_validity"), _validity(comparison, wording)),
        ),
        end=wording.word("compare_end"),
    )


def _comparison_facts(comparison: Comparison, numbers: Numbers, wording: Wording) -> Facts:
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


def _comparison_conclusion(comparison: Comparison, numbers: Numbers, wording: Wording) -> tuple[Block, ...]:
    found = tuple(f"- {text}" for text in comparison_conclusion(comparison, wording))
    notes = tuple(f"- {text}" for text in remarks(comparison, numbers, wording))
    return (Paragraphs((*found, *notes)),)


def _tables(comparison: Comparison, numbers: Numbers, wording: Wording) -> tuple[Block, ...]:
    tables = (comparison_table(comparison, aspect, numbers, wording) for aspect in ASPECTS)
    return tuple(table for table in tables if table is not None)


def _comparison_counts(comparison: Comparison, wording: Wording) -> Paragraphs:
    coverage = coverage_text(comparison.coverage, wording)
    return Paragraphs(wording.paragraphs("compare", one_visit=comparison.within_one_visit, coverage=coverage))


def _validity(comparison: Comparison, wording: Wording) -> tuple[Block, ...]:
    """What the document is and is not."""
    return (Paragraphs(wording.paragraphs("compare_closing", one_visit=comparison.within_one_visit)),)


def study_pdf(study: Study, wording: Wording, paper: Paper | None = None) -> bytes:
    """Return the study as the bytes of a PDF, by default on the paper of the survey.

    The same input gives the same bytes.
    """
    load_fonts()
    paper = paper or study.survey.certificate.paper
    plot = study_plot(study, wording, *drawing_area(paper))
    figures = {"study": [Picture(wording.word("study_plot_caption"), plot)]}
    basis = Basis("study", (study.survey,), study_results(study))
    return report_pdf(basis, compose_study(study, wording), figures, wording, paper)


def compose_study(study: Study, wording: Wording) -> Content:
    """Return everything the study says, in order, as records."""
    survey, numbers = study.survey, numbers_for(study.survey, wording.digits)
    return Content(
        title=wording.word("study_title"),
        identification=study_identification(study, wording),
        contractor=survey.contractor.name,
        author=survey.contractor.name,
        language=wording.language,
        sections=(
            Section(wording.word("study_section_conclusion"), _study_conclusion(study, numbers, wording)),
            Section(wording.word("study_section_line"), (_study_facts(study, wording),)),
            Section(wording.word("study_section_candidates"), (study_table(study, numbers, wording),)),
            Section(wording.word("study_section_plot"), (Figure("study"),)),
            Section(wording.word("study_section_counting"), (Paragraphs(_study_counts(study, wording)),)),
        ),
        end=wording.word("study_end"),
    )


def study_identification(study: Study, wording: Wording) -> str:
    """Return which survey and which round the study is of."""
    head = study.survey.certificate
    state = wording.word(f"study_{study.round}")
    return wording.word("study_of", number=head.number, revision=head.revision, round=state)


def _study_facts(study: Study, wording: Wording) -> Facts:
    survey = study.survey
    pairs = (
        (wording.word("customer"), survey.customer.name),
        (wording.word("line"), survey.line.name),
        (wording.word("asset"), survey.line.asset),
        (wording.word("dates_of_work"), dates_of_work(survey, wording)),
        (wording.word("decision_rule"), wording.word(survey.decision)),
    )
    return Facts(pairs)


def _study_conclusion(study: Study, numbers: Numbers, wording: Wording) -> tuple[Block, ...]:
    points = tuple(f"- {text}" for text in study_conclusion(study, numbers, wording))
    warning = wording.word("study_warning")
    missing = study.not_measured
    notes = (wording.word("study_not_measured", list=joined(missing)),) if missing else ()
    return (Paragraphs(points), Paragraphs((warning, *notes)))


def _study_counts(study: Study, wording: Wording) -> tuple[str, ...]:
    return wording.paragraphs("study", rule=wording.word(study.survey.decision))


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
        shared = any(len(some) > 1 for some in panels(found, aspect))
        named = wording.word(aspect)
        caption = wording.word("trend_plot_caption", aspect=named, plus=plus, unit=unit, joined=shared)
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
            Section(wording.word("trend_section_conclusion"), (Paragraphs(points),)),
            Section(wording.word("trend_section_line"), (_trend_facts(found, wording),)),
            Section(wording.word("trend_section_drift"), _drifts(found, numbers, wording)),
            Section(wording.word("trend_section_plot"), (Figure("trend"),)),
            Section(wording.word("trend_section_slopes"), _slopes(found, numbers, wording)),
            Section(wording.word("trend_section_counting"), (Paragraphs(counting),)),
            Section(wording.word("section_safety"), (Paragraphs(wording.paragraphs("compare_safety")),)),
            Section(wording.word("compare_section_validity"), (Paragraphs(closing),)),
        ),
        end=wording.word("trend_end"),
    )


def _trend_facts(found: Trend, wording: Wording) -> Facts:
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
