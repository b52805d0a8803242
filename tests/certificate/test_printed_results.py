"""Everything in the results is found on the pages: every roll, verdict and number, row by row.

The rows are written here from the JSON alone, with rounding of their own, and looked for in the PDF's text,
in every language: its words come from its templates, and a decimal comma is read as a point.
"""

import json
import re
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
    two = f"{expanded * factor:.1e}"
    places = max(0, 1 - int(two.partition("e")[2])) if expanded else 3
    options = [shown(value * factor, p, signed=signed) for p in range(places, places + 9)]
    return "(?:" + "|".join(re.escape(option) for option in options) + ")"


def cells(units: str, value: float, expanded: float, *, signed: bool = True, small: bool = False) -> str:
    """Return the pattern of a cell: one line, or one for each of two unit systems."""
    which = ("mm", "in") if units == "both" else (units,)
    return " ".join(pattern(value, FACTORS[u][1 if small else 0], expanded, signed=signed) for u in which)


def state_row(units: str, state: dict[str, Any], language: str = "en") -> str:
    """Slope, over bearings, U and verdict of one round."""
    if state["slope_mm_per_m"] is None:
        return f"– – – {word(language, 'not measured')}"
    expanded, slope = state["U_mm_per_m"], state["slope_mm_per_m"]
    over = expanded * abs(state["over_bearings_mm"] / slope) if slope else 0.0
    bearings = (
        cells(units, state["over_bearings_mm"], over, small=True)
        if abs(slope) > 1e-12
        else r"[0.]+(?: [0.]+)?"
    )
    parts = (cells(units, slope, expanded), bearings, cells(units, expanded, expanded, signed=False))
    return " ".join((*parts, word(language, state["verdict"])))


def figure_row(units: str, state: dict[str, Any]) -> str:
    """Target, error, u and conformance of one round."""
    if state["slope_mm_per_m"] is None:
        return "– – – –"
    expanded = state["U_mm_per_m"]
    numbers = (state["target_mm_per_m"], state["error_mm_per_m"])
    signed = " ".join(cells(units, number, expanded) for number in numbers)
    if state["verdict"] == "reference":
        return f"{signed} {cells(units, state['u_mm_per_m'], expanded, signed=False)} –"
    share = 100.0 * state["conformance_probability"]
    percent = (
        "< 0.01"
        if share < 0.01
        else "> 99.99"
        if share > 99.99
        else f"{share:.{2 if not 10 <= share <= 90 else 1}f}"
    )
    return f"{signed} {cells(units, state['u_mm_per_m'], expanded, signed=False)} {re.escape(percent)} %"


@pytest.mark.parametrize("aspect", ["level", "parallel"])
@pytest.mark.parametrize("language", LANGUAGES)
@pytest.mark.parametrize("name", SAMPLES)
def test_every_roll_verdict_and_number_is_on_the_pages(name: str, language: str, aspect: str) -> None:
    """The row of results and the row of figures of every roll."""
    found, units, text = issued(name, language)
    for roll in found["rolls"]:
        rounds = [roll[aspect][which] for which in ROUNDS]
        row = f" {roll['id']} " + " ".join(state_row(units, state, language) for state in rounds)
        figures = f" {roll['id']} " + " ".join(figure_row(units, state) for state in rounds)
        assert re.search(row, text), row
        assert re.search(figures, text), figures
        assert roll["name"] in text


@pytest.mark.parametrize("aspect", ["level", "parallel"])
@pytest.mark.parametrize("language", LANGUAGES)
@pytest.mark.parametrize("name", SAMPLES)
def test_every_change_is_on_the_pages(name: str, language: str, aspect: str) -> None:
    """Change in slope beside its roll, its u and U among the figures."""
    found, units, text = issued(name, language)
    for roll in found["rolls"]:
        change = roll[aspect]["change"]
        if change is not None:
            u, expanded = change["u_mm_per_m"], change["U_mm_per_m"]
            tail = " % " + " ".join(cells(units, number, expanded, signed=False) for number in (u, expanded))
            figures = f" {roll['id']} " + " ".join(figure_row(units, roll[aspect][w]) for w in ROUNDS)
            slope = (
                state_row(units, roll[aspect]["as_left"], language)
                + " "
                + cells(units, change["slope_mm_per_m"], expanded)
            )
            significant = word(language, "is_significant" if change["significant"] else "is_not_significant")
            assert re.search(f"{figures}{tail[2:]} {significant} ", text)
            assert re.search(slope, text), slope


@pytest.mark.parametrize("aspect", ["level", "parallel"])
@pytest.mark.parametrize("language", LANGUAGES)
@pytest.mark.parametrize("name", SAMPLES)
def test_every_adjacent_pair_is_on_the_pages(name: str, language: str, aspect: str) -> None:
    """Both rows of every pair of neighbours."""
    found, units, text = issued(name, language)
    for pair in found["adjacent"]:
        rounds = [pair[aspect][which] for which in ROUNDS]
        head = f" {pair['from']} – {pair['to']} "
        assert re.search(head + " ".join(state_row(units, state, language) for state in rounds), text)
        assert re.search(head + " ".join(figure_row(units, state) for state in rounds), text)


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
        assert f"{word(language, f'line_{which}')} {word(language, found['overall'][which])}" in text


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
