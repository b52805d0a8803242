"""Surveys of one folder whose certificates would bear the same number and revision."""

from collections.abc import Iterable, Mapping
from contextlib import suppress
from pathlib import Path

from certgen.cli.batch.jobs import Job
from certgen.cli.batch.outcome import Outcome
from certgen.errors import SurveyRefused
from certgen.findings import Finding
from certgen.survey.identity import Identity, identity

_HINT = "Give each survey a number of its own, a new issue of the same one its next revision."


def twins(jobs: Iterable[Job]) -> dict[Path, Outcome]:
    """Return the outcome of every survey that shares number and revision with another one: it is refused.

    Which of them is the one that may bear the number is not for certgen to guess, so none of them is issued.
    """
    named = {job.file: found for job in jobs if (found := _identity(job.file)) is not None}
    alike: dict[tuple[str, str], list[Path]] = {}
    for file, one in named.items():
        alike.setdefault((one.number, one.revision), []).append(file)
    return {
        file: _refused(file, files, named) for files in alike.values() if len(files) > 1 for file in files
    }


def _identity(file: Path) -> Identity | None:
    """What cannot be read is told by the work on it."""
    with suppress(OSError):
        return identity(str(file), file.read_bytes())
    return None


def _refused(file: Path, files: Iterable[Path], named: Mapping[Path, Identity]) -> Outcome:
    one, others = named[file], ", ".join(str(other) for other in files if other != file)
    message = f"certificate {one.number}, revision {one.revision}, stands in {others} as well"
    finding = Finding("error", one.place, "certificate.number", message, _HINT)
    return Outcome(str(file), "failed", SurveyRefused.exit_code, str(SurveyRefused(str(file), (finding,))))
