"""Every exception certgen raises on purpose, with the exit code it ends the program with.

    CertgenError
    ├── SurveyRefused          1   the survey file has faults; carries all of them
    ├── WrongUsage             2   the command was called wrongly, or with a path that cannot be read
    ├── CannotCompute          3   the survey is well formed and yet has no answer
    │   ├── RankDefect         3   the readings leave some unknowns free; names them
    │   └── NoSuchLetter       3   a text holds letters that no font of the certificate has; names them
    ├── CannotWrite            4   the output could not be written
    │   └── WouldReplace       4   it exists already and replacing it was not asked for
    ├── NotVerified            5   a certificate does not say what its survey gives, or was changed
    ├── NotCompared            6   its results hold, and its pages could not be printed anew and compared
    ├── RegisterRefused        4   the register cannot be reached, or does not take an entry
    │   ├── AlreadyRegistered  4   number and revision stand in it already, for another certificate
    │   └── RegisterInUse      4   it was added to while it was read as it stands
    └── RegisterBroken         5   the register was changed, or cannot be read as one

A roll outside its tolerance is a verdict, never an exception.
"""

from collections.abc import Hashable
from pathlib import Path

from certgen.findings import Finding, escaped


class CertgenError(Exception):
    """Base of all errors; `exit_code` is what the command line ends with.

    Its message is made of `lines`. What a file or its name says breaks no line of it and steers no terminal.
    """

    exit_code = 2

    def __init__(self, *lines: str) -> None:
        super().__init__("\n".join(map(escaped, lines)))


class SurveyRefused(CertgenError):
    """The survey file has faults. `findings` holds all of them, errors and warnings, in file order."""

    exit_code = 1

    def __init__(self, file: str, findings: tuple[Finding, ...]) -> None:
        self.file = file
        self.findings = findings
        super().__init__(*(finding.line(file) for finding in findings))


class WrongUsage(CertgenError):
    """The command was called wrongly, or with a path from which nothing can be read."""


class CannotCompute(CertgenError):
    """The survey is well formed and yet has no answer."""

    exit_code = 3


class RankDefect(CannotCompute):
    """The readings do not determine every unknown. `free` holds those that nothing ties down."""

    def __init__(self, free: tuple[Hashable, ...]) -> None:
        self.free = free
        super().__init__(f"not determined by the readings: {', '.join(map(str, free))}")


class NoSuchLetter(CannotCompute):
    """A text holds letters that no font of the certificate has. `letters` are those."""

    def __init__(self, letters: tuple[str, ...]) -> None:
        self.letters = letters
        named = ", ".join(f"{letter} (U+{ord(letter):04X})" for letter in letters)
        super().__init__(f"the fonts of the certificate lack {named}. Write the text with other letters.")


class CannotWrite(CertgenError):
    """The output at `path` could not be written; nothing of it was left behind."""

    exit_code = 4

    def __init__(self, path: Path, reason: str) -> None:
        self.path = path
        self.reason = reason
        super().__init__(f"{path}: {reason}")


class WouldReplace(CannotWrite):
    """The output exists already and replacing it was not asked for."""

    def __init__(self, path: Path) -> None:
        super().__init__(path, "exists already; nothing was written. Pass --replace to replace it.")


class NotVerified(CertgenError):
    """A certificate does not say what its survey gives, was changed, or cannot be read as one."""

    exit_code = 5


class NotCompared(CertgenError):
    """The results of a certificate hold, but its pages could not be printed anew and compared."""

    exit_code = 6


class RegisterRefused(CertgenError):
    """The register cannot be reached, or does not take an entry; nothing was added to it."""

    exit_code = 4


class AlreadyRegistered(RegisterRefused):
    """Number and revision stand in the register already, for a certificate of other bytes."""

    def __init__(self, number: str, revision: int, signed: bool = False) -> None:
        self.number = number
        self.revision = revision
        stands = f"certificate {number}, revision {revision}, stands in the register already"
        another = "and is another one; nothing was added. What replaces a certificate is a new revision."
        lacks = "with a signature that this one lacks; nothing was added. `certgen register show` writes it."
        super().__init__(f"{stands} {lacks if signed else another}")


class RegisterInUse(RegisterRefused):
    """The register was added to by somebody while it was read as it stands: what was read may be wrong."""


class RegisterBroken(CertgenError):
    """The register was changed other than by adding to it, or cannot be read as one."""

    exit_code = 5
