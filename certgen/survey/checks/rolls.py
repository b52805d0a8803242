"""Rolls as a millwright would look at them: sizes that fit, places that differ."""

from collections.abc import Iterator

from certgen.findings import Finding
from certgen.survey.checked import Checked


def rolls(root: Checked) -> Iterator[Finding]:
    """Yield what is odd about the rolls."""
    yield from _faces(root)
    yield from _same_place(root)


def _faces(root: Checked) -> Iterator[Finding]:
    for roll in root.list("rolls"):
        face, bearings, diameter = roll.sure("face"), roll.sure("bearings"), roll.sure("diameter")
        if face and bearings and face.base > bearings.base:
            yield face.warning("the face is longer than the distance between the bearings", "Check both.")
        taper = roll.sure("taper")
        if taper and diameter and abs(taper.base) >= diameter.base:
            yield taper.fault("the taper is as large as the diameter", "Has a unit slipped?")
        if diameter and bearings and diameter.base > bearings.base:
            hint = "Check both: has a unit slipped?"
            yield diameter.warning("the diameter is larger than the distance between the bearings", hint)


def _same_place(root: Checked) -> Iterator[Finding]:
    seen: dict[tuple[float, float], Checked] = {}
    for roll in root.list("rolls"):
        station, height = roll.sure("station"), roll.sure("height")
        if not station or not height:
            continue
        first = seen.setdefault((station.base, height.base), roll)
        if first is not roll:
            message = f"roll {roll.called} stands where roll {first.called} stands"
            yield station.warning(message, "Check station and height of both.")
