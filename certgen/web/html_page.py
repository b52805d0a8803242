"""The certificate as one page for a browser: frame, style, drawings as SVG; nothing from elsewhere.

Every text states its length, so that labels keep apart in whatever font the reader has.
"""

from base64 import b64encode
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from hashlib import sha256
from typing import Any

from markupsafe import Markup
from reportlab.graphics.shapes import (
    Circle,
    Drawing,
    Group,
    Line,
    Path,
    Polygon,
    PolyLine,
    Rect,
    String,
)
from reportlab.lib.colors import Color

from certgen.assessment.assessment import Assessment
from certgen.document.content import Content
from certgen.figures.line_diagram import Picture, line_diagram
from certgen.figures.look import STRONG, Ink, inks, width_of
from certgen.figures.outline import outline
from certgen.figures.plots import found_left_plot
from certgen.web.html_blocks import Figures, section_html, wide
from certgen.wording.wording import HouseLook, Logo, Wording

Paint = Callable[[Any], Any]
_STEPS = (("M", 2), ("L", 2), ("C", 6), ("Z", 0))
_STYLE = """\
:root{--found:%(found)s;--left:%(left)s;--ink:#1a1a1a;--grey:#595959;--rule:#b8b8b8;--band:#eef1f5}
*{box-sizing:border-box}
html{-webkit-text-size-adjust:100%%}
body{margin:0;color:var(--ink);background:#fff;hyphens:manual}
body{font:1rem/1.5 "Open Sans","Segoe UI",Roboto,Arial,sans-serif}
.skip{position:absolute;left:-999em;background:#fff;padding:.6em 1em}
.skip:focus{left:.5em;top:.5em;outline:3px solid var(--left)}
header,main,footer{max-width:66rem;margin:0 auto;padding:0 1rem}
.letterhead{display:flex;flex-wrap:wrap;gap:1rem;justify-content:space-between;align-items:center;padding-top:1rem}
.letterhead p{margin:0;color:var(--grey)}
.letterhead p:first-child{color:var(--ink);font-weight:600}
.letterhead img{max-height:4.5rem;max-width:min(16rem,100%%)}
h1{font-size:1.7rem;line-height:1.2;margin:1.2rem 0 .2rem}
h1,.of,.trail{overflow-wrap:anywhere}
h2{font-size:1.2rem;color:var(--left);margin:2rem 0 .5rem}
.of{color:var(--grey);margin:0 0 1rem}
nav{border-top:1px solid var(--rule);border-bottom:1px solid var(--rule);padding:.4rem 0}
nav ul{margin:.3rem 0;padding:0;list-style:none;columns:16rem}
nav a{display:block;padding:.25rem 0;color:var(--left)}
a:focus-visible,.wide:focus-visible{outline:3px solid var(--left);outline-offset:2px}
.verdicts{display:flex;flex-wrap:wrap;gap:1rem}
.verdict{flex:1 1 16rem;border-top:4px solid var(--left);padding:.5rem 0}
.verdict.dashed{border-top:4px dashed var(--found)}
.verdict.notice{border:3px solid var(--ink);padding:.5rem 1rem}
.verdict p{margin:0;color:var(--grey)}
.verdict.notice{margin:1rem 0}
.verdict.notice p{color:var(--ink);margin:.3rem 0}
.verdict .says{color:var(--ink);font-size:1.4rem;line-height:1.25;font-weight:600}
.parties{display:flex;flex-wrap:wrap;gap:.5rem 2rem;margin:1rem 0}
.parties p{flex:1 1 11rem;margin:0;overflow-wrap:anywhere;line-height:1.35}
dl.says dt{color:var(--ink);font-weight:600}
dl.says dt,dl.says dd{border:0}
summary{padding:.25rem 0;cursor:pointer}
tr.group th{font-style:italic;font-weight:400}
.fits svg{min-width:0}
.facts{display:flex;flex-wrap:wrap;gap:0 2rem}
.facts dl{flex:1 1 20rem;align-content:start}
dl{display:grid;grid-template-columns:minmax(8rem,max-content) 1fr;margin:.6rem 0}
dt,dd{margin:0;padding:.3rem .8rem .3rem 0;border-bottom:1px solid var(--rule);overflow-wrap:anywhere}
dt{color:var(--grey)}
.wide{overflow-x:auto;margin:.8rem 0;background-color:#fff;background-repeat:no-repeat;
background-image:linear-gradient(90deg,#fff 40%%,#fff0),linear-gradient(270deg,#fff 40%%,#fff0),
linear-gradient(90deg,#0005,#0000),linear-gradient(270deg,#0005,#0000);
background-position:0 0,100%% 0,0 0,100%% 0;background-size:3rem 100%%,3rem 100%%,.9rem 100%%,.9rem 100%%;
background-attachment:local,local,scroll,scroll}
table{border-collapse:collapse;font-size:.9rem;width:100%%}
caption,figcaption{text-align:left;font-weight:600;padding:.3rem 0}
th,td{padding:.3rem .6rem;text-align:left;vertical-align:top}
thead th,thead td{vertical-align:bottom}
thead tr:last-child>*{border-bottom:1px solid var(--ink)}
thead th[colspan]{text-align:center;border-bottom:1px solid var(--grey)}
tbody tr{border-bottom:1px solid var(--rule)}
tbody tr:last-child{border-bottom:2px solid var(--ink)}
.n{text-align:right;font-variant-numeric:tabular-nums;white-space:nowrap}
tr.bold{font-weight:600}
.note{font-size:.85rem;color:var(--grey);font-style:italic;margin:0 0 1rem}
figure{margin:1rem 0}
svg{display:block;width:100%%;min-width:40rem;height:auto;font-family:"Open Sans",Arial,sans-serif}
.sign{display:flex;flex-wrap:wrap;gap:2rem;margin-top:3rem}
.sign p{flex:1 1 14rem;border-top:1px solid var(--ink);margin:0;padding-top:.3rem}
footer{color:var(--grey);text-align:center;padding-top:1rem;padding-bottom:2rem}
@media (max-width:40rem){
dl{grid-template-columns:1fr}
dt{border-bottom:0;padding-bottom:0}
tbody th{position:sticky;left:0;background:#fff}
}
@media print{
.skip,nav{display:none}
html{font-size:7.6pt}
th,td{padding:.2rem .3rem}
header,main,footer{max-width:none;padding:0}
.wide{overflow:visible;background:none}
svg{width:%(width)gpt;min-width:0}
h2,caption,figcaption,thead{break-after:avoid}
tbody tr:first-child{break-before:avoid}
tr,figure,.verdict,.sign{break-inside:avoid}
thead{display:table-header-group}
}
"""
_FRAME = Markup("""\
<!DOCTYPE html>
<html lang="{language}">
<head>
<meta charset="utf-8">
<meta name="viewport" content="width=device-width, initial-scale=1">
<meta http-equiv="Content-Security-Policy"
 content="default-src 'none'; style-src 'unsafe-inline'; img-src data:{allowed}">
<meta name="generator" content="certgen">
<title>{title}</title>
<style>
{style}</style>
</head>
<body>
<a class="skip" href="#{main}">{skip}</a>
<header>
{header}
</header>
<main id="{main}" tabindex="-1">
{body}
</main>
<footer>{foot}</footer>
{script}</body>
</html>
""")
_MEDIA = {"png": "image/png", "svg": "image/svg+xml"}
# points; printed as wide as this, the drawings are true to their scales
_WIDTH = 500.0
_HEADER = Markup("""\
{letterhead}<h1>{title}</h1>
<p class="of">{identification}</p>
<nav aria-label="{contents}"><details><summary>{contents}</summary><ul>{entries}</ul></details></nav>""")


