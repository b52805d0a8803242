"""The tolerances beside what the web bears: the web, a table of every roll with a span, the assumptions."""

from collections.abc import Callable

from certgen.assessment.assessment import Assessment
from certgen.assessment.web_limit import WebMargin, web_margins
from certgen.document.content import Column, Facts, Paragraphs, Section, Table
from certgen.survey.survey import Web
from certgen.wording.rounding import NOTHING, UnitSet, plain, significant
from certgen.wording.values import Numbers
from certgen.wording.wording import Wording

# 1 lbf = 4.448 221 615 260 5 N, 1 in = 25.4 mm (NIST SP 811, B.8): N/mm to lbf/in, N/mm² to ksi
_LBF_PER_IN = 25.4 / 4.4482216152605
_KSI = 25.4**2 / 4448.2216152605


def web_sections(assessment: Assessment, numbers: Numbers, wording: Wording) -> tuple[Section, ...]:
    """Return the section on the web, or nothing where the survey states no web or no span."""
    web, table = assessment.survey.web, web_table(assessment, numbers, wording)
    if web is None or table is None:
        return ()
    blocks = (_facts(web, numbers, wording), table, Paragraphs(wording.paragraphs("web")))
    return (Section(wording.word("section_web"), blocks),)


def web_table(assessment: Assessment, numbers: Numbers, wording: Wording) -> Table | None:
    """Return the margins of the rolls; None where no span is stated."""
    margins = web_margins(assessment.survey)
    if not margins:
        return None
    limits = {roll.id: roll.parallel_limit for roll in assessment.survey.rolls}
    slopes = {name: None if limit is None else limit.slope_mm_per_m for name, limit in limits.items()}
    signs = {"slope": numbers.slope_signs(), "small": numbers.small_signs()}
    return Table(
        caption=wording.word("table_web"),
        columns=_columns(numbers, wording),
        rows=tuple(_row(margin, slopes[margin.roll], numbers) for margin in margins),
        note=wording.word("table_note_web", **signs),
    )


def _columns(numbers: Numbers, wording: Wording) -> tuple[Column, ...]:
    slopes, ratios = wording.word("critical_slope"), wording.word("limit_over_critical")
    return (
        Column(wording.word("roll"), "left", share=0.6),
        Column(f"{wording.word('span')}, {numbers.dimension_signs()}"),
        Column(wording.word("span_over_width"), share=0.9),
        Column(wording.word("critical_simple"), group=slopes, unit=numbers.slope_signs()),
        Column(wording.word("critical_exact"), group=slopes, unit=numbers.slope_signs()),
        Column(wording.word("limit"), unit=numbers.slope_signs()),
        Column(wording.word("of_roll"), group=ratios),
        Column(wording.word("of_adjacent"), group=ratios),
        Column(wording.word("shift_at_limit"), unit=numbers.small_signs()),
    )


def _row(margin: WebMargin, limit: float | None, numbers: Numbers) -> tuple[str, ...]:
    def slope(value: float | None) -> str:
        return _lines(value, numbers, lambda units: units.slope.per_engine_unit)

    return (
        margin.roll,
        numbers.dimension(margin.span_mm),
        numbers.digits.significant(margin.span_over_width, 3),
        slope(margin.critical_mm_per_m),
        slope(margin.critical_exact_mm_per_m),
        slope(limit),
        _per_cent(margin.limit_ratio, numbers),
        _per_cent(margin.adjacent_limit_ratio, numbers),
        _lines(margin.shift_at_limit_mm, numbers, lambda units: units.small.per_engine_unit),
    )


def _lines(value: float | None, numbers: Numbers, factor: Callable[[UnitSet], float]) -> str:
    """Three significant digits, a line for each unit system."""
    if value is None:
        return NOTHING
    return numbers.lines(lambda units: significant(value * factor(units), 3))


def _per_cent(ratio: float | None, numbers: Numbers) -> str:
    return NOTHING if ratio is None else f"{numbers.digits.significant(100.0 * ratio, 3)} %"


def _facts(web: Web, numbers: Numbers, wording: Wording) -> Facts:
    def both(shown: Callable[[UnitSet], str]) -> str:
        return " / ".join(numbers.digits.written(shown(units)) for units in numbers.units)

    return Facts(
        (
            (
                wording.word("web_width"),
                both(lambda u: _length(web.width_mm, u.dimension.per_engine_unit, u)),
            ),
            (wording.word("web_thickness"), both(lambda u: _thickness(web, u))),
            (wording.word("web_tension"), both(lambda u: _tension(web, u))),
            (wording.word("web_modulus"), both(lambda u: _modulus(web, u))),
            (wording.word("web_strain"), f"{numbers.digits.significant(100.0 * web.strain, 3)} %"),
        ),
        columns=2,
    )


def _length(value: float, factor: float, units: UnitSet) -> str:
    return f"{plain(value * factor, 3)} {units.dimension.sign}"


def _thickness(web: Web, units: UnitSet) -> str:
    return f"{plain(web.thickness_mm * units.small.per_engine_unit, 4)} {units.small.sign}"


def _tension(web: Web, units: UnitSet) -> str:
    tension = web.tension_n_per_mm
    if units.name == "mm":
        return f"{plain(1000.0 * tension, 2)} N/m"
    return f"{significant(_LBF_PER_IN * tension, 3)} lbf/in"


def _modulus(web: Web, units: UnitSet) -> str:
    modulus = web.modulus_n_per_mm2
    return f"{plain(modulus, 1)} MPa" if units.name == "mm" else f"{significant(_KSI * modulus, 3)} ksi"
