"""The digits on the pages against figures that were worked out apart from the program.

`tests/reference/dense.py` solves the surveys from their bare YAML; this file rounds, judges and converts on
its own. So a wrong place, unit, sign, factor or formula anywhere between the file and the page is found here.
"""

import re
from decimal import ROUND_HALF_EVEN, Decimal
from functools import cache
from io import BytesIO
from math import erf, floor, hypot, log10, sqrt
from pathlib import Path
from tempfile import TemporaryDirectory

import pytest
import yaml
from pypdf import PdfReader

from certgen import resources
from certgen.pdf.pdf_document import certificate_pdf
from tests.certificate.samples import WORDING, assessed
from tests.reference.dense import ROUNDS, Found, Survey

# slope, small length and places of a move, for one mm/m and one mm: 12 thou/ft and 1000/25.4 thou
SYSTEMS = {"mm": (1.0, 1.0, 3), "in": (12.0, 1000.0 / 25.4, 1)}
# what a cell of a row may have beside it that is no number of its own: a mark, a word
APART = r"(?: [^\s\d+−]\S*){0,2} "
NAMES = ("tutorial", "dryer_mixed", "winder_inch")
ASPECTS = ("level", "parallel")


@cache
def survey(name: str) -> Survey:
    """Return a sample worked out apart."""
    return Survey(text_of(name))


def text_of(name: str) -> str:
    """Return a sample, without the checks of the laser's own level: how it drifts is another subject.

    With `@found` behind its name it is that line before anything was moved, without limits of travel.
    """
    sample, _, state = name.partition("@")
    data = yaml.safe_load((resources.sample_surveys() / f"{sample}.yaml").read_text("utf-8"))
    for setup in data["setups"]:
        setup.pop("level_check", None)
    if state:
        for part in (data["level"], *data["setups"]):
            part.pop("as_left", None)
        for roll in data["rolls"]:
            roll.pop("travel", None)
        data = {key: value for key, value in data.items() if key not in {"adjustments", "shims"}}
    return str(yaml.safe_dump(data, sort_keys=False))


@cache
def page(name: str) -> str:
    """Return the text of the certificate with white space folded."""
    with TemporaryDirectory() as folder:
        path = Path(folder) / "survey.yaml"
        path.write_text(text_of(name), "utf-8")
        found = assessed(path)
    pdf = certificate_pdf(found, WORDING, found.survey.certificate.paper)
    return f" {' '.join(' '.join(p.extract_text() for p in PdfReader(BytesIO(pdf)).pages).split())} "


def systems(name: str) -> list[tuple[float, float, int]]:
    """Return the unit systems of a certificate."""
    units = survey(name).data["certificate"]["units"]
    return [SYSTEMS[one] for one in (("mm", "in") if units == "both" else (units,))]


def places(expanded: float) -> int:
    """Return the places of two significant digits."""
    exponent = floor(log10(expanded) + 1e-12)
    carries = round(expanded / 10.0 ** (exponent - 1), 9) >= 99.5
    return 1 - exponent - carries


def rounded(value: float, at: int) -> Decimal:
    """Return the nearest number with so many places, ties to even; a float's last digits do not count."""
    return Decimal(f"{value:.11f}").quantize(Decimal(1).scaleb(-at), rounding=ROUND_HALF_EVEN)


def shown(value: float, at: int, *, signed: bool = True) -> str:
    """Return it as printed."""
    number = rounded(value, at)
    sign = "" if number == 0 else "−" if number < 0 else "+" if signed else ""
    return f"{sign}{abs(number):.{at}f}"


def judged(error: float, expanded: float, limit: float) -> str:
    """Guarded acceptance; a billionth of the limit is forgiven for the arithmetic."""
    return "pass" if abs(error) <= limit - expanded + 1e-9 * limit else "fail"


