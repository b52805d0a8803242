"""Sizes and tolerances that a machine may have in theory: more likely a unit has slipped.

The bounds are wide of common practice, so that no usual line is warned of, and no source states them: the
widest machines have faces of about 12 m and the largest drying cylinders are 7 m across; shorter or
thinner than a finger is no roll of a line; tolerances are some hundredths of a mm/m, coarse ones a few
tenths. A slip by a factor of 25 (inch for mm) or 1000 (m for mm) leaves them.
"""

from collections.abc import Iterator
from statistics import median

from certgen.findings import Finding
from certgen.survey.build.rolls import limit
from certgen.survey.checked import Checked
from certgen.survey.figures import short

# key of a roll -> the least and the most that is usual, in mm
USUAL_MM = {"face": (20.0, 20_000.0), "bearings": (20.0, 20_000.0), "diameter": (5.0, 10_000.0)}
WIDEST_USUAL_MM_PER_M = 5.0
FIRST_USUAL_YEAR = 2000
_HINT = "Check the number and its unit: has a unit slipped?"


def sizes(root: Checked) -> Iterator[Finding]:
    """Yield a warning for every size, tolerance and year that is hard to believe."""
    for roll in root.list("rolls"):
        yield from _roll(roll)
    yield from _tolerances(root)
    started = root.sure("visit", "started")
    if started and started.day.year < FIRST_USUAL_YEAR:
        yield started.warning(f"a visit before {FIRST_USUAL_YEAR}", "Check the year.")


def _roll(roll: Checked) -> Iterator[Finding]:
    for key, (least, most) in USUAL_MM.items():
        size = roll.sure(key)
        if size and not least <= size.base <= most:
            bound = f"under {least:g} mm" if size.base < least else f"over {most / 1000:g} m"
            yield size.warning(f"this is {bound}", _HINT)


def _tolerances(root: Checked) -> Iterator[Finding]:
    """Yield a warning for each tolerance that is wide on the middle one of the rolls it holds for."""
    rolls = root.list("rolls")
    for aspect in ("level", "parallel", "adjacent"):
        yield from _wide(root.get("tolerances", aspect), rolls)
        for roll in rolls:
            yield from _wide(roll.get(aspect), (roll,))


def _wide(stated: Checked | None, rolls: tuple[Checked, ...]) -> Iterator[Finding]:
    over = stated.get("over") if stated else None
    if stated is None or not stated.sure("limit") or (over and not over.sound):
        return
    on = [roll for roll in rolls if roll["bearings"].sound and roll["face"].sound]
    found = [one.slope_mm_per_m for roll in on if (one := limit(stated, roll))]
    if found and (usual := median(found)) > WIDEST_USUAL_MM_PER_M:
        message = f"a tolerance of {short(usual)} mm/m, over {WIDEST_USUAL_MM_PER_M:g} mm/m"
        yield stated["limit"].warning(message, _HINT)
