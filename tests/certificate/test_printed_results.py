"""Everything in the results is found on the pages: every roll, verdict and number, row by row.

The rows are written here from the JSON alone, with rounding of their own, and looked for in the PDF's text,
in every language: its words come from its templates, and a decimal comma is read as a point.
"""

import json
import re
from dataclasses import dataclass
from decimal import ROUND_HALF_EVEN, Decimal
from functools import cache
from io import BytesIO
from pathlib import Path
from typing import Any

import pytest
from pypdf import PdfReader

from certgen import resources
from certgen.assessment.assess import assess
from certgen.cli.survey_input import load
from certgen.network.solution import solve_survey
from certgen.pdf.pdf_document import certificate_pdf
from certgen.resources import LANGUAGES
from certgen.results.survey_results import survey_results
from certgen.wording.wording import SOFT_HYPHEN, Wording

SAMPLES = sorted(path.stem for path in resources.sample_surveys().glob("*.yaml"))
# slope and small length on the page for one mm/m and one mm: thou/ft and thou
FACTORS = {"mm": (1.0, 1.0, 3), "in": (12.0, 1000.0 / 25.4, 1)}
ROUNDS = ("as_found", "as_left")


WORDINGS = {language: Wording(resources.templates(), language) for language in LANGUAGES}


def word(language: str, key: str) -> str:
    """Return a word as it stands on a page."""
    return WORDINGS[language].word(key).replace(SOFT_HYPHEN, "")


@cache
def issued(name: str, language: str = "en") -> tuple[dict[str, Any], str, str]:
    """Return a sample's results, its units and the text of its certificate with white space folded."""
    survey, _ = load(str(resources.sample_surveys() / f"{name}.yaml"))
    assessment = assess(solve_survey(survey))
    pdf = certificate_pdf(assessment, WORDINGS[language], survey.certificate.paper)
    text = " ".join(page.extract_text() for page in PdfReader(BytesIO(pdf)).pages)
    found: dict[str, Any] = json.loads(json.dumps(survey_results(assessment)))
    return found, survey.certificate.units, f" {pointed(' '.join(text.split()))} "


def pointed(text: str) -> str:
    """Write decimal commas as points; the commas of a list stand before a space."""
    return re.sub(r"(?<=\d),(?=\d)", ".", text)


def shown(value: float, places: int, *, signed: bool) -> str:
    """Write a number with a true minus sign, none at a rounded zero; last digits of a float do not count."""
    number = Decimal(f"{value:.12f}").quantize(Decimal(1).scaleb(-places), rounding=ROUND_HALF_EVEN)
    sign = "" if number == 0 else "−" if number < 0 else "+" if signed else ""
    return f"{sign}{abs(number):.{places}f}"


def pattern(value: float, factor: float, expanded: float, *, signed: bool = True) -> str:
    """Return a pattern of the number to the place of two digits of U, or with more digits."""
    places = max(0, two_digits(expanded * factor)) if expanded else 3
    options = [shown(value * factor, p, signed=signed) for p in range(places, places + 9)]
    return "(?:" + "|".join(re.escape(option) for option in options) + ")"


def two_digits(expanded: float) -> int:
    """Return the places of two significant digits."""
    return 1 - int(f"{expanded:.1e}".partition("e")[2])


def cells(units: str, value: float, expanded: float, *, signed: bool = True, small: bool = False) -> str:
    """Return the pattern of a cell: one line, or one for each of two unit systems."""
    which = ("mm", "in") if units == "both" else (units,)
    return " ".join(pattern(value, FACTORS[u][1 if small else 0], expanded, signed=signed) for u in which)


@dataclass(frozen=True)
class Column:
    """The figures of a table in one unit: what one mm/m of each row makes of it, and the number of places."""

    factors: dict[str, float]
    places: int

    def number(self, row: str, value: float, *, signed: bool = True, more: int = 0) -> str:
        """Return a number as printed, with so many places beyond those of its column."""
        return shown(value * self.factors[row], self.places + more, signed=signed)

    def state(self, row: str, state: dict[str, Any], rule: str) -> list[str]:
        """Return error and U with as many places as the verdict needs to be seen in them."""
        if state["slope_mm_per_m"] is None:
            return ["–", "–"]
        if state["verdict"] == "reference":
            return ["0", ""]
        factor = self.factors[row]
        for more in range(9):
            error, expanded = (
                self.number(row, state[key], signed=sign, more=more)
                for key, sign in (("error_mm_per_m", True), ("U_mm_per_m", False))
            )
            limit = float(
                shown(state["limit_mm_per_m"] * factor, self.limit_places(row, state, more), signed=False)
            )
            if verdict(float(error.replace("−", "-")), float(expanded), limit, rule) == state["verdict"]:
                return [error, expanded]
        raise AssertionError(state)

    def limit_places(self, row: str, state: dict[str, Any], more: int = 0) -> int:
        """Return the places of a limit: those of its column, and two digits of its own at least."""
        return max(self.places + more, two_digits(state["limit_mm_per_m"] * self.factors[row]), 0)


