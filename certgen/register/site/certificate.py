"""The page of a certificate: what it says in short, as it was recorded, and its files."""

import json
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from functools import cached_property
from typing import Any

from certgen.assessment.assessment import ASPECTS
from certgen.document.content import Block, Column, Facts, Paragraphs, Section, Table, Verdicts
from certgen.document.line_status import Judged, verdict_box
from certgen.document.result_tables import result_table
from certgen.errors import CertgenError
from certgen.register.entries import FILE_NAMES, RESULTS, SURVEY
from certgen.register.line_visits import recorded_survey
from certgen.register.site.holdings import Line, Listed
from certgen.register.site.page import INDEX, Page, day, link, plain, sections_html, standing, work_days
from certgen.results.survey_results import FORMAT, recorded_doubt, recorded_rolls
from certgen.survey import accept, read_bytes
from certgen.survey.survey import ROUNDS, Round, Survey
from certgen.wording.rounding import NOTHING, UNIT_SETS
from certgen.wording.values import Numbers, numbers_for
from certgen.wording.wording import Wording

Json = Mapping[str, Any]
Files = Mapping[str, bytes]
_UP = "../"
_INSTRUMENT = ("kind", "serial", "calibrated", "due", "traceable")


@dataclass(frozen=True)
class Shown:
    """A certificate with its files by name, and the line it is of; `linked`: the site holds the files."""

    kept: Listed
    line: Line
    files: Files
    linked: bool

    @cached_property
    def recorded(self) -> Json:
        """The results recorded; nothing where they are gone, or of a form that this certgen does not know."""
        if RESULTS not in self.files:
            return {}
        found: Json = json.loads(self.files[RESULTS])
        return found if found.get("format") == FORMAT else {}


def certificate_page(shown: Shown, wording: Wording) -> Page:
    """Return the page of a certificate; what it says of the rolls is what was recorded."""
    said = shown.kept.certificate
    instruments = Table(
        caption="",
        columns=tuple(Column(wording.word(key), "left") for key in _INSTRUMENT),
        rows=tuple(
            (one.kind, one.serial, day(one.calibrated, wording), day(one.due, wording), one.traceable_to)
            for one in said.instruments
        ),
    )
    sections = (
        Section(wording.word("section_verdict"), (_verdicts(shown, wording),)),
        Section(wording.word("section_parties"), (Facts(tuple(_facts(shown, wording)), columns=2),)),
        Section(wording.word("section_results"), tuple(_results(shown, wording))),
        Section(wording.word("section_instruments"), (instruments,)),
        Section(wording.word("site_section_files"), tuple(_files(shown, wording))),
    )
    trail = ((wording.word("site_title"), INDEX), (said.line, shown.line.page))
    return Page(
        file=shown.kept.page,
        heading=wording.word("number", number=said.number, revision=said.revision),
        below=f"{said.line}, {standing(shown.kept, shown.line, wording)}",
        body=sections_html(sections, {}),
        trail=trail,
    )


def file_name(kept: Listed, name: str) -> str:
    """Return where a file of a certificate stands in the site."""
    return f"files/{kept.name}.{name.rpartition('.')[2]}"


def _verdicts(shown: Shown, wording: Wording) -> Verdicts:
    said = shown.kept.certificate
    overall = {"as_found": said.as_found, "as_left": said.as_left}
    boxes = (verdict_box(overall[w], _judged(shown.recorded, w), wording) for w in ROUNDS)
    return Verdicts(tuple(boxes))


def _judged(results: Json, which: Round) -> Judged:
    """Return what a verdict on a round counts, as far as it was recorded."""
    pairs = [
        (f"{one['from']} {NOTHING} {one['to']}", one[name][which]["verdict"])
        for one in results.get("adjacent", ())
        for name in ASPECTS
    ]
    missing = results.get("overall", {}).get("missing", {}).get(which, ())
    rolls = recorded_rolls(results) if results else ()
    return Judged(which, rolls, pairs, [(one["roll"], one["aspect"]) for one in missing])


def _facts(shown: Shown, wording: Wording) -> Iterator[tuple[str, str]]:
    kept, said = shown.kept, shown.kept.certificate
    yield plain(wording, "contractor"), said.contractor
    yield plain(wording, "customer"), said.customer
    yield plain(wording, "line"), link(_UP + shown.line.page, said.line)
    yield plain(wording, "dates_of_work"), work_days(said.started, said.finished, wording)
    yield plain(wording, "asset"), said.asset
    yield plain(wording, "date_of_issue"), day(said.issued, wording)
    yield plain(wording, "location"), said.location
    yield plain(wording, "order"), said.order
    yield plain(wording, "decision_rule"), wording.word(said.decision)
    yield plain(wording, "site_standing"), standing(kept, shown.line, wording)
    yield (
        plain(wording, "site_entry"),
        wording.word("site_entry_text", number=kept.sequence, time=kept.recorded),
    )
    if kept.signed is not None:
        yield plain(wording, "site_signed"), kept.signed
    if said.supersedes is not None:
        yield plain(wording, "supersedes"), said.supersedes
        yield plain(wording, "amended"), said.reason or ""


def _results(shown: Shown, wording: Wording) -> Iterator[Block]:
    if not shown.recorded:
        yield Paragraphs((wording.word("site_no_results" if shown.kept.kept else "site_gone"),))
        return
    survey, rolls = _survey(shown), recorded_rolls(shown.recorded)
    numbers = (
        Numbers(UNIT_SETS["mm"], shown.kept.certificate.decision, wording.digits)
        if survey is None
        else numbers_for(survey, wording.digits)
    )
    for name in ASPECTS:
        if any(roll.aspect(name).recorded for roll in rolls):
            doubtful = recorded_doubt(shown.recorded, name)
            yield result_table(rolls, name, numbers, wording, doubtful=doubtful, survey=survey)


def _survey(shown: Shown) -> Survey | None:
    """The survey, for units and sizes; None where today's certgen refuses it: slopes in mm/m then."""
    number = shown.kept.certificate.number
    try:
        survey, edition = recorded_survey(shown.files[SURVEY], shown.files[RESULTS])
        return accept(number, read_bytes(number, survey, edition))
    except CertgenError:
        return None


def _files(shown: Shown, wording: Wording) -> Iterator[Block]:
    kept = shown.kept
    if not kept.kept:
        yield Paragraphs((wording.word("site_gone"),))
    yield Table(
        caption="",
        columns=tuple(
            Column(wording.word(key), "left") for key in ("site_file", "site_bytes", "site_digest")
        ),
        rows=tuple(_file(shown, name, wording) for name in FILE_NAMES),
    )
    if kept.kept:
        name = f"{kept.name}.pdf"
        yield Paragraphs((wording.word("site_verify", name=name, number=kept.certificate.number),))


def _file(shown: Shown, name: str, wording: Wording) -> tuple[str, str, str]:
    text = wording.word(f"site_file_{name.partition('.')[0]}")
    there = shown.files.get(name)
    what = link(_UP + file_name(shown.kept, name), text) if shown.linked and there is not None else text
    return what, "" if there is None else f"{len(there)}", shown.kept.sha256[name]