class State:
    """One slope with all that is printed of it."""

    def __init__(self, found: Found, target: float, limit: float, means: tuple[float, float]) -> None:
        """Take slope, target, limit, and k and the bearings in m."""
        self.k, self.over_m = means
        self.found, self.target, self.limit = found, target, limit
        self.error, self.U = found.value - target, self.k * found.u
        self.verdict = judged(self.error, self.U, limit)

    def at(self, factor: float, start: int | None = None) -> int:
        """Return the places in a unit: those of the column, more where the printed verdict would be another.

        By itself a state has two digits of its U.
        """
        start = places(self.U * factor) if start is None else start
        for at in range(start, start + 6):
            error, expanded = (float(rounded(v * factor, at)) for v in (self.error, self.U))
            limit = float(rounded(self.limit * factor, max(at, places(self.limit * factor))))
            if judged(error, expanded, limit) == self.verdict:
                return at
        raise AssertionError

    def row(self, columns: list["Column"]) -> list[str]:
        """Return error and U, the error in the other unit or form, and the verdict."""
        cells = []
        for index, column in enumerate(columns):
            factor = column.factor(self)
            at = self.at(factor, column.places)
            cells.append(shown(self.error * factor, at))
            if index == 0:
                cells.append(shown(self.U * factor, at, signed=False))
        return [*cells, self.verdict]

    def figures(self, columns: list["Column"], target: bool) -> list[str]:
        """Return slope, target where any is not zero, error, u and conformance."""
        values = (self.found.value, *((self.target,) if target else ()), self.error)
        cells = [shown(v * one.factor(self), one.places) for v in values for one in columns]
        cells += [shown(self.found.u * one.factor(self), one.places, signed=False) for one in columns]
        return [*cells, *self.share()]

    def share(self) -> list[str]:
        """Return the probability that the true error lies within the limit, in per cent."""
        high, low = ((side * self.limit - self.error) / self.found.u / sqrt(2.0) for side in (1.0, -1.0))
        share = 50.0 * (erf(high) - erf(low))
        if share < 0.01 or share > 99.99:
            return [*(("<", "0.01") if share < 50.0 else (">", "99.99")), "%"]
        return [shown(share, 2 if not 10 <= share <= 90 else 1, signed=False), "%"]


class Column:
    """A column of figures in one unit and form: what one mm/m of a state makes, and its places.

    These are two digits of the smallest U, as long as the largest keeps at most three.
    """

    def __init__(self, states: list[State], form: str, system: tuple[float, float, int]) -> None:
        """Take all states of the table, whether its figures are slopes, and the unit system."""
        self.form, self.slope, self.length = form, *system[:2]
        sizes = [one.U * self.factor(one) for one in states]
        self.places = min(places(min(sizes)), places(max(sizes)) + 1)

    def factor(self, one: State) -> float:
        """Return what one mm/m makes: of a slope, or over the bearings or the face."""
        return self.slope if self.form == "slope" else self.length * one.over_m


def table(name: str, aspect: str) -> list[State]:
    """Return the states of a table of results."""
    return [state(name, aspect, roll, which) for roll in judged_rolls(name, aspect) for which in ROUNDS]


def stated(name: str, aspect: str) -> list[str]:
    """Return the tolerances of an aspect as the survey states them, that of all rolls and those of some."""
    data = survey(name).data
    every = [data["tolerances"][aspect], *(roll[aspect] for roll in data["rolls"] if aspect in roll)]
    return [f"{one['limit']} over {one['over']}" if "over" in one else str(one["limit"]) for one in every]


def results_columns(name: str, aspect: str) -> list[Column]:
    """Return the columns of a table of results: the order's form, then the other unit or the other form."""
    states, limits = table(name, aspect), stated(name, aspect)
    form = "bearings" if "over bearings" in limits[0] else "slope"
    units = systems(name)
    if len(units) > 1 or len(set(limits)) > 1:
        return [Column(states, form, one) for one in units]
    other = "slope" if form == "bearings" else "bearings"
    return [Column(states, one, units[0]) for one in (form, other)]


def state(name: str, aspect: str, roll: str, which: str) -> State:
    """Return a slope of a roll as worked out apart."""
    line = survey(name)
    found = line.slope(aspect, roll, which)
    assert found is not None
    means = (line.k, line.bearings_m(roll))
    found = Found(found.value, hypot(found.u, line.target_u(aspect, roll)))
    return State(found, line.target(aspect, roll), line.limit(aspect, roll), means)


def row_of(head: str, *cells: str) -> str:
    """Return the pattern of a row."""
    return f" {head}" + "".join(APART + re.escape(cell) + r"(?= )" for cell in cells)


def judged_rolls(name: str, aspect: str) -> list[str]:
    """Return the rolls of an aspect without the reference."""
    return [r for r in survey(name).rolls if aspect == "level" or r != survey(name).reference]


def named(name: str, roll: str) -> str:
    """Return a roll's id with its name, as they begin a row of results."""
    return f"{roll} {re.escape(str(survey(name).rolls[roll]['name']))}"


@pytest.mark.parametrize("aspect", ASPECTS)
@pytest.mark.parametrize("name", NAMES)
def test_results_of_every_roll_have_the_digits_that_were_worked_out(name: str, aspect: str) -> None:
    """Error, U, the error in the other unit or form, verdict; and the limit, where limits differ."""
    columns, limits = results_columns(name, aspect), set(stated(name, aspect))
    for roll in judged_rolls(name, aspect):
        found, left = (state(name, aspect, roll, which) for which in ROUNDS)
        pattern = row_of(named(name, roll), *found.row(columns), *left.row(columns))
        match = re.search(pattern, page(name))
        assert match, pattern
        if len(limits) > 1:
            factor = columns[0].factor(left)
            at = max(left.at(factor, columns[0].places), places(left.limit * factor))
            tail = page(name)[match.end() :].split()[:4]
            assert shown(left.limit * factor, at, signed=False) in tail, (roll, tail)
        else:
            assert f"limit {next(iter(limits))} " in page(name)


