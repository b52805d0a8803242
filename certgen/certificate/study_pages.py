"""The reference study as a document in the look of the certificate: conclusion, table, plot, counting."""

from certgen.assessment.study import Study
from certgen.assessment.study_results import study_results
from certgen.certificate.assemble import drawing_area
from certgen.certificate.content import Block, Content, Facts, Figure, Paragraphs, Section
from certgen.certificate.diagram import Picture
from certgen.certificate.look import load_fonts
from certgen.certificate.numbers import Numbers, joined, numbers_for
from certgen.certificate.opening import dates_of_work
from certgen.certificate.report_pages import report_pdf
from certgen.certificate.report_record import Basis
from certgen.certificate.study_plot import study_plot
from certgen.certificate.study_table import study_conclusion, study_table
from certgen.certificate.wording import Wording
from certgen.survey.survey import Paper


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
            Section(wording.word("study_section_line"), (_facts(study, wording),)),
            Section(wording.word("study_section_conclusion"), _conclusion(study, numbers, wording)),
            Section(wording.word("study_section_candidates"), (study_table(study, numbers, wording),)),
            Section(wording.word("study_section_plot"), (Figure("study"),)),
            Section(wording.word("study_section_counting"), (Paragraphs(_counting(study, wording)),)),
        ),
        end=wording.word("study_end"),
    )


def study_identification(study: Study, wording: Wording) -> str:
    """Return which survey and which round the study is of."""
    head = study.survey.certificate
    state = wording.word(f"study_{study.round}")
    return wording.word("study_of", number=head.number, revision=head.revision, round=state)


def _facts(study: Study, wording: Wording) -> Facts:
    survey = study.survey
    pairs = (
        (wording.word("customer"), survey.customer.name),
        (wording.word("line"), survey.line.name),
        (wording.word("asset"), survey.line.asset),
        (wording.word("dates_of_work"), dates_of_work(survey, wording)),
        (wording.word("decision_rule"), wording.word(survey.decision)),
    )
    return Facts(pairs)


def _conclusion(study: Study, numbers: Numbers, wording: Wording) -> tuple[Block, ...]:
    points = tuple(f"- {text}" for text in study_conclusion(study, numbers, wording))
    warning = wording.word("study_warning")
    missing = study.not_measured
    notes = (wording.word("study_not_measured", list=joined(missing)),) if missing else ()
    return (Paragraphs(points), Paragraphs((warning, *notes)))


def _counting(study: Study, wording: Wording) -> tuple[str, ...]:
    return wording.paragraphs("study", rule=wording.word(study.survey.decision))