def svg(drawing: Drawing, label: str, ink: Paint) -> Markup:
    """Return the drawing as an SVG element that says what it shows; `ink` turns colours into those wanted."""
    shapes = Markup("").join(_shapes(drawing.contents, ink))
    return Markup(
        '<svg xmlns="http://www.w3.org/2000/svg" role="img" aria-label="{}" viewBox="0 0 {} {}" width="{}">'
        '<g transform="matrix(1 0 0 -1 0 {})">{}</g></svg>'
    ).format(label, _n(drawing.width), _n(drawing.height), _n(drawing.width), _n(drawing.height), shapes)


def _shapes(shapes: list[Any], ink: Paint) -> Iterator[Markup]:
    for shape in shapes:
        yield _MAKERS[type(shape)](shape, ink)


def _group(group: Any, ink: Paint) -> Markup:
    inner = Markup("").join(_shapes(group.contents, ink))
    return Markup('<g transform="matrix({})">{}</g>').format(" ".join(map(_n, group.transform)), inner)


def _line(line: Any, ink: Paint) -> Markup:
    ends = tuple(map(_n, (line.x1, line.y1, line.x2, line.y2)))
    return Markup('<path d="M{} {}L{} {}"{}/>').format(*ends, _paint(line, ink, filled=False))


def _poly(poly: Any, ink: Paint) -> Markup:
    closed = isinstance(poly, Polygon)
    points = " ".join(map(_n, poly.points))
    return Markup('<{} points="{}"{}/>').format(
        "polygon" if closed else "polyline", points, _paint(poly, ink, filled=closed)
    )


