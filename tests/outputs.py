"""Every output of every sample in every language, to hold two states of the code against each other.

`python -m tests.outputs FOLDER` writes them all: PDF, HTML, CSV, workbook, letter, work sheet, study,
comparison, trend and the JSON of each. Two folders of the same machine are equal byte for byte while
nothing that is written has changed: `diff -r BEFORE AFTER`. `python -m tests.outputs --keep` writes the
digests of what does not depend on a machine, which the suite looks at.
"""

import io
import json
import re
import sys
import tempfile
from contextlib import redirect_stderr, redirect_stdout
from hashlib import sha256
from pathlib import Path
from unittest.mock import patch

from openpyxl import load_workbook

from certgen import resources
from certgen.cli import main

KEPT = Path(__file__).parent / "outputs.json"
LANGUAGES = ("en", "de", "fr", "es")
_SAMPLES = resources.sample_surveys()
_YEARS = tuple(_SAMPLES / f"winder_inch{which}.yaml" for which in ("", "_next_year", "_third_year"))
# a number with more digits than anything printed has: its last ones are a machine's own
_FULL = re.compile(r"-?\d+\.\d{7,}(?:e[-+]\d+)?|-?\d+(?:\.\d+)?e-\d+")


def run(folder: Path, name: str, *arguments: object) -> None:
    """Run a command and keep what it prints, errors and exit status included, as a text."""
    out, err = io.StringIO(), io.StringIO()
    status: object = 0
    with redirect_stdout(out), redirect_stderr(err):
        try:
            main([str(one) for one in arguments])
        except SystemExit as ended:
            status = ended.code
    said = f"{out.getvalue()}\n--- {status or 0}\n{err.getvalue()}".replace(str(folder.parent), "FOLDER")
    (folder / name).write_text(said.replace(str(_SAMPLES), "SAMPLES"), "utf-8")


def write(target: Path, languages: tuple[str, ...] = LANGUAGES) -> None:
    """Write all outputs into a folder, which must not exist: a folder for each language, and one for JSON."""
    with patch.object(resources, "program_digest", lambda: "0" * 64):  # reports say which code made them
        _write(target, languages)


def _write(target: Path, languages: tuple[str, ...]) -> None:
    plain = target / "json"
    plain.mkdir(parents=True)
    for survey in sorted(_SAMPLES.glob("*.yaml")):
        for command in ("check", "solve", "moves", "study", "compare"):
            run(plain, f"{survey.stem}-{command}.json", command, "--json", survey)
    run(plain, "years-compare.json", "compare", "--json", *_YEARS[:2])
    run(plain, "years-trend.json", "trend", "--json", *_YEARS)
    run(plain, "schema.json", "schema")
    for language in languages:
        folder = target / language
        folder.mkdir()
        for survey in sorted(_SAMPLES.glob("*.yaml")):
            _survey(folder, survey, ("--lang", language))
        for command, years in (("compare", _YEARS[:2]), ("trend", _YEARS)):
            pdf = folder / f"years-{command}.pdf"
            run(folder, f"years-{command}.txt", command, *years, "--lang", language, "--pdf", pdf)


def _survey(folder: Path, survey: Path, lang: tuple[str, str]) -> None:
    at = folder / survey.stem
    more = [f"--{kind}" for kind in ("html", "csv", "xlsx", "letter")]
    beside = [word for kind in more for word in (kind, f"{at}.{kind[2:]}")]
    run(folder, f"{at.name}-issue.txt", "issue", survey, "-o", f"{at}.pdf", *beside, *lang)
    for command in ("moves", "study", "compare"):
        run(folder, f"{at.name}-{command}.txt", command, survey, "--pdf", f"{at}-{command}.pdf", *lang)
    run(folder, f"{at.name}-solve.txt", "solve", "--budget", survey, *lang)


def digests(folder: Path) -> dict[str, str]:
    """Return the digest of each output but the pages, numbers of full precision to six digits."""
    files = (path for path in sorted(folder.rglob("*")) if path.is_file() and path.suffix != ".pdf")
    return {path.relative_to(folder).as_posix(): _digest(path) for path in files}


def _digest(path: Path) -> str:
    if path.suffix == ".xlsx":
        book = load_workbook(path)
        text = json.dumps([[sheet.title, *map(list, sheet.values)] for sheet in book], default=str)
    else:
        text = path.read_text("utf-8")
    short = _FULL.sub(lambda number: f"{round(float(number[0]), 9):.6g}", text)
    return sha256(short.encode()).hexdigest()[:16]


def kept() -> dict[str, str]:
    """Return the digests as they are kept."""
    found: dict[str, str] = json.loads(KEPT.read_text("utf-8"))
    return found


if __name__ == "__main__":
    if sys.argv[1:] == ["--keep"]:
        with tempfile.TemporaryDirectory() as place:
            write(Path(place) / "all")
            KEPT.write_text(json.dumps(digests(Path(place) / "all"), indent=1) + "\n", "utf-8")
    else:
        write(Path(sys.argv[1]))
