"""Assemble the PDF: page frame, running head and foot, page n of N; the same input gives the same bytes."""

import json
from collections.abc import Callable, Collection, Sequence
from dataclasses import dataclass
from io import BytesIO
from typing import Any

from reportlab.platypus import BaseDocTemplate, Frame, PageTemplate

from certgen.assessment.assessment import Assessment
from certgen.document.compose import ANNEXES, contents
from certgen.document.content import Content
from certgen.figures.line_diagram import Picture, line_diagram
from certgen.figures.look import MM, PAGE_SIZES, load_fonts
from certgen.figures.outline import outline
from certgen.figures.plots import found_left_plot
from certgen.pdf.archive.metadata import Attachment, Record, record, results_bytes
from certgen.pdf.archive.print_record import printed
from certgen.pdf.canvas import Binding, SignaturePlace, canvas_maker, require_letters
from certgen.pdf.flowables import Figures, flowables, letterhead
from certgen.pdf.page_one import fitted
from certgen.results.survey_results import survey_results
from certgen.survey.survey import Paper
from certgen.wording.wording import Wording

_FOOT = 16.0 * MM
_TOP = 19.0 * MM
_FIRST_TOP = 12.0 * MM  # page one has its title in place of a running head
_ABOVE_DRAWING = 62.0  # head of a section and a caption of three lines


@dataclass(frozen=True, slots=True)
class Printed:
    """A certificate as the bytes of a PDF/A-3a file, with its empty places to sign in reading order.

    `results` are the bytes of the results as computed, `inside` those that travel inside it.
    """

    pdf: bytes
    places: tuple[SignaturePlace, ...]
    results: bytes
    inside: bytes


def certificate_pdf(
    assessment: Assessment, wording: Wording, paper: Paper, *, annexes: Collection[str] = ANNEXES
) -> bytes:
    """Return the certificate as the bytes of a PDF; deterministic for the same input."""
    return certificate(assessment, wording, paper, annexes=annexes).pdf


def certificate(
    assessment: Assessment,
    wording: Wording,
    paper: Paper,
    *,
    annexes: Collection[str] = ANNEXES,
    draft: bool = False,
    inside: Callable[[bytes], bytes] | None = None,
    dcc: Attachment | None = None,
) -> Printed:
    """Return the certificate with its places to sign; survey and results travel inside it.

    Where it is printed again, `inside` may give other bytes for the computed results to travel inside it.
    `dcc` are the results in the form of a DCC, which travel inside it as well.
    """
    load_fonts()
    figures = _figures(assessment, wording, paper, plot="B" in annexes)
    width, height = type_area(paper)
    above = list(letterhead(wording.look, width))
    room = height + _TOP - _FIRST_TOP - sum(one.wrap(width, height)[1] for one in above)
    every = contents(assessment, wording, annexes=annexes, draft=draft)
    content, first = fitted(every, figures, width, room)
    require_letters(content, wording.look.letterhead)
    how = printed(wording, paper, annexes=annexes, draft=draft, dcc=dcc is not None)
    made: list[tuple[bytes, bytes]] = []

    def kept(places: Sequence[SignaturePlace]) -> Record:
        whole = how | {"signature_places": [one.numbers() for one in places]}
        computed = results_bytes({**survey_results(assessment), "printed": whole})
        found = computed if inside is None else inside(computed)
        made.append((computed, found))
        return record(assessment, content, json.loads(found)["printed"], found, dcc)

    binding = Binding(content, wording, margin(paper), kept, [])
    story = [*above, *first, *flowables(content, figures, width, height)]
    pdf = _pdf(binding, story, paper)
    return Printed(pdf, tuple(binding.places), *made[0])


def _figures(assessment: Assessment, wording: Wording, paper: Paper, *, plot: bool) -> Figures:
    """The drawings of a certificate by name; the plot only where its annex is printed."""
    width, most = drawing_area(paper)
    two, section = not assessment.one_round, wording.word("section_diagram")
    return {
        "outline": [
            Picture("", outline(assessment, wording, width, plan=True), wording.word("outline", two=two))
        ],
        "outline_small": [
            Picture(
                "",
                outline(assessment, wording, width, plan=False),
                wording.word("outline_small", two=two, section=section),
            )
        ],
        "line": line_diagram(assessment, wording, width),
        "plot": [
            Picture(wording.word("plot_caption"), drawing)
            for drawing in (found_left_plot(assessment, wording, width, most) if plot else ())
        ],
    }


def bound(content: Content, story: list[Any], kept: Record, wording: Wording, paper: Paper) -> bytes:
    """Return flowables as a PDF/A-3a file whose running head and foot say what `content` is."""
    return _pdf(Binding(content, wording, margin(paper), lambda _places: kept, []), story, paper)


def _pdf(binding: Binding, story: list[Any], paper: Paper) -> bytes:
    buffer = BytesIO()
    _document(buffer, binding.content, paper).build(story, canvasmaker=canvas_maker(binding))
    return buffer.getvalue()


def type_area(paper: Paper) -> tuple[float, float]:
    """Return width and height of what a page holds between its margins, head and foot, in points."""
    width, height = PAGE_SIZES[paper]
    return width - 2 * margin(paper), height - _FOOT - _TOP


def drawing_area(paper: Paper) -> tuple[float, float]:
    """Return width and height that a drawing may take where a head and its caption stand above it."""
    width, height = type_area(paper)
    return width, height - _ABOVE_DRAWING


def margin(paper: Paper) -> float:
    """Return the margin left and right, in points; a small page gives less away."""
    return (11.0 if paper == "A5" else 18.0) * MM


def _document(buffer: BytesIO, content: Content, paper: Paper) -> Any:
    width, height = PAGE_SIZES[paper]
    frame = Frame(
        margin(paper),
        _FOOT,
        width - 2 * margin(paper),
        height - _FOOT - _TOP,
        leftPadding=0,
        rightPadding=0,
        topPadding=0,
        bottomPadding=0,
    )
    templates = [PageTemplate("page", [frame])]
    if content.has_page_one:
        aside = margin(paper)
        tall = Frame(aside, _FOOT, width - 2 * aside, height - _FOOT - _FIRST_TOP, 0, 0, 0, 0)
        templates.insert(0, PageTemplate("page one", [tall], autoNextPageTemplate="page"))
    return BaseDocTemplate(
        buffer,
        pagesize=(width, height),
        pageTemplates=templates,
        title=f"{content.title}, {content.identification}",
        author=content.author,
        subject=content.title,
        creator="certgen",
        lang=content.language,
        invariant=1,
    )
