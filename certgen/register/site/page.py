"""The frame of every page of the site, and what several of them show alike."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

from markupsafe import Markup, escape

from certgen.assessment.rules import PASSING
from certgen.document.content import Column, Section, Table
from certgen.register.entries import Certificate
from certgen.register.site.holdings import Line, Listed
from certgen.survey.survey import Round
from certgen.web.html_blocks import Figures, section_html
from certgen.web.html_page import Frame, framed, letterhead_html, style
from certgen.wording.wording import Wording, unhyphenated

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
_HEADS = ("site_certificate", "site_revision", "dates_of_work", "date_of_issue", "as_found", "as_left")


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


def day(iso: str, wording: Wording) -> Markup:
    """Return a day, written YYYY-MM-DD in the register, in the form of the language."""
    return Markup('<time datetime="{}">{}</time>').format(iso, wording.date(date.fromisoformat(iso)))


def dated(wording: Wording, key: str, **days: str) -> Markup:
    """Return the word of that key with days in it, each written YYYY-MM-DD."""
    text = escape(wording.word(key, **{name: f"\0{name}\0" for name in days}))
    for name, iso in days.items():
        text = text.replace(f"\0{name}\0", day(iso, wording))
    return text


def work_days(first: str, last: str, wording: Wording) -> Markup:
    """Return the day or the days of the work."""
    if first == last:
        return dated(wording, "one_day", day=first)
    return dated(wording, "days", first=first, last=last)


def number_link(one: Listed, up: str) -> Markup:
    """Return a certificate number as a link to its page."""
    return link(up + one.page, one.certificate.number)


def is_passing(one: Listed) -> bool:
    """Whether the line stood within tolerance when it was surveyed last."""
    return last_verdict(one.certificate)[1] in PASSING


def last_verdict(said: Certificate) -> tuple[Round, str]:
    """Return the verdict as left, or as found where nothing was read as left."""
    if said.as_left == "not measured" and said.as_found != "not measured":
        return "as_found", said.as_found
    return "as_left", said.as_left


def standing_verdict(said: Certificate, wording: Wording) -> str:
    """Return how the line stood when it was surveyed last, in words."""
    which, verdict = last_verdict(said)
    told = wording.word(verdict)
    return told if which == "as_left" else f"{told} ({wording.inline(which)})"


def standing(one: Listed, line: Line, wording: Wording) -> str:
    """Return how a certificate stands: the latest of its line, replaced, and what later entries say."""
    told = [wording.word(f"site_{kind}", reason=reason) for kind, reason in one.marks]
    if one.replaced_by is not None:
        told.insert(0, wording.word("site_replaced", by=one.replaced_by))
    elif one.counts:
        told.insert(0, wording.word("site_latest" if one is line.latest else "site_not_replaced"))
    return wording.word("sheet_apart").join(told)


def certificates_table(line: Line, up: str, wording: Wording) -> Table:
    """Return the certificates of one line, each with a link to its page."""
    listed = line.certificates
    return Table(
        caption="",
        columns=tuple(Column(wording.word(key), "left") for key in (*_HEADS, "site_standing")),
        rows=tuple((*_cells(one, up, wording), parted(standing(one, line, wording))) for one in listed),
        emphasis=frozenset(place for place, one in enumerate(listed) if not is_passing(one)),
    )


def _cells(one: Listed, up: str, wording: Wording) -> tuple[str, ...]:
    said = one.certificate
    return (
        number_link(one, up),
        f"{said.revision}",
        work_days(said.started, said.finished, wording),
        day(said.issued, wording),
        wording.word(said.as_found),
        wording.word(said.as_left),
    )
