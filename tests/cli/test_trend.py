"""`certgen trend`: surveys or certificates as tables, as JSON, as a PDF that is whole or not at all."""

import json
from pathlib import Path

import pytest

from certgen.resources import sample_surveys
from tests.certificate.forge import forged, objects, stream, with_stream
from tests.cli.run import run, start

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
        "- Moved, but not steadily, parallel: R7 (between 2026-10-15 and 2027-10-12).",
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
    assert run(capsys, "trend", *WINDER[:2], "--pdf", target).out.endswith(f"Wrote {target}.\n")
    assert run(capsys, "trend", *WINDER[:2], "--pdf", target).status == 4
    assert run(capsys, "trend", *WINDER[:2], "--pdf", target, "--replace").status == 0
    assert list(tmp_path.iterdir()) == [target]


def test_both_commands_speak_other_languages(capsys: pytest.CaptureFixture[str]) -> None:
    """Words, decimal comma and days of the language."""
    german = run(capsys, "trend", *WINDER, "--lang", "de").out
    assert "- Drift nachgewiesen, Horizontalität: R8 −0,46" in german
    assert "  −0,11   " in german  # aligned on the comma
    assert "- Movidos, paralelismo: R7." in run(capsys, "compare", *WINDER[:2], "--lang", "es").out


@pytest.fixture(scope="module")
def kept(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A register of the three visits and of another line."""
    folder = tmp_path_factory.mktemp("kept")
    register = folder / "register"
    for survey in (*WINDER[::-1], sample_surveys() / "tutorial.yaml"):
        assert start("issue", survey, "-o", folder / f"{survey.stem}.pdf", "--register", register).status == 0
    return register


def test_trend_follows_a_line_of_the_register(kept: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """By name or asset, with the numbers that its surveys give as files; together with a file, too."""
    expected = run(capsys, "trend", *WINDER).out
    name = "spunbond line 3 WINDER section"
    assert run(capsys, "trend", name, "--register", kept).out == expected
    options = ("--without", "FC-2028-039", "--register", kept)
    assert run(capsys, "trend", "LN3-WND", WINDER[2], *options).out == expected


def test_trend_of_a_line_may_begin_later(kept: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """The visits since a day."""
    ended = run(capsys, "trend", "LN3-WND", "--since", "2027-01-01", "--register", kept, "--json")
    numbers = [visit["certificate"]["number"] for visit in json.loads(ended.out)["visits"]]
    assert numbers == ["FC-2027-044", "FC-2028-039"]


def test_trend_of_an_unknown_line_is_wrong_usage(kept: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Whether the register has none of this name, or only one visit to it, or there is no register."""
    ended = run(capsys, "trend", "Line 9", "--register", kept)
    assert (ended.status, ended.err) == (2, "Line 9: the register has no line or asset of this name.\n")
    single = run(capsys, "trend", "Inspection rewinder", "--register", kept)
    assert (single.status, "two visits or more (found: certificate TB-2026-014)" in single.err) == (2, True)
    without = run(capsys, "trend", "Line 9")
    assert (without.status, "no register is named to look for a line" in without.err) == (2, True)


def test_compare_takes_certificates_of_the_register(kept: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """By their numbers, beside a file, or one alone; exit 2 where there is none."""
    expected = run(capsys, "compare", *WINDER[:2]).out
    by_numbers = ("compare", "FC-2027-044", "FC-2026-031", "--register", kept)
    assert run(capsys, *by_numbers).out == expected
    assert run(capsys, "compare", WINDER[0], "FC-2027-044", "--register", kept).out == expected
    one = run(capsys, "compare", "FC-2026-031", "--register", kept).out
    assert one == run(capsys, "compare", WINDER[0]).out
    assert run(capsys, "compare", "FC-2026-9", "--register", kept).status == 2


@pytest.mark.parametrize("files", [[], WINDER[:1], [WINDER[0], WINDER[0]]])
def test_trend_of_fewer_than_two_visits_is_wrong_usage(
    files: list[Path], capsys: pytest.CaptureFixture[str]
) -> None:
    """Exit 2: nothing, one visit, one visit twice."""
    assert run(capsys, "trend", *files).status == 2


def test_trend_leaves_out_only_what_is_there(kept: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """A slip in a number would leave the visit in: exit 2, with the numbers there are."""
    ended = run(capsys, "trend", "LN3-WND", "--without", "FC-2027-04", "--register", kept)
    assert (ended.status, ended.out) == (2, "")
    assert "It has: FC-2026-031, FC-2027-044, FC-2028-039." in ended.err


def test_line_that_is_spelled_in_part_is_suggested(kept: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """With what is like it in the register."""
    ended = run(capsys, "trend", "Spunbond line 3", "--register", kept)
    assert (ended.status, "Did you mean Spunbond line 3 winder section?" in ended.err) == (2, True)


def test_trend_over_different_lines_says_so_first(capsys: pytest.CaptureFixture[str]) -> None:
    """As the comparison does."""
    ended = run(capsys, "trend", WINDER[0], sample_surveys() / "tutorial.yaml")
    first = ended.out.splitlines()[1]
    assert first.startswith("- The surveys are not of the same line by what they state: ")
    assert "not of the same line" not in run(capsys, "trend", *WINDER).out


def test_survey_that_was_changed_within_a_certificate_is_not_used(
    certificate: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """Its own results were made from another one: exit 5, and what tells more."""
    data = certificate.read_bytes()
    number, part, held = next(
        (number, part, held)
        for number, part in objects(data).items()
        if (held := stream(part)) is not None and held.startswith(WINDER[0].read_bytes()[:40])
    )
    path = tmp_path / "changed.pdf"
    path.write_bytes(forged(data, {number: with_stream(part, held.replace(b"Larkfield", b"Larkfeild"))}))
    for command in ("trend", "compare"):
        ended = run(capsys, command, path, WINDER[1])
        assert (ended.status, ended.out, "certgen verify" in ended.err) == (5, "", True)
