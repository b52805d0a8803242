"""How the work on one file of a batch ended."""

from dataclasses import dataclass
from typing import Literal

from certgen.findings import escaped

State = Literal["issued", "verified", "accepted", "unchanged", "failed"]


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
