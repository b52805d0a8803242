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

_MARGIN = 18.0 * MM
_HEAD = 14.0 * MM


def certificate_pdf(assessment: Assessment, wording: Wording, paper: Paper) -> bytes:
    """Return the certificate as the bytes of a PDF; deterministic for the same input."""
    load_fonts()
    content = compose(assessment, wording)
    width = PAGE_SIZES[paper][0] - 2 * _MARGIN
    figures = {
        "line": line_diagram(assessment, wording, width),
        "plot": [
            Picture(wording.word("plot_caption"), drawing)
            for drawing in found_left_plot(assessment, wording, width)
        ],
    }
    buffer = BytesIO()
    document = _document(buffer, content, paper)
    document.build(list(flowables(content, figures, width)), canvasmaker=_canvas_maker(content, wording))
    return buffer.getvalue()


def _document(buffer: BytesIO, content: Content, paper: Paper) -> Any:
    width, height = PAGE_SIZES[paper]
    frame = Frame(
        _MARGIN,
        _MARGIN,
        width - 2 * _MARGIN,
        height - 2 * _MARGIN - 4 * MM,
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


def _canvas_maker(content: Content, wording: Wording) -> type:
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
                _furnish(self, content, wording, len(self._held))
                super().showPage()
            super().save()

    return NumberedCanvas


def _furnish(canvas: Any, content: Content, wording: Wording, pages: int) -> None:
    """Running head and foot."""
    width, height = canvas._pagesize
    canvas.setFont(BODY, 7.2)
    canvas.setFillColor(GREY)
    canvas.setStrokeColor(RULE)
    canvas.setLineWidth(0.4)
    top, bottom = height - _HEAD, _HEAD - 3 * MM
    canvas.drawString(_MARGIN, top, content.contractor)
    canvas.drawRightString(width - _MARGIN, top, content.title)
    canvas.line(_MARGIN, top - 4, width - _MARGIN, top - 4)
    canvas.line(_MARGIN, bottom + 9, width - _MARGIN, bottom + 9)
    canvas.drawString(_MARGIN, bottom, content.identification)
    canvas.drawRightString(
        width - _MARGIN, bottom, wording.word("page", page=canvas._pageNumber, pages=pages)
    )
