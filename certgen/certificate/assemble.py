"""Assemble the PDF: page frame, running head and foot, page n of N; the same input gives the same bytes."""

from io import BytesIO
from typing import Any

from reportlab.pdfgen.canvas import Canvas
from reportlab.platypus import BaseDocTemplate, Frame, PageTemplate

from certgen.assessment.assessment import Assessment
from certgen.certificate.compose import compose
from certgen.certificate.content import Content
from certgen.certificate.diagram import Picture, line_diagram
from certgen.certificate.look import BODY, GREY, MM, PAGE_SIZES, RULE, load_fonts
from certgen.certificate.pages import flowables
from certgen.certificate.plots import found_left_plot
from certgen.certificate.wording import Wording
from certgen.survey.survey import Paper

_FOOT = 18.0 * MM
_TOP = 22.0 * MM
_HEAD = 14.0 * MM


def certificate_pdf(
    assessment: Assessment, wording: Wording, paper: Paper, *, with_checklist: bool = False
) -> bytes:
    """Return the certificate as the bytes of a PDF; deterministic for the same input."""
    load_fonts()
    content = compose(assessment, wording, with_checklist=with_checklist)
    width, _ = type_area(paper)
    figures = {
        "line": line_diagram(assessment, wording, width),
        "plot": [
            Picture(wording.word("plot_caption"), drawing)
            for drawing in found_left_plot(assessment, wording, width)
        ],
    }
    return bound(content, list(flowables(content, figures, width)), wording, paper)


def bound(content: Content, story: list[Any], wording: Wording, paper: Paper) -> bytes:
    """Return flowables as a PDF with running head and foot, which say what `content` identifies itself by."""
    buffer = BytesIO()
    maker = _canvas_maker(content, wording, margin(paper))
    _document(buffer, content, paper).build(story, canvasmaker=maker)
    return buffer.getvalue()


def type_area(paper: Paper) -> tuple[float, float]:
    """Return width and height of what a page holds between its margins, head and foot, in points."""
    width, height = PAGE_SIZES[paper]
    return width - 2 * margin(paper), height - _FOOT - _TOP


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
    return BaseDocTemplate(
        buffer,
        pagesize=(width, height),
        pageTemplates=[PageTemplate("page", [frame])],
        title=f"{content.title}, {content.identification}",
        author=content.author,
        subject=content.title,
        creator="certgen",
        lang=content.language,
        invariant=1,
    )


def _canvas_maker(content: Content, wording: Wording, aside: float) -> type:
    """A canvas that holds its pages back until their number is known."""

    class NumberedCanvas(Canvas):  # type: ignore[misc]  # reportlab has no types
        def __init__(self, *args: Any, **options: Any) -> None:
            super().__init__(*args, **options | {"initialFontName": BODY})
            self._held: list[dict[str, Any]] = []

        def showPage(self) -> None:  # noqa: N802  (reportlab's name)
            self._held.append(dict(self.__dict__))
            self._startPage()

        def save(self) -> None:
            for state in self._held:
                self.__dict__.update(state)
                _furnish(self, content, wording, aside, len(self._held))
                super().showPage()
            super().save()

    return NumberedCanvas


def _furnish(canvas: Any, content: Content, wording: Wording, aside: float, pages: int) -> None:
    """Running head and foot."""
    width, height = canvas._pagesize
    canvas.setFont(BODY, 7.2)
    canvas.setFillColor(GREY)
    canvas.setStrokeColor(RULE)
    canvas.setLineWidth(0.4)
    top, bottom = height - _HEAD, _HEAD - 3 * MM
    left, right = aside, width - aside
    canvas.drawString(left, top, content.contractor)
    canvas.drawRightString(right, top, content.title)
    canvas.line(left, top - 4, right, top - 4)
    canvas.line(left, bottom + 9, right, bottom + 9)
    canvas.drawString(left, bottom, content.identification)
    canvas.drawRightString(right, bottom, wording.word("page", page=canvas._pageNumber, pages=pages))
