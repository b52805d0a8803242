"""A tolerance taken from the web: a share of the slope at which one edge of it goes slack."""

from certgen.survey.build.work import bare_web
from certgen.survey.checked import Checked
from certgen.survey.survey import Limit


def from_web(node: Checked, roll: Checked, root: Checked) -> Limit | None:
    """Return that share of the critical slope for the span before a roll; None where there is no span.

    The reference roll is not judged, so it needs no span: without one it takes the shortest of the line,
    by which it is judged only where a study sets another reference.
    """
    web, span_mm = root.get("web"), _span_mm(roll, root)
    if web is None or span_mm is None:
        return None
    share = node["web_fraction"]
    slope = share.base * bare_web(web).critical_mm_per_m(span_mm)
    return Limit(slope, f"{share.measure.written} of the slope at which one edge of the web goes slack")


def _span_mm(roll: Checked, root: Checked) -> float | None:
    spans, reference = root.children("web", "spans"), root.get("reference", "roll")
    own = spans.get(roll["id"].text)
    if own is not None:
        return own.base
    if reference is None or reference.text != roll["id"].text:
        return None
    return min((span.base for span in spans.values()), default=None)
