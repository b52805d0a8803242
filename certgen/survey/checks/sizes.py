"""Sizes as a millwright would look at them: rolls, tolerances and web that a machine can have.

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
from certgen.survey.checks.needed import readings_of
from certgen.survey.number_text import short

# key of a roll -> the least and the most that is usual, in mm
USUAL_MM = {"face": (20.0, 20_000.0), "bearings": (20.0, 20_000.0), "diameter": (5.0, 10_000.0)}
WIDEST_USUAL_MM_PER_M = 5.0
FIRST_USUAL_YEAR = 2000
_HINT = "Check the number and its unit: has a unit slipped?"
_LARGEST_USUAL_STRAIN = 0.05


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


def sizes(root: Checked) -> Iterator[Finding]:
    """Yield a warning for every size, tolerance and year that is hard to believe."""
    for roll in root.list("rolls"):
        for key, (least, most) in USUAL_MM.items():
            size = roll.sure(key)
            if size and not least <= size.base <= most:
                bound = f"under {least:g} mm" if size.base < least else f"over {most / 1000:g} m"
                yield size.warning(f"this is {bound}", _HINT)
    yield from _tolerances(root)
    started = root.sure("visit", "started")
    if started and started.day.year < FIRST_USUAL_YEAR:
        yield started.warning(f"a visit before {FIRST_USUAL_YEAR}", "Check the year.")


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


def tolerances(root: Checked) -> Iterator[Finding]:
    """Yield every tolerance that is missing or does not fit together."""
    common = root["tolerances"]
    for node in common.keys.values():
        yield from _kind(node)
    for roll in root.list("rolls"):
        for aspect in ("level", "parallel"):
            own = roll.get(aspect)
            if own:
                yield from _kind(own)
    if common.sound:
        yield from _missing(root, "level", "level")
        yield from _missing(root, "parallel", "setups")


def _kind(node: Checked) -> Iterator[Finding]:
    limit, over = node.sure("limit"), node.get("over")
    if limit is None:
        return
    if limit.measure.kind == "length" and over is None:
        yield limit.fault(
            "a limit in length that does not say over what", "Add `over:` bearings, face or a length."
        )
    if limit.measure.kind != "length" and over is not None:
        yield over.fault(
            "a limit that is a slope holds over any length", "Remove `over:`, or write the limit as a length."
        )


def _missing(root: Checked, aspect: str, group: str) -> Iterator[Finding]:
    common = root["tolerances"]
    own = {roll["id"].text for roll in root.list("rolls") if roll.get(aspect)}
    read = {name for _, name, _ in readings_of(root, group)}
    if common.get(aspect) is None and read - own:
        hint = f"Add `{aspect}: {{limit: ...}}`, or give every roll its own."
        message = f"this is required, because `{group}:` holds readings"
        yield Finding("error", common.key_place, f"{common.where}.{aspect}", message, hint)


def web(root: Checked) -> Iterator[Finding]:
    """Yield what keeps a tolerance from being taken from the web, and a strain that is hard to believe."""
    yield from _strain(root.sure("web"))
    shares = [node for node in _web_tolerances(root) if node.get("web_fraction")]
    if root.get("web") is not None:
        yield from _spans(root)
    for node in shares if root.get("web") is None else ():
        hint = "Describe the web in `web:`, or write `limit:` instead."
        yield node["web_fraction"].fault("a share of what the web bears, and there is no `web:`", hint)


def _web_tolerances(root: Checked) -> Iterator[Checked]:
    """Yield the tolerances on parallel: that of the line, then those of single rolls."""
    common = root.get("tolerances", "parallel")
    yield from [common] if common else []
    yield from filter(None, (roll.get("parallel") for roll in root.list("rolls")))


def _spans(root: Checked) -> Iterator[Finding]:
    """Yield the measured rolls that take their tolerance from a span that is not stated."""
    spans, common = root.children("web", "spans"), root.get("tolerances", "parallel")
    read = {name for _, name, _ in readings_of(root, "setups")}
    spared = root.get("reference", "roll") if spans else None
    for roll in root.list("rolls"):
        name, stated = roll["id"], roll.get("parallel") or common
        if not stated or not stated.get("web_fraction") or name.text in spans or name.text not in read:
            continue
        if not (spared and spared.text == name.text):
            yield _no_span(roll)


def _no_span(roll: Checked) -> Finding:
    name = roll["id"].text
    message = f"roll {name} takes its tolerance from the web, and the span before it is not stated"
    hint = f"Add `{name}: ...` to the `spans:` of `web:`, or give the roll `parallel: {{limit: ...}}`."
    return (roll.get("parallel") or roll["id"]).fault(message, hint)


def _strain(node: Checked | None) -> Iterator[Finding]:
    sizes = [node.sure(key) if node else None for key in ("tension", "modulus", "thickness")]
    tension, modulus, thickness = sizes
    if node is None or tension is None or modulus is None or thickness is None:
        return
    strain = tension.base / (modulus.base * thickness.base)
    if strain > _LARGEST_USUAL_STRAIN:
        message = f"this tension would stretch the web by {short(100.0 * strain)} %"
        yield tension.warning(message, "Check tension, modulus, thickness and their units.")
