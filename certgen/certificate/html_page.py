"""The certificate as one page for a browser: records and drawings of the paper, nothing from elsewhere."""

from collections.abc import Iterator

from markupsafe import Markup

from certgen.assessment.assessment import Assessment
from certgen.certificate.content import Content
from certgen.certificate.diagram import Picture, line_diagram
from certgen.certificate.html_blocks import Figures, section_html
from certgen.certificate.html_figures import figure_html, letterhead_html
from certgen.certificate.html_style import style
from certgen.certificate.inks import inks
from certgen.certificate.plots import found_left_plot
from certgen.certificate.wording import Wording

# points; printed as wide as this, the drawings are true to their scales
_WIDTH = 500.0
_PAGE = Markup("""\
<!DOCTYPE html>
<html lang="{language}">
<head>
<meta charset="utf-8">
<meta name="viewport" content="width=device-width, initial-scale=1">
<meta http-equiv="Content-Security-Policy"
 content="default-src 'none'; style-src 'unsafe-inline'; img-src data:">
<meta name="generator" content="certgen">
<title>{title}, {identification}</title>
<style>
{style}</style>
</head>
<body>
<a class="skip" href="#certificate">{skip}</a>
<header>
{letterhead}<h1>{title}</h1>
<p class="of">{identification}</p>
<nav aria-label="{contents}"><ul>{entries}</ul></nav>
</header>
<main id="certificate" tabindex="-1">
{sections}
</main>
<footer><p>{contractor}</p><p>{end}</p></footer>
</body>
</html>
""")


def certificate_html(assessment: Assessment, content: Content, wording: Wording) -> str:
    """Return the page; deterministic for the same certificate."""
    figures = _figures(assessment, wording)
    return _PAGE.format(
        language=content.language,
        title=content.title,
        identification=content.identification,
        style=Markup(style(wording.look, _WIDTH)),  # noqa: S704  # the sheet is the program's own, its colours checked
        skip=wording.word("html_skip"),
        contents=wording.word("html_contents"),
        letterhead=letterhead_html(content.letterhead, wording.look.logo, content.contractor),
        entries=Markup("").join(_entries(content)),
        sections=Markup("\n").join(_sections(content, figures)),
        contractor=content.contractor,
        end=content.end,
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