def verdict(error: float, expanded: float, limit: float, rule: str) -> str:
    """Judge what is printed; a billionth of the limit is forgiven for the arithmetic."""
    size, near = abs(error), 1e-9 * limit
    if rule == "simple":
        return "pass" if size <= limit + near else "fail"
    if size <= limit - expanded + near:
        return "pass"
    if rule == "guarded":
        return "fail"
    if size <= limit + near:
        return "conditional pass"
    return "conditional fail" if size <= limit + expanded + near else "fail"


def column(states: list[tuple[str, dict[str, Any]]], factors: dict[str, float]) -> Column:
    """Return a column: the smallest U at two digits, as long as the largest keeps at most three."""
    sizes = [
        one["U_mm_per_m"] * factors[row]
        for row, one in states
        if one["slope_mm_per_m"] is not None and one["verdict"] != "reference"
    ]
    if not sizes:
        return Column(factors, 3)
    return Column(factors, min(two_digits(min(sizes)), two_digits(max(sizes)) + 1))


def over(stated: str) -> str:
    """Return what a limit is stated over."""
    return next((form for form in ("bearings", "face") if stated.endswith(f" over {form}")), "slope")


def factor(form: str, system: str, roll: Any) -> float:
    """Return what one mm/m of a roll makes in a form and a unit system."""
    slope, length, _ = FACTORS[system]
    return slope if form == "slope" else length * getattr(roll, f"{form}_mm") / 1000.0


@dataclass(frozen=True)
class Printed:
    """How the table of one aspect prints: its figures in each unit, or in the other form, limits or none."""

    first: Column
    other: Column | None
    limits: bool
    rule: str
    language: str

    def row(self, row: str, states: list[dict[str, Any]], shares: bool = False) -> str:
        """Return error, U, the other figure, for pairs the probability, and verdict of every round."""
        parts: list[str] = []
        for one in states:
            parts += self.first.state(row, one, self.rule)
            parts += [self.other.state(row, one, self.rule)[0]] if self.other is not None else []
            parts += [percent(one)] if shares else []
            parts.append(word(self.language, one["verdict"]))
        return " ".join(part for part in parts if part)


def percent(state: dict[str, Any]) -> str:
    """Return the probability of conformance as printed."""
    if state["slope_mm_per_m"] is None or state["verdict"] == "reference":
        return "–"
    share = 100.0 * state["conformance_probability"]
    if share < 0.01 or share > 99.99:
        return "< 0.01 %" if share < 50.0 else "> 99.99 %"
    return f"{share:.{2 if not 10 <= share <= 90 else 1}f} %"


def printing(name: str, language: str, aspect: str, *, pairs: bool = False) -> Printed:
    """Work out how the table of results, or that of adjacent rolls, prints."""
    found, units, _ = issued(name, language)
    survey, _ = load(str(resources.sample_surveys() / f"{name}.yaml"))
    rolls = {roll.id: roll for roll in survey.rolls}
    if pairs:
        of = {pair_id(one): rolls[one["to"]] for one in found["adjacent"]}
        states = [(pair_id(one), one[aspect][w]) for one in found["adjacent"] for w in ROUNDS]
        limits = [roll.adjacent_limit for roll in of.values()]
    else:
        of = rolls
        states = [(roll["id"], roll[aspect][w]) for roll in found["rolls"] for w in ROUNDS]
        limits = [getattr(roll, f"{aspect}_limit") for roll in rolls.values()]
    stated = [limit.stated for limit in limits if limit is not None]
    form = max(dict.fromkeys(map(over, stated)), key=lambda one: sum(over(text) == one for text in stated))
    systems = ("mm", "in") if units == "both" else (units,)
    columns = [
        column(states, {row: factor(form, system, roll) for row, roll in of.items()}) for system in systems
    ]
    other = columns[1] if units == "both" else None
    if other is None and not pairs and len(set(stated)) == 1:
        second = "bearings" if form == "slope" else "slope"
        other = column(states, {row: factor(second, systems[0], roll) for row, roll in of.items()})
    return Printed(columns[0], other, len(set(stated)) > 1, survey.decision, language)


