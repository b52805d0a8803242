"""The certificate as one page for a browser: records and drawings of the paper, nothing from elsewhere."""

from collections.abc import Iterator

from markupsafe import Markup

from certgen.assessment.assessment import Assessment
from certgen.certificate.content import Content
from certgen.certificate.diagram import Picture, line_diagram
from certgen.certificate.html_blocks import Figures, section_html
from certgen.certificate.html_figures import figure_html, letterhead_html
from certgen.certificate.html_frame import Frame, framed
from certgen.certificate.html_style import style
from certgen.certificate.inks import inks
from certgen.certificate.plots import found_left_plot
from certgen.certificate.wording import Wording

# points; printed as wide as this, the drawings are true to their scales
_WIDTH = 500.0
_HEADER = Markup("""\
{letterhead}<h1>{title}</h1>
<p class="of">{identification}</p>
<nav aria-label="{contents}"><ul>{entries}</ul></nav>""")


def certificate_html(assessment: Assessment, content: Content, wording: Wording) -> str:
    """Return the page; deterministic for the same certificate."""
    header = _HEADER.format(
        letterhead=letterhead_html(content.letterhead, wording.look.logo, content.contractor),
        title=content.title,
        identification=content.identification,
        contents=wording.word("html_contents"),
        entries=Markup("").join(_entries(content)),
    )
    return framed(
        Frame(
            language=content.language,
            title=f"{content.title}, {content.identification}",
            style=style(wording.look, _WIDTH),
            skip=wording.word("html_skip"),
            main="certificate",
            header=header,
            body=Markup("\n").join(_sections(content, _figures(assessment, wording))),
            foot=Markup("<p>{}</p><p>{}</p>").format(content.contractor, content.end),
        )
    )


def _figures(assessment: Assessment, wording: Wording) -> Figures:
    ink, caption, label = inks(wording.look), wording.word("plot_caption"), wording.word("section_diagram")
    plots = [Picture(caption, drawing) for drawing in found_left_plot(assessment, wording, _WIDTH)]
    line = [figure_html(one, label, ink) for one in line_diagram(assessment, wording, _WIDTH)]
    note = Markup('<p class="note">{}</p>').format(wording.word("html_scale"))
    return {
        "line": [*line, note],
        "plot": [figure_html(one, label, ink) for one in plots],
    }


def _entries(content: Content) -> Iterator[Markup]:
    for number, section in enumerate(content.sections, 1):
        yield Markup('<li><a href="#s{}">{}</a></li>').format(number, section.title)


def _sections(content: Content, figures: Figures) -> Iterator[Markup]:
    for number, section in enumerate(content.sections, 1):
        yield section_html(section, number, figures)
