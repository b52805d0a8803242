"""Surveys of one folder whose certificates would bear the same number and revision, or the same name."""

from collections.abc import Iterable, Iterator, Mapping
from contextlib import suppress
from pathlib import Path
from typing import Any

from certgen.cli.batch.jobs import Job
from certgen.cli.batch.outcome import Outcome
from certgen.errors import SurveyRefused, WrongUsage
from certgen.findings import Finding
from certgen.survey.identity import Identity, identity

_HINT = "Give each survey a number of its own, a new issue of the same one its next revision."
_NAMES = "Give each survey a name of its own."


def twins(jobs: Iterable[Job]) -> dict[Path, Outcome]:
    """Return the outcome of every survey that another one stands in the way of: it is refused.

    They share number and revision, or would be written as the same file. Which of them is the one that may is
    not for certgen to guess, so none of them is issued.
    """
    every = tuple(jobs)
    return {**dict(_of_one_number(every)), **dict(_of_one_file(every))}


def _of_one_number(jobs: Iterable[Job]) -> Iterator[tuple[Path, Outcome]]:
    named = {job.file: found for job in jobs if (found := _identity(job.file)) is not None}
    for files in _alike((one.number, one.revision, file) for file, one in named.items()):
        yield from ((file, _refused(file, files, named)) for file in files)


def _of_one_file(jobs: Iterable[Job]) -> Iterator[tuple[Path, Outcome]]:
    targets = {job.file: job.target for job in jobs}
    for files in _alike((target, file) for file, target in targets.items()):
        for file in files:
            text = (
                f"{file}: would be issued as {targets[file]}, and so would {_others(file, files)}. {_NAMES}"
            )
            yield file, Outcome(str(file), "failed", WrongUsage.exit_code, text)


def _alike(rows: Iterable[tuple[Any, ...]]) -> list[list[Path]]:
    """The files that share all that stands before them in their row, where there are several."""
    alike: dict[tuple[Any, ...], list[Path]] = {}
    for *shared, file in rows:
        alike.setdefault(tuple(shared), []).append(file)
    return [files for files in alike.values() if len(files) > 1]


def _identity(file: Path) -> Identity | None:
    """What cannot be read is told by the work on it."""
    with suppress(OSError):
        return identity(str(file), file.read_bytes())
    return None


def _refused(file: Path, files: Iterable[Path], named: Mapping[Path, Identity]) -> Outcome:
    one = named[file]
    message = f"certificate {one.number}, revision {one.revision}, stands in {_others(file, files)} as well"
    finding = Finding("error", one.place, "certificate.number", message, _HINT)
    return Outcome(str(file), "failed", SurveyRefused.exit_code, str(SurveyRefused(str(file), (finding,))))


def _others(file: Path, files: Iterable[Path]) -> str:
    return ", ".join(str(other) for other in files if other != file)
