"""`certgen trend`: surveys or certificates as tables, as JSON, as a PDF that is whole or not at all."""

import json
from pathlib import Path

import pytest

from certgen.resources import sample_surveys
from tests.cli.run import run

WINDER = [sample_surveys() / f"winder_inch{suffix}.yaml" for suffix in ("", "_next_year", "_third_year")]


@pytest.fixture(scope="module")
def certificate(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The certificate of the first visit."""
    target = tmp_path_factory.mktemp("issued") / "winder.pdf"
    from certgen.cli import main

    with pytest.raises(SystemExit):
        main(["issue", str(WINDER[0]), "-o", str(target)])
    return target


def test_trend_prints_what_to_do_first(capsys: pytest.CaptureFixture[str]) -> None:
    """When to survey next, then what drifts and what moved otherwise, then the tables."""
    ended = run(capsys, "trend", *WINDER)
    assert (ended.status, ended.err) == (0, "")
    parts = [
        "3 visits, 2026-10-14 to 2028-10-12: Spunbond line 3 winder section",
        "- Survey next on or before 2029-",
        "- Drift shown, level: R8 −0.46",
        "- Drift shown, parallel: R2 −0.2",
        "- Moved, but not steadily, parallel: R7.",
        "- No longer there: R3.",
        "Level, drift between the visits",
        "Parallel to the common reference, drift",
    ]
    places = [ended.out.index(part) for part in parts]
    assert places == sorted(places)


def test_trend_takes_files_in_any_order(capsys: pytest.CaptureFixture[str]) -> None:
    """The dates say which is the earlier one."""
    assert run(capsys, "trend", *WINDER).out == run(capsys, "trend", *reversed(WINDER)).out


def test_trend_takes_a_certificate_for_its_survey(
    certificate: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """The survey travels inside, byte for byte."""
    ended = run(capsys, "trend", certificate, *WINDER[1:])
    assert ended.out == run(capsys, "trend", *WINDER).out


def test_compare_takes_a_certificate_for_its_survey(
    certificate: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """As the trend does."""
    ended = run(capsys, "compare", certificate, WINDER[1])
    assert ended.out == run(capsys, "compare", *WINDER[:2]).out


def test_pdf_that_is_no_certificate_is_refused(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Exit 5, with the name of the file."""
    path = tmp_path / "other.pdf"
    path.write_bytes(b"%PDF-1.7\nnothing")
    ended = run(capsys, "compare", path, WINDER[1])
    assert (ended.status, ended.out) == (5, "")
    assert str(path) in ended.err


def test_trend_json_is_the_contract(capsys: pytest.CaptureFixture[str]) -> None:
    """One document on the standard output, every name in place."""
    found = json.loads(run(capsys, "trend", *WINDER, "--json").out)
    assert found["format"] == "certgen-trend/1"
    assert [visit["certificate"]["number"] for visit in found["visits"]] == [
        "FC-2026-031",
        "FC-2027-044",
        "FC-2028-039",
    ]
    assert found["drifting"] == [{"roll": "R8", "aspect": "level"}, {"roll": "R2", "aspect": "parallel"}]
    assert found["unsteady"] == [{"roll": "R7", "aspect": "parallel"}]
    assert found["next_survey"]["because_of"] == [{"roll": "R8", "aspect": "level"}]
    rolls = {roll["id"]: roll for roll in found["rolls"]}
    assert len(rolls["T10"]["parallel"]["points"]) == 4
    drift = rolls["R8"]["level"]["drift"]
    assert drift["U"] == pytest.approx(drift["k"] * drift["u"])
    assert rolls["R8"]["level"]["outlook"]["reached"]["expected"] > found["next_survey"]["on_or_before"]


def test_trend_writes_a_pdf(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Left alone once it is there, until --replace is given."""
    target = tmp_path / "trend.pdf"
    assert run(capsys, "trend", *WINDER[:2], "--pdf", target).out.endswith(f"Wrote {target}\n")
    assert run(capsys, "trend", *WINDER[:2], "--pdf", target).status == 4
    assert run(capsys, "trend", *WINDER[:2], "--pdf", target, "--replace").status == 0
    assert list(tmp_path.iterdir()) == [target]


def test_both_commands_speak_other_languages(capsys: pytest.CaptureFixture[str]) -> None:
    """Words, decimal comma and days of the language."""
    german = run(capsys, "trend", *WINDER, "--lang", "de").out
    assert "- Drift nachgewiesen, Horizontalität: R8 −0,46" in german
    assert "  −0,11   " in german  # aligned on the comma
    assert "- Movidos, paralelismo: R7." in run(capsys, "compare", *WINDER[:2], "--lang", "es").out


@pytest.mark.parametrize("files", [[], WINDER[:1], [WINDER[0], WINDER[0]]])
def test_trend_of_fewer_than_two_visits_is_wrong_usage(
    files: list[Path], capsys: pytest.CaptureFixture[str]
) -> None:
    """Exit 2: nothing, one visit, one visit twice."""
    assert run(capsys, "trend", *files).status == 2
