"""The surveys that a register holds: those of the visits to one line, or that of one certificate."""

from collections.abc import Sequence
from dataclasses import dataclass
from difflib import get_close_matches

from certgen.errors import WrongUsage
from certgen.register.entry import SURVEY, Json, digest_of, key, said_of
from certgen.register.find import Wanted, bodies, find
from certgen.register.register import Register


@dataclass(frozen=True, slots=True)
class Recorded:
    """The survey inside a recorded certificate, byte for byte."""

    number: str
    revision: int
    survey: bytes

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
    """Return the survey of the latest revision of a certificate; WrongUsage where it is not there."""
    (found,) = _recorded(register, [register.body(number)])
    return found


def line_surveys(register: Register, wanted: LineWanted) -> list[Recorded]:
    """Return the surveys of the visits to one line, of the certificates in force, the earliest visit first.

    WrongUsage where the register has no such line, or several that go by this name.
    """
    line = Wanted(line=wanted.line, customer=wanted.customer, in_force=True)
    found = bodies(register, line, register.head().count)
    if not found:
        raise WrongUsage(_no_such_line(register, wanted))
    _require_one(wanted.line, found)
    _require_known(wanted, found)
    kept = [body for body in found if _is_wanted(body, wanted)]
    return _recorded(register, sorted(kept, key=lambda body: said_of(body)["started"]))


def _no_such_line(register: Register, wanted: LineWanted) -> str:
    """The message, with the names that are like it."""
    of = "" if wanted.customer is None else f" of customer {wanted.customer}"
    names = {name for one in find(register, Wanted()) for name in (one.line, one.asset)}
    holding = [name for name in sorted(names) if key(wanted.line) in key(name)]
    like = (holding or get_close_matches(wanted.line, sorted(names), 3))[:3]
    hint = f" Did you mean {' or '.join(like)}?" if like else ""
    return f"{wanted.line}: the register has no line or asset of this name{of}.{hint}"


def _require_known(wanted: LineWanted, found: Sequence[Json]) -> None:
    """A number that is left out must be there, or a slip of the pen would leave it in."""
    known = {said_of(body)["number"] for body in found}
    for number in wanted.without:
        if number not in known:
            told = f"--without: the line has no certificate {number} in force"
            raise WrongUsage(f"{told}. It has: {', '.join(sorted(known))}.")


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
    files = register.files([digest_of(body, SURVEY) for body in found])
    return [
        Recorded(said_of(body)["number"], said_of(body)["revision"], files[digest_of(body, SURVEY)])
        for body in found
    ]