@pytest.mark.parametrize("aspect", ASPECTS)
@pytest.mark.parametrize("name", NAMES)
def test_figures_of_every_roll_have_the_digits_that_were_worked_out(name: str, aspect: str) -> None:
    """Slope, target, error, u and conformance of both rounds; u, U and significance of the change."""
    states = table(name, aspect)
    columns = [Column(states, "slope", one) for one in systems(name)]
    target = any(one.target for one in states)
    for roll in judged_rolls(name, aspect):
        cells = [
            cell for which in ROUNDS for cell in state(name, aspect, roll, which).figures(columns, target)
        ]
        change = survey(name).change(aspect, roll)
        if change is not None:
            expanded = survey(name).k * change.u
            cells += [
                shown(v * one.slope, one.places, signed=False)
                for v in (change.u, expanded)
                for one in columns
            ]
            cells.append("yes" if abs(change.value) > expanded else "no")
        pattern = row_of(roll, *cells)
        assert re.search(pattern, page(name)), pattern


@pytest.mark.parametrize("aspect", ASPECTS)
@pytest.mark.parametrize("name", NAMES)
def test_changes_have_the_digits_that_were_worked_out(name: str, aspect: str) -> None:
    """Behind the results of both rounds, to the place of their column."""
    changed, columns = 0, results_columns(name, aspect)
    for roll in judged_rolls(name, aspect):
        change = survey(name).change(aspect, roll)
        if change is not None:
            found, left = (state(name, aspect, roll, which) for which in ROUNDS)
            cell = shown(change.value * columns[0].factor(left), columns[0].places)
            pattern = row_of(named(name, roll), *found.row(columns), *left.row(columns), cell)
            assert re.search(pattern, page(name)), pattern
            changed += 1
    assert changed >= 2


@pytest.mark.parametrize("aspect", ASPECTS)
def test_neighbours_have_the_digits_that_were_worked_out(aspect: str) -> None:
    """Difference over the face of the later roll, U, conformance and verdict of every pair."""
    name = "winder_inch"
    line = survey(name)
    pairs = list(line.pairs())
    assert len(pairs) == 11
    states = {}
    for before, after, limit in pairs:
        target = line.target(aspect, after) - line.target(aspect, before)
        means = (line.k, 96.0 * 0.0254)  # every face of this line is 96 in
        states[before, after] = [
            State(line.difference(aspect, (before, after), which), target, limit, means) for which in ROUNDS
        ]
    column = Column([one for both in states.values() for one in both], "face", systems(name)[0])
    for (before, after), both in states.items():
        cells = []
        for one in both:
            *figures, verdict = one.row([column])
            cells += [*figures, *one.share(), verdict]
        pattern = row_of(f"{before} – {after}", *cells)
        assert re.search(pattern, page(name)), pattern


def test_page_one_has_the_worst_figures_over_the_bearings() -> None:
    """Of every roll that did not pass as found: error over its bearings in both rounds, U and limit."""
    name = "winder_inch"
    lines = [
        (roll, aspect)
        for aspect in ASPECTS
        for roll in judged_rolls(name, aspect)
        if "fail" in {state(name, aspect, roll, which).verdict for which in ROUNDS}
    ]
    states = [state(name, aspect, roll, which) for roll, aspect in lines for which in ROUNDS]
    column = Column(states, "bearings", systems(name)[0])
    assert len(lines) == 10
    for roll, aspect in lines:
        found, left = (state(name, aspect, roll, which) for which in ROUNDS)
        factor = column.factor(left)
        larger = max(found, left, key=lambda one: one.U)
        cells = [shown(one.error * factor, one.at(factor, column.places)) for one in (found, left)]
        cells.append(shown(larger.U * factor, larger.at(factor, column.places), signed=False))
        at = max(left.at(factor, column.places), places(left.limit * factor))
        cells.append(shown(left.limit * factor, at, signed=False))
        assert re.search(row_of(f"{named(name, roll)} {aspect}", *cells), page(name)), cells


def small(name: str, value_mm: float) -> list[str]:
    """Return a move or live reading: to a micrometre or a tenth of a thou."""
    return [shown(value_mm * factor, at) for _, factor, at in systems(name)]