def _circle(circle: Any, ink: Paint) -> Markup:
    sizes = tuple(map(_n, (circle.cx, circle.cy, circle.r)))
    return Markup('<circle cx="{}" cy="{}" r="{}"{}/>').format(*sizes, _paint(circle, ink))


def _rect(rect: Any, ink: Paint) -> Markup:
    sizes = tuple(map(_n, (rect.x, rect.y, rect.width, rect.height)))
    return Markup('<rect x="{}" y="{}" width="{}" height="{}"{}/>').format(*sizes, _paint(rect, ink))


def _path(path: Any, ink: Paint) -> Markup:
    points, steps = iter(path.points), []
    for operator in path.operators:
        letter, count = _STEPS[operator]
        steps.append(letter + " ".join(_n(next(points)) for _ in range(count)))
    return Markup('<path d="{}"{}/>').format("".join(steps), _paint(path, ink))


def _string(string: Any, ink: Paint) -> Markup:
    width = width_of(string.text, string.fontName, string.fontSize)
    return Markup(
        '<text transform="matrix(1 0 0 -1 {} {})" font-size="{}"{} text-anchor="{}" textLength="{}"'
        ' lengthAdjust="spacingAndGlyphs" fill="{}">{}</text>'
    ).format(
        _n(string.x),
        _n(string.y),
        _n(string.fontSize),
        Markup(' font-weight="600"') if string.fontName == STRONG else "",
        string.textAnchor,
        _n(width),
        _colour(string.fillColor, ink),
        string.text,
    )


def _paint(shape: Any, ink: Paint, *, filled: bool = True) -> Markup:
    """Fill and stroke; a colour that is not there is `none`."""
    fill = _colour(shape.fillColor, ink) if filled else "none"
    stroke = _colour(shape.strokeColor, ink) if shape.strokeWidth else "none"
    if stroke == "none":
        return Markup(' fill="{}"').format(fill)
    found = Markup(' fill="{}" stroke="{}" stroke-width="{}"').format(fill, stroke, _n(shape.strokeWidth))
    dashes = shape.strokeDashArray
    return found + (Markup(' stroke-dasharray="{}"').format(" ".join(map(_n, dashes))) if dashes else "")


def _colour(colour: Any, ink: Paint) -> str:
    if not isinstance(colour, Color):
        return "none"
    return str(ink(colour).hexval()).replace("0x", "#")


def _n(number: float) -> str:
    """A length to a hundredth of a point; a turn's sine and cosine do with as many."""
    text = f"{number:.2f}".rstrip("0").rstrip(".")
    return "0" if text == "-0" else text


