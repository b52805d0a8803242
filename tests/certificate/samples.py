"""Assessed surveys for the tests of the certificate."""

from functools import cache
from pathlib import Path
from tempfile import TemporaryDirectory

from certgen import resources
from certgen.assessment.assess import assess
from certgen.assessment.assessment import Assessment
from certgen.cli.survey_input import load_solved
from certgen.wording.wording import Wording

WORDING = Wording(resources.templates(), "en")


@cache
def sample(name: str) -> Assessment:
    """Return a sample survey, solved and assessed."""
    return assessed(resources.sample_surveys() / f"{name}.yaml")


def assessed(path: Path) -> Assessment:
    """Return the survey in a file, solved and assessed."""
    solution, _ = load_solved(str(path))
    return assess(solution)


def vague() -> Assessment:
    """Return the smallest sample, its line read so badly that U is far beyond every limit."""
    with TemporaryDirectory() as folder:
        worse = (("level: {standard: 0.005 mm/m}", "level: {standard: 2 mm/m}"),
                 ("repeatability: {standard: 0.006}", "repeatability: {standard: 2}"))  # fmt: skip
        return changed(Path(folder), "tutorial", *worse)


def changed(tmp_path: Path, name: str, *replacements: tuple[str, str]) -> Assessment:
    """Return a sample with pieces of its text replaced; each piece must be there."""
    text = (resources.sample_surveys() / f"{name}.yaml").read_text("utf-8")
    for old, new in replacements:
        assert old in text
        text = text.replace(old, new)
    path = tmp_path / f"{name}.yaml"
    path.write_text(text, "utf-8")
    return assessed(path)