def move_mm(name: str, aspect: str, roll: str, which: str) -> float:
    """Return the move of the drive bearing that takes out the error: against it, over the bearings."""
    one = state(name, aspect, roll, which)
    return -one.error * one.over_m


def moved(name: str, aspect: str) -> list[str]:
    """Return the rolls that failed as found and can be moved at the drive side alone."""
    rolls = survey(name).rolls
    return [
        roll
        for roll in judged_rolls(name, aspect)
        if rolls[roll]["adjustable"] == "drive" and state(name, aspect, roll, "as_found").verdict == "fail"
    ]


@pytest.mark.parametrize("name", NAMES)
def test_moves_that_were_called_for_have_the_digits_that_were_worked_out(name: str) -> None:
    """For the record: the whole move of the drive bearing from as found to target."""
    for aspect in ASPECTS:
        assert moved(name, aspect)
        for roll in moved(name, aspect):
            cells = small(name, move_mm(name, aspect, roll, "as_found"))
            pattern = row_of(f"{roll} {aspect} drive side", *cells)
            assert re.search(pattern, page(name)), pattern


@pytest.mark.parametrize("name", [f"{name}@found" for name in NAMES])
def test_moves_to_be_made_have_the_digits_that_were_worked_out(name: str) -> None:
    """Before anything was moved: the move, the reading to stop at in the crew's own sign, the U it keeps."""
    for aspect in ASPECTS:
        for roll in moved(name, aspect):
            one = state(name, aspect, roll, "as_found")
            cells = small(name, move_mm(name, aspect, roll, "as_found"))
            if aspect == "parallel":
                cells += small(name, survey(name).stop_reading(roll, "as_found", one.target))
            pattern = row_of(rf"{roll} (?:operator side )?drive side", *cells)
            found = re.search(pattern, page(name))
            assert found, pattern
            expanded = [shown(one.U * f, places(one.U * f), signed=False) for f, _, _ in systems(name)]
            assert f" {' '.join(expanded)} pass" in page(name)[found.end() : found.end() + 80]


def test_move_that_travel_cuts_short_has_the_digits_that_were_worked_out() -> None:
    """D4 was moved 0.45 of the 0.65 mm that its slots leave: 0.2 mm more, and it still lies outside."""
    name, roll = "dryer_mixed", "D4"
    one, line = state(name, "parallel", roll, "as_left"), survey(name)
    aim = one.found.value + 0.2 / one.over_m
    cells = [*small(name, 0.2), *small(name, line.stop_reading(roll, "as_left", aim))]
    cells += [shown((aim - one.target) * f, one.at(f)) for f, _, _ in systems(name)]
    found = re.search(row_of(f"{roll} operator side drive side", *cells), page(name))
    assert found, cells
    whole = " / ".join(
        f"{cell} {unit}"
        for cell, unit in zip(small(name, -one.error * one.over_m), ("mm", "thou"), strict=True)
    )
    assert f"beyond travel; full move {whole}" in page(name)[found.end() : found.end() + 100]


@pytest.mark.parametrize("name", NAMES)
def test_overall_verdict_is_that_of_the_worst_check(name: str) -> None:
    """Counted here from all rolls and all pairs."""
    line = survey(name)
    for which, words in zip(ROUNDS, ("The line as found", "The line as left"), strict=True):
        verdicts = [
            state(name, aspect, roll, which).verdict
            for aspect in ASPECTS
            for roll in judged_rolls(name, aspect)
        ]
        for before, after, limit in line.pairs():
            for aspect in ASPECTS:
                target = line.target(aspect, after) - line.target(aspect, before)
                found = line.difference(aspect, (before, after), which)
                verdicts.append(State(found, target, limit, (line.k, 1.0)).verdict)
        overall = "fail" if "fail" in verdicts else "pass"
        assert re.search(rf"{words} Verdict: {overall}\b", page(name))
        rolls = {
            roll: [
                state(name, aspect, roll, which) for aspect in ASPECTS if roll in judged_rolls(name, aspect)
            ]
            for roll in survey(name).rolls
        }
        short = {roll for roll, both in rolls.items() if any(one.verdict == "fail" for one in both)}
        beyond = {
            roll
            for roll in short
            if any(one.verdict == "fail" and abs(one.error) > one.limit + one.U for one in rolls[roll])
        }
        said = "outside tolerance" if short == beyond else "not shown to be within tolerance"
        sentence = f"{len(short)} of {len(rolls)} rolls {said}" if short else f"All {len(rolls)} rolls within"
        assert f" {sentence} " in page(name)
        for aspect in ASPECTS:
            judged_here = [state(name, aspect, roll, which).verdict for roll in judged_rolls(name, aspect)]
            if short:
                assert f"{aspect} {judged_here.count('fail')} of {len(judged_here)}" in page(name)