_MAKERS: dict[type, Callable[[Any, Paint], Markup]] = {
    Group: _group,
    Line: _line,
    Polygon: _poly,
    PolyLine: _poly,
    Circle: _circle,
    Rect: _rect,
    Path: _path,
    String: _string,
}


def style(look: HouseLook, width: float) -> str:
    """Return the style sheet in the colours of the look; drawings are printed that wide, in points."""
    return _STYLE % {"found": look.found, "left": look.left, "width": width}


@dataclass(frozen=True, slots=True)
class Frame:
    """What fills the frame: texts, which are escaped, and parts that are mark-up already.

    `main` is the id of the main part, `skip` the text of the link to it. `style` and `script` are the
    program's own.
    """

    language: str
    title: str
    style: str
    skip: str
    main: str
    header: Markup
    body: Markup
    foot: Markup
    script: str = ""


def framed(frame: Frame) -> str:
    """Return the whole page; it may run its own script and load nothing."""
    return _FRAME.format(
        language=frame.language,
        allowed=_allowed(frame.script),
        title=frame.title,
        style=Markup(frame.style),  # noqa: S704  # the program's own, its colours checked
        skip=frame.skip,
        main=frame.main,
        header=frame.header,
        body=frame.body,
        foot=frame.foot,
        script=_script(frame.script),
    )


def _allowed(script: str) -> str:
    """The one script of a page, by its digest (W3C Content Security Policy Level 3, 2.3.1)."""
    if not script:
        return ""
    return f"; script-src 'sha256-{b64encode(sha256(script.encode()).digest()).decode()}'"


def _script(script: str) -> Markup:
    if not script:
        return Markup("")
    return Markup("<script>{}</script>\n").format(Markup(script))  # noqa: S704  # the program's own


def figure_html(picture: Picture, label: str, ink: Ink, *, fits: bool = False) -> Markup:
    """Return a drawing with its caption or note; `label` says what it shows where it has none.

    One that `fits` is drawn as narrow as the screen; any other scrolls there.
    """
    label = picture.caption or picture.note or label
    if fits:
        note = Markup('<p class="note">{}</p>').format(picture.note)
        return Markup('<figure class="fits">{}</figure>{}').format(svg(picture.drawing, label, ink), note)
    drawn = wide(label, svg(picture.drawing, label, ink))
    caption = Markup("<figcaption>{}</figcaption>").format(picture.caption) if picture.caption else Markup("")
    return Markup("<figure>{}{}</figure>").format(caption, drawn)


def letterhead_html(lines: Sequence[str], logo: Logo | None, of: str) -> Markup:
    """Return the contractor's own lines and logo, which stands for the name `of`; nothing without both."""
    if not lines and logo is None:
        return Markup("")
    texts = Markup("").join(Markup("<p>{}</p>").format(line) for line in lines)
    picture = Markup("")
    if logo is not None:
        data = b64encode(logo.data).decode()
        picture = Markup('<img alt="{}" src="data:{};base64,{}">').format(of, _MEDIA[logo.kind], data)
    return Markup('<div class="letterhead"><div>{}</div>{}</div>\n').format(texts, picture)


def certificate_html(assessment: Assessment, content: Content, wording: Wording) -> str:
    """Return the page; deterministic for the same certificate."""
    header = _HEADER.format(
        letterhead=letterhead_html(content.letterhead, wording.look.logo, content.contractor),
        title=content.title,
        identification=" \N{EN DASH} ".join(filter(None, (content.identification, content.draft))),
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
    two = not assessment.one_round
    small = Picture("", outline(assessment, wording, _WIDTH, plan=True), wording.word("outline", two=two))
    return {
        "outline": [figure_html(small, label, ink, fits=True)],
        "line": [*line, note],
        "plot": [figure_html(one, label, ink) for one in plots],
    }


def _entries(content: Content) -> Iterator[Markup]:
    for number, section in enumerate(content.sections, 1):
        yield Markup('<li><a href="#s{}">{}</a></li>').format(number, section.head)


def _sections(content: Content, figures: Figures) -> Iterator[Markup]:
    for number, section in enumerate(content.sections, 1):
        yield section_html(section, number, figures)
