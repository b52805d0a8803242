"""Days: in order, and every instrument within its calibration on the days it was used."""

from collections.abc import Iterator
from datetime import date

from certgen.findings import Finding
from certgen.survey.checked import Checked
from certgen.survey.lasers import only_laser


def dates(root: Checked) -> Iterator[Finding]:
    """Yield every day that stands out of order."""
    started, finished = root.sure("visit", "started"), root.sure("visit", "finished")
    yield from _not_before(finished, started, "the visit finishes before it starts")
    issued = root.sure("certificate", "issued")
    yield from _not_before(issued, finished, "the certificate is issued before the visit finished")
    yield from _setups(root, started, finished)
    visit = tuple(day.day for day in (started, finished) if day)
    days = _days_of_lasers(root)
    for instrument in root.list("instruments"):
        used = days.get(instrument.called, [None])
        yield from _instrument(instrument, visit if None in used else tuple(filter(None, used)))


def _not_before(later: Checked | None, earlier: Checked | None, message: str) -> Iterator[Finding]:
    if later and earlier and later.day < earlier.day:
        hint = f"Write a day on or after {earlier.day}, which stands at line {earlier.place.line}."
        yield later.fault(message, hint)


def _setups(root: Checked, started: Checked | None, finished: Checked | None) -> Iterator[Finding]:
    for setup in root.list("setups"):
        day = setup.sure("date")
        outside = day and started and finished and not started.day <= day.day <= finished.day
        if day and started and finished and outside:
            hint = f"The visit lasted from {started.day} to {finished.day}."
            yield day.fault("the setup lies outside the visit", hint)


def _instrument(node: Checked, used: tuple[date, ...]) -> Iterator[Finding]:
    calibrated, due = node.sure("calibrated"), node.sure("due")
    name = node.called
    if calibrated and due and due.day <= calibrated.day:
        yield due.fault(f"{name} is due before it was calibrated", f"It was calibrated on {calibrated.day}.")
        return
    if due and used and due.day < max(used):
        hint = "Have its calibration checked, and state the one that covers that day."
        yield due.fault(f"{name} was past its due date when it was used on {max(used)}", hint)
    if calibrated and used and calibrated.day > min(used):
        hint = "State the calibration that held on that day."
        yield calibrated.fault(f"{name} was calibrated only after it was used on {min(used)}", hint)


def _days_of_lasers(root: Checked) -> dict[str, list[date | None]]:
    """Return the days of its setups for every laser; None stands for a setup that does not say."""
    alone = only_laser(root)
    found: dict[str, list[date | None]] = {}
    for setup in root.list("setups"):
        named, day = setup.get("instrument"), setup.sure("date")
        laser = named.text if named else alone
        if laser is not None:
            found.setdefault(laser, []).append(day.day if day else None)
    return found
