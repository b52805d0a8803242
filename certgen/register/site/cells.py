"""What several pages show alike: days, verdicts, a list of certificates."""

from datetime import date

from markupsafe import Markup, escape

from certgen.assessment.rules import PASSING
from certgen.certificate.content import Column, Table
from certgen.certificate.wording import Wording
from certgen.register.entry import Certificate
from certgen.register.site.holdings import Line, Listed
from certgen.register.site.page import link, parted
from certgen.survey.survey import Round

_HEADS = ("site_certificate", "site_revision", "dates_of_work", "date_of_issue", "as_found", "as_left")


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
