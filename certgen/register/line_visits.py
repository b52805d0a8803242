"""The surveys that a register holds: those of the visits to one line, or that of one certificate."""

import json
from collections.abc import Sequence
from dataclasses import dataclass
from difflib import get_close_matches

from certgen.errors import CannotCompute, WrongUsage
from certgen.register.database import reading
from certgen.register.entries import DISPOSED, RESULTS, SURVEY, Json, digest_of, key, said_of
from certgen.register.find import Wanted, find, kept
from certgen.register.in_force import withdrawn
from certgen.register.marks import certificates_of
from certgen.register.register import Register
from certgen.survey.edition import edition_of


@dataclass(frozen=True, slots=True)
class Recorded:
    """The survey inside a recorded certificate, byte for byte, and the edition of its rules."""

    number: str
    revision: int
    survey: bytes
    edition: int

    @property
    def name(self) -> str:
        """What messages about it are headed with."""
        return f"certificate {self.number}, revision {self.revision}, in the register"


@dataclass(frozen=True, slots=True)
class LineWanted:
    """A line by its name or asset, where needed its customer, and the visits that are wanted.

    `since` is a day as YYYY-MM-DD, the first on which a visit may have begun; `without` are the numbers of
    certificates left out.
    """

    line: str
    customer: str | None = None
    since: str | None = None
    without: tuple[str, ...] = ()


def certificate_survey(register: Register, number: str) -> Recorded:
    """Return the survey of the latest revision of a certificate that was not withdrawn.

    WrongUsage where it is not there, or all of them were withdrawn; RegisterRefused where it was disposed of.
    """
    named = certificates_of(register, number, None)
    with reading(register.engine) as connection:
        void = withdrawn(connection)
    counting = [int(f"{one['revision']}") for one in named if one["sequence"] not in void]
    if not counting:
        raise WrongUsage(f"certificate {number} was withdrawn. `certgen register show {number}` says why.")
    (found,) = _recorded(register, [register.body(number, max(counting))])
    return found


def line_surveys(register: Register, wanted: LineWanted) -> list[Recorded]:
    """Return the surveys of the visits to one line, of the certificates in force, the earliest visit first.

    Visits whose certificate was disposed of take no part. WrongUsage where the register has no such line, or
    several that go by this name.
    """
    line = Wanted(line=wanted.line, customer=wanted.customer, in_force=True)
    there = kept(register, line, register.head().count)
    found = [one.body for one in there if not one.marked(DISPOSED)]
    if there and not found:
        raise WrongUsage(f"{wanted.line}: all certificates of this line were disposed of.")
    if not found:
        # the message, with the names that are like it
        of = "" if wanted.customer is None else f" of customer {wanted.customer}"
        names = {name for one in find(register, Wanted()) for name in (one.line, one.asset)}
        holding = [name for name in sorted(names) if key(wanted.line) in key(name)]
        like = (holding or get_close_matches(wanted.line, sorted(names), 3))[:3]
        hint = f" Did you mean {' or '.join(like)}?" if like else ""
        no_such_line = f"{wanted.line}: the register has no line or asset of this name{of}.{hint}"
        raise WrongUsage(no_such_line)
    _require_one(wanted.line, found)
    # a number that is left out must be there, or a slip of the pen would leave it in
    known = {said_of(body)["number"] for body in found}
    for number in wanted.without:
        if number not in known:
            told = f"--without: the line has no certificate {number} in force"
            raise WrongUsage(f"{told}. It has: {', '.join(sorted(known))}.")
    fitting = [body for body in found if _is_wanted(body, wanted)]
    return _recorded(register, sorted(fitting, key=lambda body: said_of(body)["started"]))


def _is_wanted(body: Json, wanted: LineWanted) -> bool:
    said = said_of(body)
    return said["number"] not in wanted.without and said["started"] >= (wanted.since or "")


def _require_one(name: str, found: Sequence[Json]) -> None:
    """A line is one asset of one customer, however its name is spelled."""
    known = {(key(said_of(b)["customer"]), key(said_of(b)["asset"])): said_of(b) for b in found}
    if len(known) > 1:
        each = "; ".join(f"asset {one['asset']} of {one['customer']}" for one in known.values())
        raise WrongUsage(f"{name}: several lines go by this name: {each}. Name the asset, or add --customer.")


def _recorded(register: Register, found: Sequence[Json]) -> list[Recorded]:
    names = (SURVEY, RESULTS)
    files = register.files([digest_of(body, name) for body in found for name in names])
    return [
        Recorded(
            said_of(body)["number"],
            said_of(body)["revision"],
            *recorded_survey(*(files[digest_of(body, name)] for name in names)),
        )
        for body in found
    ]


def recorded_survey(survey: bytes, results: bytes) -> tuple[bytes, int]:
    """Return a survey and the edition that its results record; CannotCompute for an unknown one."""
    try:
        return survey, edition_of(json.loads(results))
    except ValueError as error:
        raise CannotCompute(f"{error}. A newer certgen may know it.") from None
