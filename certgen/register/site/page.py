"""The frame of every page of the site: head, way back, main part; nothing from elsewhere."""

from collections.abc import Sequence
from dataclasses import dataclass

from markupsafe import Markup, escape

from certgen.certificate.content import Section
from certgen.certificate.html_blocks import Figures, section_html
from certgen.certificate.html_figures import letterhead_html
from certgen.certificate.html_frame import Frame, framed
from certgen.certificate.html_style import style
from certgen.certificate.wording import Wording, unhyphenated

INDEX = "index.html"
_WHOLE = 18  # letters
WIDTH = 500.0  # of drawings, in points
_MORE_STYLE = """\
.search{margin:1.2rem 0}
.search label{display:block;font-weight:600}
.search input{font:inherit;width:100%;max-width:32rem;padding:.5em .7em;border:1px solid var(--grey)}
.search input:focus-visible{outline:3px solid var(--left);outline-offset:2px}
.search p{margin:.4rem 0;min-height:1.5em;color:var(--grey)}
.trail{padding-top:1rem;border:0}
.trail ol{list-style:none;margin:0;padding:0;display:flex;flex-wrap:wrap;gap:.3em}
.trail li+li::before{content:"/";padding-right:.3em;color:var(--grey)}
.trail a{display:inline;padding:0}
main a{color:var(--left)}
time,.whole{white-space:nowrap}
.long{display:inline-block;min-width:9rem;overflow-wrap:anywhere}
a .long{text-decoration:underline}
td{overflow-wrap:break-word}
footer{overflow-wrap:anywhere}
@media print{.search{display:none}}
"""
_LONG = Markup('<span class="long">{}</span>')
_HEADER = Markup("""\
{letterhead}{trail}<h1>{heading}</h1>
<p class="of">{below}</p>""")


@dataclass(frozen=True, slots=True)
class Page:
    """One page: where it stands in the site, its heading, the line below that, and what is in it.

    `trail` leads back: titles with the pages they stand for, as seen from the top of the site.
    """

    file: str
    heading: str
    below: str
    body: Markup
    trail: tuple[tuple[str, str], ...] = ()
    script: str = ""

    @property
    def up(self) -> str:
        """What leads from this page to the top of the site."""
        return "../" * self.file.count("/")


@dataclass(frozen=True, slots=True)
class Pages:
    """What all pages share: words and look, and the line at their foot."""

    wording: Wording
    foot: str

    def html(self, page: Page) -> bytes:
        """Return a page as the bytes of its file."""
        look, title = self.wording.look, self.wording.word("site_title")
        header = _HEADER.format(
            letterhead=letterhead_html(look.letterhead, look.logo, self.wording.word("site_logo")),
            trail=self._trail(page),
            heading=page.heading,
            below=page.below,
        )
        frame = Frame(
            language=self.wording.language,
            title=page.heading if page.file == INDEX else f"{page.heading} – {title}",
            style=style(look, WIDTH) + _MORE_STYLE,
            skip=self.wording.word("site_skip"),
            main="main",
            header=header,
            body=page.body,
            foot=Markup("<p>{}</p>").format(self.foot),
            script=page.script,
        )
        return framed(frame).encode()

    def _trail(self, page: Page) -> Markup:
        if not page.trail:
            return Markup("")
        links = Markup("").join(
            Markup("<li>{}</li>").format(link(page.up + file, title)) for title, file in page.trail
        )
        label = self.wording.word("site_trail")
        return Markup('<nav class="trail" aria-label="{}"><ol>{}</ol></nav>\n').format(label, links)


def sections_html(sections: Sequence[Section], figures: Figures) -> Markup:
    """Return sections one after the other, those without anything in them left out."""
    numbered = enumerate((section for section in sections if section.blocks), 1)
    return Markup("\n").join(section_html(section, number, figures) for number, section in numbered)


def link(target: str, text: str) -> Markup:
    """Return a link, in one piece where it is short; file names of a site need no quoting."""
    whole = Markup(' class="whole"') if len(text) < _WHOLE else Markup("")
    return Markup('<a href="{}"{}>{}</a>').format(target, whole, parted(text))


def parted(text: str) -> Markup:
    """Return a text whose long words may be parted anywhere, so that they push no other column aside."""
    words = (_LONG.format(word) if len(word) >= _WHOLE else escape(word) for word in text.split(" "))
    return Markup(" ").join(words)


def plain(wording: Wording, key: str) -> str:
    """Return a word without the places where it may be parted."""
    return unhyphenated(wording.word(key))
