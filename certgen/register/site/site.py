"""All files of the site, one after the other: what is made of one line is let go before the next."""

import json
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from datetime import date

from certgen.register.due import RanOut, calibrations_ran_out
from certgen.register.entries import Head
from certgen.register.find import Wanted
from certgen.register.register import Register
from certgen.register.site.certificate import Shown, certificate_page, file_name
from certgen.register.site.holdings import Holdings, Line, Listed, holdings, told
from certgen.register.site.line import line_page
from certgen.register.site.overview import Overview, Row, line_row, overview_page
from certgen.register.site.page import Page, Pages
from certgen.survey.quantities import Every
from certgen.wording.wording import Wording

File = tuple[str, bytes]
FORMAT, ABOUT = "certgen-site/1", "site.json"


@dataclass(frozen=True, slots=True)
class Wish:
    """What a site is to show: which certificates, on what day, and how often a line is to be surveyed.

    `linked` says whether the certificates themselves, their surveys and results go along.
    """

    wanted: Wanted
    on: date
    interval: Every
    linked: bool = True


@dataclass(frozen=True, slots=True)
class Part:
    """The row of a line in the overview, and the files of the line and of its certificates."""

    row: Row
    files: list[File]


@dataclass(frozen=True, slots=True)
class Site:
    """A site in the making; `held` is what it shows."""

    register: Register
    wish: Wish
    wording: Wording
    held: Holdings

    def files(self) -> Iterator[list[File]]:
        """Yield the files of one line after the other, with those of its certificates; the overview last."""
        rows = []
        for line in self.held.lines:
            part = self.part(line)
            rows.append(part.row)
            yield part.files
        yield self.overview(rows)

    def part(self, line: Line) -> Part:
        """Return what is made of one line; no other part is needed for it."""
        found = told(self.register, line, self.wish.interval)
        files = [
            self._file(line_page(line, found, self.wish.on, self.wording)),
            *(file for kept in line.certificates for file in self._certificate(kept, line)),
        ]
        return Part(line_row(line, found, self.wish.on, self.wording), files)

    def overview(self, rows: Sequence[Row]) -> list[File]:
        """Return what comes last, from the rows of all lines in their order."""
        shown = Overview(self.held, rows, self._ran_out(), self.wish.on)
        # what tells programs that a folder is a site, and of what
        said = {"format": FORMAT, "head": str(self.held.head), "on": self.wish.on.isoformat()}
        about = f"{json.dumps(said, indent=1)}\n".encode()
        return [self._file(overview_page(shown, self.wording)), (ABOUT, about)]

    def _certificate(self, kept: Listed, line: Line) -> Iterator[File]:
        files = self.register.files(list(kept.sha256.values())) if kept.kept else {}
        named = {name: files[digest] for name, digest in kept.sha256.items() if digest in files}
        yield self._file(certificate_page(Shown(kept, line, named, self.wish.linked), self.wording))
        if self.wish.linked:
            yield from ((file_name(kept, name), data) for name, data in named.items())

    def _file(self, page: Page) -> File:
        day = self.wording.date(self.wish.on)
        foot = self.wording.word("site_foot", day=day, head=self.held.head)
        return page.file, Pages(self.wording, foot).html(page)

    def _ran_out(self) -> list[RanOut]:
        """Calibrations under certificates that the site shows; others stay unnamed."""
        shown = {(one.certificate.number, one.certificate.revision) for one in self.held.certificates}
        found = calibrations_ran_out(self.register, self.wish.on)
        kept = (replace(one, certificates=tuple(c for c in one.certificates if c in shown)) for one in found)
        return [one for one in kept if one.certificates]


def site(register: Register, wish: Wish, wording: Wording, head: Head | None = None) -> Site:
    """Return the site of a register, to be made file by file, up to where it ended at `head` or ends now."""
    return Site(register, wish, wording, holdings(register, wish.wanted, head or register.head()))
