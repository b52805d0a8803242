"""The sample surveys: each is read, solved and issued, and shows what it was made to show."""

import json
import os
import subprocess
import sys
from functools import cache
from pathlib import Path

import pytest
from pypdf import PdfReader

from certgen.assessment.assess import assess
from certgen.assessment.assessment import Assessment
from certgen.cli import main
from certgen.cli.survey_input import load
from certgen.network.solution import solve_survey
from certgen.resources import sample_surveys
from certgen.results.survey_results import survey_results

# (as found, as left)
OVERALL = {
    "coater_mm": ("fail", "conditional pass"),
    "dryer_mixed": ("fail", "fail"),
    "tutorial": ("fail", "pass"),
    "unwind_wide": ("fail", "pass"),
    "winder_inch": ("fail", "pass"),
    "winder_inch_next_year": ("fail", "pass"),
    "winder_inch_third_year": ("fail", "pass"),
}
SAMPLES = sorted(OVERALL)


def path_of(name: str) -> Path:
    """Return the file of a sample."""
    return sample_surveys() / f"{name}.yaml"


@cache
def assessed(name: str) -> Assessment:
    """Return a sample, solved and judged."""
    survey, _ = load(str(path_of(name)))
    return assess(solve_survey(survey))


def status(*arguments: object) -> int:
    """Run certgen in this process; return its exit status."""
    with pytest.raises(SystemExit) as ended:
        main([str(argument) for argument in arguments])
    return int(ended.value.code or 0)


@pytest.fixture(scope="module", params=SAMPLES)
def issued(request: pytest.FixtureRequest, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The certificate of each sample, named like it."""
    target = tmp_path_factory.mktemp("issued") / f"{request.param}.pdf"
    assert status("issue", path_of(request.param), "-o", target) == 0
    return target


def test_samples_folder_holds_only_what_is_tested() -> None:
    """A sample that is added must say here what it shows."""
    assert sorted(path.stem for path in sample_surveys().iterdir()) == SAMPLES


@pytest.mark.parametrize("name", SAMPLES)
def test_sample_reads_without_findings(name: str) -> None:
    """A sample is an example to follow: not even a warning."""
    _, findings = load(str(path_of(name)))
    assert [finding.line(name) for finding in findings] == []


@pytest.mark.parametrize("name", SAMPLES)
def test_sample_verdicts_are_as_intended(name: str) -> None:
    """The overall verdicts of both rounds."""
    overall = assessed(name).overall
    assert (overall["as_found"], overall["as_left"]) == OVERALL[name]


@pytest.mark.parametrize("aspect", ["parallel", "level"])
@pytest.mark.parametrize("name", SAMPLES)
def test_sample_scatter_fits_its_uncertainty(name: str, aspect: str) -> None:
    """Chi-square neither too large nor too small, and no reading under suspicion."""
    solution = assessed(name).solution
    found = solution.parallel if aspect == "parallel" else solution.level
    assert found is not None
    assert found.quality.p_value is not None
    assert 0.02 < found.quality.p_value < 0.98
    assert found.quality.suspects == ()


@pytest.mark.parametrize("name", SAMPLES)
def test_sample_results_are_plain_json(name: str) -> None:
    """Results survive being written and read, without nan or infinity."""
    plain = survey_results(assessed(name))
    assert json.loads(json.dumps(plain, allow_nan=False)) == plain


@pytest.mark.parametrize("name", SAMPLES)
def test_sample_uncertainty_leaves_room_for_a_verdict(name: str) -> None:
    """U stays under half of the limit, else the tolerance could not be proven with these instruments."""
    for roll in assessed(name).rolls:
        for state in (roll.level.as_left, roll.parallel.as_left):
            assert state is not None
            assert state.U_mm_per_m < state.limit_mm_per_m / 2


def test_coater_is_conditional_at_the_roll_that_cannot_move() -> None:
    """Only the oven exit roll falls short of a plain pass."""
    short = [
        (roll.id, name)
        for roll in assessed("coater_mm").rolls
        for name in ("level", "parallel")
        if roll.aspect(name).verdict("as_left") != "pass"
    ]
    assert short == [("C7", "parallel")]


def test_dryer_is_left_failing_at_one_roll() -> None:
    """Only the cylinder whose bolts were seized."""
    short = [
        (roll.id, name)
        for roll in assessed("dryer_mixed").rolls
        for name in ("level", "parallel")
        if roll.aspect(name).verdict("as_left") == "fail"
    ]
    assert short == [("D4", "parallel")]


@pytest.mark.parametrize("command", [("check",), ("check", "--json"), ("solve",), ("solve", "--json")])
@pytest.mark.parametrize("name", SAMPLES)
def test_sample_passes_through_every_command(name: str, command: tuple[str, ...]) -> None:
    """A failed tolerance is a result: the exit status is 0."""
    assert status(*command, path_of(name)) == 0


def test_certificate_numbers_every_page(issued: Path) -> None:
    """The PDF opens, and every page says which of how many it is."""
    pages = PdfReader(issued).pages
    texts = [" ".join(page.extract_text().split()) for page in pages]
    assert len(pages) > 1
    assert [f"page {n} of {len(pages)}" in text for n, text in enumerate(texts, 1)] == [True] * len(pages)


def test_certificate_stands_on_its_paper(issued: Path) -> None:
    """Every page has the size the survey asks for."""
    survey, _ = load(str(path_of(issued.stem)))
    size = {"A4": (595, 842), "letter": (612, 792)}[survey.certificate.paper]
    boxes = [page.mediabox for page in PdfReader(issued).pages]
    assert {(round(box.width), round(box.height)) for box in boxes} == {size}


def test_certificate_is_the_same_bytes_again(issued: Path, tmp_path: Path) -> None:
    """Another process, another place, time zone and hash seed: the same file."""
    again = tmp_path / "again.pdf"
    command = [sys.executable, "-m", "certgen", "issue", path_of(issued.stem), "-o", again]
    root = str(Path(__file__).parent.parent)
    elsewhere = {**os.environ, "PYTHONPATH": root, "PYTHONHASHSEED": "7", "TZ": "Pacific/Auckland"}
    subprocess.run(command, cwd=tmp_path, env=elsewhere, capture_output=True, check=True)
    assert again.read_bytes() == issued.read_bytes()
