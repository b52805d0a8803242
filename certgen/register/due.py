"""Intervals as they are asked for, and calibrations that ran out under certificates."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date

from sqlalchemy import select

from certgen.errors import WrongUsage
from certgen.register.database import reading
from certgen.register.entries import key
from certgen.register.in_force import replacements, withdrawn
from certgen.register.register import Register
from certgen.register.tables import CERTIFICATES, INSTRUMENTS
from certgen.survey.quantities import EXAMPLES, Every, interval


@dataclass(frozen=True, slots=True)
class RanOut:
    """A calibration that has run out, with the certificates that relied on it, as number and revision.

    `renewed` is the day of the next calibration that the register knows of, None where it knows none.
    """

    kind: str
    serial: str
    calibrated: str
    due: str
    renewed: str | None
    certificates: tuple[tuple[str, int], ...]


@dataclass(frozen=True, slots=True)
class _Use:
    kind: str
    serial: str
    calibrated: str
    due: str
    number: str
    revision: int


def every(text: str) -> Every:
    """Return an interval written as `12 months`, `90 days`, `26 weeks` or `2 years`; else WrongUsage."""
    found = interval(text)
    if found is None:
        raise WrongUsage(f"{text} is no interval; write for example {EXAMPLES}.")
    return found


def calibrations_ran_out(register: Register, on: date) -> list[RanOut]:
    """Return the calibrations that ran out before that day and were not followed by one made in time.

    Nobody has checked the instrument at the end of that time: what relied on it is to be looked at again when
    its next calibration shows a deviation. Certificates that were replaced or withdrawn do not count.
    """
    row, used = CERTIFICATES.c, INSTRUMENTS.c
    columns = (used.kind, used.serial, used.calibrated, used.due, row.number, row.revision, row.sequence)
    query = select(*columns).join(CERTIFICATES, row.sequence == used.sequence)
    query = query.order_by(used.serial_key, used.calibrated, row.number, row.revision)
    with reading(register.engine) as connection:
        void = replacements(connection).keys() | withdrawn(connection)
        uses = [_Use(*one[:-1]) for one in connection.execute(query) if one.sequence not in void]
    found = [out for same in _by_instrument(uses) for out in _of_instrument(same, on.isoformat())]
    return sorted(found, key=lambda out: (out.due, out.serial))


def _by_instrument(uses: Iterable[_Use]) -> list[list[_Use]]:
    found: dict[tuple[str, str], list[_Use]] = {}
    for use in uses:
        found.setdefault((key(use.kind), key(use.serial)), []).append(use)
    return list(found.values())


def _of_instrument(uses: list[_Use], on: str) -> list[RanOut]:
    """One entry for each calibration of an instrument that ran out; `uses` are in order of calibration."""
    periods: dict[tuple[str, str], list[_Use]] = {}
    for use in uses:
        periods.setdefault((use.calibrated, use.due), []).append(use)
    days = sorted({calibrated for calibrated, _ in periods})
    following = dict(zip(days, [*days[1:], None], strict=True))
    return [
        _ran_out(relying, renewed)
        for (calibrated, due), relying in periods.items()
        if due < on and ((renewed := following[calibrated]) is None or due < renewed)
    ]


def _ran_out(relying: list[_Use], renewed: str | None) -> RanOut:
    one = relying[0]
    certificates = tuple((use.number, use.revision) for use in relying)
    return RanOut(one.kind, one.serial, one.calibrated, one.due, renewed, certificates)
