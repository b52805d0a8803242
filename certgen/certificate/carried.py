"""What an issued certificate carries, or a report beside it, read back from its bytes."""

import json
import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass

from certgen.assessment.results import Json
from certgen.certificate.archive_record import FORMAT, RESULTS, SURVEY
from certgen.certificate.opened import Opened, opened, unreadable
from certgen.certificate.report_record import REPORT, Kind
from certgen.errors import NotVerified
from certgen.survey.source import LARGEST_BYTES

_CALLED: Mapping[Kind, str] = {
    "study": "a reference study",
    "comparison": "a comparison of surveys",
    "trend": "a trend over several visits",
    "work sheet": "a work sheet for the moves",
}
_LARGEST = {SURVEY: LARGEST_BYTES, RESULTS: 16_000_000}
# the names under which a report carries its files; no other one is ever written to a disk
_NAME = re.compile(r"results\.json|survey(-[1-9][0-9]{0,3})?\.yaml")


@dataclass(frozen=True, slots=True)
class Carried(Opened):
    """A certificate taken apart, with the survey and the results inside it."""

    survey: bytes
    results: bytes

    def found(self) -> Json | None:
        """Return the results as data, None where they are no JSON of that kind."""
        try:
            found = json.loads(self.results)
        except (ValueError, RecursionError):
            return None
        return found if isinstance(found, dict) else None


def carried(data: bytes) -> Carried:
    """Return what a certificate carries; NotVerified where the bytes are no certificate of certgen."""
    found = opened(data)
    if _is(found, REPORT.format):
        raise NotVerified(
            f"this is {_called(found)}, not a certificate, and certgen verify is for certificates. "
            "Take out its surveys and results with certgen extract."
        )
    if not _is(found, FORMAT):
        raise NotVerified("this is not a certificate of certgen: its metadata names no such format.")
    files = _files(found)
    try:
        survey, results = files[SURVEY], files[RESULTS]
    except KeyError as error:
        raise unreadable(error) from None
    return Carried(data, found.base, found.reader, found.packet, found.packet_at, found.raw, survey, results)


def files_inside(data: bytes) -> tuple[dict[str, bytes], tuple[str, ...]]:
    """Return by name the files that a certificate or a report carries, and in words what else is embedded.

    NotVerified where the bytes are neither.
    """
    found = opened(data)
    if not _is(found, REPORT.format):
        certificate = carried(data)
        return {SURVEY: certificate.survey, RESULTS: certificate.results}, tuple(_others(certificate))
    files = _files(found)
    foreign = [name for name in files if not _NAME.fullmatch(name)]
    if foreign or RESULTS not in files:
        raise NotVerified("the files inside are not those of a report of certgen.")
    return files, tuple(_others(found))


def _others(found: Opened) -> Iterator[str]:
    """Files that certgen attaches to nothing: they may say anything."""
    for name, data in found.files().items():
        if not _NAME.fullmatch(name):
            yield f"{name}, {len(data)} bytes, which certgen attaches to no such file"
    if found.unlisted() > 0:
        yield f"{found.unlisted()} embedded files that no list of attachments names"


def _is(found: Opened, form: str) -> bool:
    """Whether the metadata names this form, in any of its versions."""
    return found.metadata("certgen:format").partition("/")[0] == form.partition("/")[0]


def _called(found: Opened) -> str:
    """What a report is; what its metadata says is not repeated unseen."""
    kind = found.metadata("certgen:kind")
    return next((text for name, text in _CALLED.items() if name == kind), "a report")


def _files(found: Opened) -> dict[str, bytes]:
    files = found.files()
    for name, most in _LARGEST.items():
        if len(files.get(name, b"")) > most:
            raise NotVerified(
                f"{name} inside is larger than any that certgen attaches ({most // 1_000_000} MB)."
            )
    return files
