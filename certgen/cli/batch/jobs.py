"""What there is to do in a folder, one job for each file, and how the work on one ended."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any, Literal

from certgen.cli.register.where import named
from certgen.findings import escaped

_SURVEYS = (".yaml", ".yml")
State = Literal["issued", "verified", "accepted", "unchanged", "failed"]


@dataclass(frozen=True, slots=True)
class Job:
    """One file, where its outcome goes, and whether to verify it; `where` is the register to record it in."""

    file: Path
    target: Path | None
    verify: bool = False
    accept_unprinted: bool = False
    replace: bool = False
    where: str | None = None

    @property
    def arguments(self) -> tuple[str, ...]:
        """The call of certgen that does it; a name that begins with a dash is no option."""
        if self.verify:
            return ("verify", "--json", "--", str(self.file))
        replace = ("--replace",) if self.replace else ()
        kept = () if self.where is None else (f"--register={self.where}",)
        return ("issue", f"--output={self.target}", *replace, *kept, "--", str(self.file))


def issue_jobs(folder: Path, output: Path | None, more: dict[str, Any]) -> list[Job]:
    """Return a job for every survey in a folder."""
    where = named() if more["record"] and more["where"] is None else more["where"]
    return [
        Job(file, (output or folder) / f"{file.stem}.pdf", replace=more["replace"], where=where)
        for file in _files(folder, _SURVEYS)
    ]


def verify_jobs(folder: Path, output: Path | None, accept_unprinted: bool) -> list[Job]:
    """Return a job for every PDF in a folder."""
    return [
        Job(file, None if output is None else output / f"{file.name}.json", True, accept_unprinted)
        for file in _files(folder, (".pdf",))
    ]


def _files(folder: Path, endings: Sequence[str]) -> Iterable[Path]:
    """The files with such an ending by name, hidden ones left out."""
    found = (path for path in folder.iterdir() if path.suffix.lower() in endings and path.is_file())
    return sorted(path for path in found if not path.name.startswith("."))


@dataclass(frozen=True, slots=True)
class Outcome:
    """The file, how it ended, the exit status it would have had by itself, and what was said about it."""

    file: str
    state: State
    status: int = 0
    text: str = ""

    def line(self) -> str:
        """Return it as one line, what was said in further ones."""
        told = "".join(f"\n  {line}" for line in self.text.splitlines())
        return f"{self.state:9} {escaped(str(self.file))}{told}"