def pair_id(pair: dict[str, Any]) -> str:
    """Return the name of a pair of neighbours."""
    return f"{pair['from']} – {pair['to']}"


@pytest.mark.parametrize("aspect", ["level", "parallel"])
@pytest.mark.parametrize("language", LANGUAGES)
@pytest.mark.parametrize("name", SAMPLES)
def test_every_roll_verdict_and_number_is_on_the_pages(name: str, language: str, aspect: str) -> None:
    """The row of results of every roll with its change, and its limit where limits differ."""
    found, _, text = issued(name, language)
    how = printing(name, language, aspect)
    for roll in found["rolls"]:
        of = roll[aspect]
        states = [of[which] for which in ROUNDS]
        row = f" {roll['id']} {roll['name']} {how.row(roll['id'], states)} "
        row += f"{changed_text(of, how, roll['id'])} "
        last = next((one for one in reversed(states) if one["slope_mm_per_m"] is not None), None)
        if how.limits and last is not None and last["verdict"] != "reference":
            places = how.first.limit_places(roll["id"], last)
            size = last["limit_mm_per_m"] * how.first.factors[roll["id"]]
            assert re.search(re.escape(row) + f"{re.escape(shown(size, places, signed=False))}\\d* ", text), (
                row
            )
        assert row in text, row


def changed_text(of: dict[str, Any], how: Printed, row: str) -> str:
    """Return the change of a roll, or that it was not measured again."""
    left = of["as_left"]
    stood = left["slope_mm_per_m"] is not None and not left["adjusted"] and left["verdict"] != "reference"
    if stood and of["as_found"]["slope_mm_per_m"] is not None:
        return word(how.language, "not adjusted")
    if of["change"] is None or left["verdict"] == "reference":
        return "–"
    return how.first.number(row, of["change"]["slope_mm_per_m"])


@pytest.mark.parametrize("aspect", ["level", "parallel"])
@pytest.mark.parametrize("language", LANGUAGES)
@pytest.mark.parametrize("name", SAMPLES)
def test_every_figure_behind_a_verdict_is_on_the_pages(name: str, language: str, aspect: str) -> None:
    """Slope, target where one is not zero, error, u, conformance; u and U of the change."""
    found, units, text = issued(name, language)
    systems = ("mm", "in") if units == "both" else (units,)
    every = [(roll["id"], roll[aspect][which]) for roll in found["rolls"] for which in ROUNDS]
    columns = [column(every, {row: FACTORS[system][0] for row, _ in every}) for system in systems]
    target = any(one["target_mm_per_m"] for _, one in every)
    keys = ("slope_mm_per_m", *(("target_mm_per_m",) if target else ()), "error_mm_per_m")
    for roll in found["rolls"]:
        parts = [roll["id"]]
        for which in ROUNDS:
            one = roll[aspect][which]
            if one["slope_mm_per_m"] is None:
                parts += ["–"] * (len(keys) + 2)
                continue
            parts += [part.number(roll["id"], one[key]) for key in keys for part in columns]
            parts += [part.number(roll["id"], one["u_mm_per_m"], signed=False) for part in columns]
            parts.append(percent(one))
        change = roll[aspect]["change"]
        if change is not None:
            sizes = (change["u_mm_per_m"], change["U_mm_per_m"])
            parts += [part.number(roll["id"], size, signed=False) for size in sizes for part in columns]
            parts.append(word(language, "is_significant" if change["significant"] else "is_not_significant"))
        assert f" {' '.join(parts)} " in text, parts


@pytest.mark.parametrize("aspect", ["level", "parallel"])
@pytest.mark.parametrize("language", LANGUAGES)
@pytest.mark.parametrize("name", SAMPLES)
def test_every_adjacent_pair_is_on_the_pages(name: str, language: str, aspect: str) -> None:
    """Error, U, probability of conformance and verdict of every pair of neighbours."""
    found, _, text = issued(name, language)
    if not found["adjacent"]:
        return
    how = printing(name, language, aspect, pairs=True)
    for pair in found["adjacent"]:
        row = how.row(pair_id(pair), [pair[aspect][which] for which in ROUNDS], shares=True)
        assert f" {pair_id(pair)} {row} " in text, row


def small(units: str, value: float) -> str:
    """A move or reading of the crew, at its fixed places."""
    which = ("mm", "in") if units == "both" else (units,)
    return " ".join(re.escape(shown(value * FACTORS[u][1], FACTORS[u][2], signed=True)) for u in which)


