"""The web: a strain that a web can have, and a span for every roll that takes its tolerance from it."""

from collections.abc import Iterator

from certgen.findings import Finding
from certgen.survey.checked import Checked
from certgen.survey.checks.needed import readings_of
from certgen.survey.figures import short

_LARGEST_USUAL_STRAIN = 0.05


def web(root: Checked) -> Iterator[Finding]:
    """Yield what keeps a tolerance from being taken from the web, and a strain that is hard to believe."""
    yield from _strain(root.sure("web"))
    shares = [node for node in _tolerances(root) if node.get("web_fraction")]
    if root.get("web") is not None:
        yield from _spans(root)
    for node in shares if root.get("web") is None else ():
        hint = "Describe the web in `web:`, or write `limit:` instead."
        yield node["web_fraction"].fault("a share of what the web bears, and there is no `web:`", hint)


def _tolerances(root: Checked) -> Iterator[Checked]:
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
