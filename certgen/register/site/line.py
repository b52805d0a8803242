"""The page of a line: what it is, when it is due, its certificates, and its trend over all visits."""

from collections.abc import Iterator
from datetime import date

from markupsafe import Markup, escape

from certgen.document.content import Facts, Paragraphs, Section
from certgen.figures.look import inks
from certgen.pdf.reports import compose_trend, trend_pictures
from certgen.register.site.holdings import Line, Told
from certgen.register.site.page import (
    INDEX,
    WIDTH,
    Page,
    certificates_table,
    dated,
    day,
    plain,
    sections_html,
)
from certgen.visits.trend import Trend
from certgen.web.html_blocks import Figures
from certgen.web.html_page import figure_html
from certgen.wording.wording import Wording

_UP = "../"


def line_page(line: Line, found: Told, on: date, wording: Wording) -> Page:
    """Return the page of a line as it stood on a day."""
    one = line.latest.certificate
    sections = [
        Section(wording.word("site_section_line"), (_facts(line, found, on, wording),)),
        Section(
            wording.word("site_section_certificates"),
            (certificates_table(line, _UP, wording),),
        ),
        *_trend(found, wording),
    ]
    figures = {} if found.trend is None else _figures(found.trend, wording)
    return Page(
        file=line.page,
        heading=one.line,
        below=f"{one.asset}, {one.customer}",
        body=sections_html(sections, figures),
        trail=((wording.word("site_title"), INDEX),),
    )


def _facts(line: Line, found: Told, on: date, wording: Wording) -> Facts:
    one = line.latest.certificate
    return Facts(
        (
            (plain(wording, "customer"), one.customer),
            (plain(wording, "location"), one.location),
            (plain(wording, "asset"), one.asset),
            (plain(wording, "order"), one.order),
            (plain(wording, "site_surveyed"), day(one.finished, wording)),
            (plain(wording, "site_due"), due_text(found, on, wording)),
        ),
        columns=2,
    )


def due_text(found: Told, on: date, wording: Wording) -> Markup:
    """Return by when to survey next, whether that day is past, and because of what."""
    if found.due is None:
        return escape(wording.word("site_not_followed"))
    key = "site_overdue" if found.is_overdue(on) else "site_due_by"
    because = wording.word(f"site_because_{found.because}")
    return Markup("{} ({})").format(dated(wording, key, day=found.due.isoformat()), because)


def why_no_trend(found: Told, wording: Wording) -> str:
    """Return in a sentence why there is no trend."""
    if found.why is None:
        return wording.word("site_one_visit")
    return wording.word("site_no_trend", why=str(found.why))


def _trend(found: Told, wording: Wording) -> Iterator[Section]:
    """The trend as its own document has it, without what the page has said already."""
    if found.trend is None:
        yield Section(wording.word("site_section_trend"), (Paragraphs((why_no_trend(found, wording),)),))
        return
    conclusion, _, *others = compose_trend(found.trend, wording).sections
    yield Section(wording.word("site_section_trend"), conclusion.blocks)
    yield from others


def _figures(found: Trend, wording: Wording) -> Figures:
    pictures, ink = trend_pictures(found, wording, WIDTH), inks(wording.look)
    return {"trend": [figure_html(one, wording.word("trend_section_plot"), ink) for one in pictures]}