@pytest.mark.parametrize("language", LANGUAGES)
@pytest.mark.parametrize("name", SAMPLES)
def test_every_step_and_stop_reading_is_on_the_pages(name: str, language: str) -> None:
    """Of rolls that do not pass: the side to zero on, the one to move, the amount and where to stop."""
    found, units, text = issued(name, language)
    other = {"operator": "drive", "drive": "operator"}
    for roll in found["rolls"]:
        for aspect, way in (("parallel", "downstream_mm"), ("level", "up_mm")):
            move = roll["moves"][aspect]
            for step in move["steps"] if move is not None and move["needed"] else ():
                zeroed = f"{word(language, other[step['side']])} " if aspect == "parallel" else ""
                stop = f" {small(units, step['stop_reading_mm'])}" if aspect == "parallel" else ""
                row = f" {roll['id']} {zeroed}{word(language, step['side'])} {small(units, step[way])}{stop} "
                assert re.search(row, text), row


@pytest.mark.parametrize("language", LANGUAGES)
@pytest.mark.parametrize("name", SAMPLES)
def test_every_split_move_is_on_the_pages(name: str, language: str) -> None:
    """The alternative about the centre, operator side first, of rolls that do not pass and have the room."""
    found, units, text = issued(name, language)
    which = ("mm", "in") if units == "both" else (units,)
    for move in (m for roll in found["rolls"] for m in roll["moves"].values() if m and m["needed"]):
        fits = [way["moves"] for way in move["alternatives"] if way["way"] == "split" and way["fits_travel"]]
        for pair in fits:
            for u in which:
                values = (pair["operator_mm"], pair["drive_mm"])
                both = [shown(v * FACTORS[u][1], FACTORS[u][2], signed=True) for v in values]
                assert " / ".join(both) in text


@pytest.mark.parametrize("language", LANGUAGES)
@pytest.mark.parametrize("name", SAMPLES)
def test_the_proof_of_both_networks_is_on_the_pages(name: str, language: str) -> None:
    """Counts, chi-square, p-value, critical value and closures."""
    found, units, text = issued(name, language)
    for aspect, network in found["network"].items():
        counts = " ".join(str(network[key]) for key in ("observations", "unknowns", "dof"))
        chi_square = shown(network["chi_square"], 2, signed=False)
        fit = f"{chi_square} {network['p_value']:.3f} {network['critical_w']:.2f}"
        assert f" {word(language, aspect)} {counts} {fit} " in text
        for closure in network["closures"]:
            row = re.search(closure_row(units, closure, found["coverage_factor"]), text)
            assert bool(row) == closure["checked"]


def closure_row(units: str, closure: dict[str, Any], k: float) -> str:
    """Who, and the difference with its standard uncertainty."""
    monument = "monument" in closure
    value, u = (
        closure[key] for key in (("difference_mm", "u_mm") if monument else ("slope_mm_per_m", "u_mm_per_m"))
    )
    numbers = [
        cells(units, number, k * u, signed=signed, small=monument)
        for number, signed in ((value, True), (u, False))
    ]
    return f" {closure['monument' if monument else 'roll']} .{{0,80}}? {numbers[0]} {numbers[1]} "


@pytest.mark.parametrize("language", LANGUAGES)
@pytest.mark.parametrize("name", SAMPLES)
def test_identification_and_overall_verdicts_are_on_the_pages(name: str, language: str) -> None:
    """Number, revision, digest, reference, verdict of both rounds."""
    found, _, text = issued(name, language)
    head = found["certificate"]
    identification = WORDINGS[language].word("number", number=head["number"], revision=head["revision"])
    assert identification in text
    assert found["survey_sha256"] in text.replace(" ", "")
    for which in ROUNDS:
        verdict = WORDINGS[language].word(
            "titled", title=word(language, "verdict"), text=word(language, found["overall"][which])
        )
        assert " ".join(f"{word(language, f'line_{which}')} {verdict}".split()) in text


def test_pages_hold_every_statement_of_a_certificate() -> None:
    """Safety, scope, reproduction, signatures and end mark."""
    _, _, text = issued("tutorial")
    for words in (
        "isolate, lock out and tag out every drive",
        "verify zero energy, try to start, then return the control to off",
        "Local codes, the site's own procedures",
        "results relate only to the items surveyed",
        "reproduced only in full",
        "Surveyed by",
        "Approved by",
        "End of certificate",
        "IEC 60825-1",
    ):
        assert words in text


def test_this_file_reads_every_sample() -> None:
    """The bar holds for all samples, so none may be left out by a changed folder."""
    assert len(SAMPLES) >= 4
    assert all(Path(resources.sample_surveys() / f"{name}.yaml").is_file() for name in SAMPLES)
