"""`certgen aim`: quantities as in surveys, the answer in the unit that was typed, wrong usage explained."""

import json

import pytest

from tests.cli.run import Ended, run

SETTING = ("--pivot-to-near", "310mm", "--near-to-far", "2.4m", "--far", "0.82mm")
INCHES = ("--pivot-to-near", "12.5in", "--near-to-far", "15.5in", "--far", "118thou")


def test_aim_is_printed_in_the_unit_of_the_far_reading(capsys: pytest.CaptureFixture[str]) -> None:
    """Millimetres, or thou; distances as they were typed."""
    assert "The far end is to read −0.106 mm" in run(capsys, "aim", *SETTING).out
    out = run(capsys, "aim", *INCHES).out
    assert "The far end is to read −95.2 thou" in out
    assert (
        "Pivot to near 12.5 in, near to far 15.5 in; the near end reads 0.0 thou, the far end +118.0 thou"
        in out
    )


def test_aim_takes_a_near_reading(capsys: pytest.CaptureFixture[str]) -> None:
    """Without zeroing: 0.1 - 310/2400 x 0.72."""
    assert "is to read +0.007 mm" in run(capsys, "aim", *SETTING, "--near", "0.1 mm").out


@pytest.mark.parametrize(
    ("to_near", "words"),
    [
        ("310mm", "before the near target"),
        ("0mm", "at the near target"),
        ("-400mm", "between the targets"),
        ("-2.4m", "Watch the near end"),
        ("-3m", "beyond the far target"),
    ],
)
def test_aim_says_what_the_pivot_means(to_near: str, words: str, capsys: pytest.CaptureFixture[str]) -> None:
    """Each place of the pivot has its sentence."""
    ended = run(capsys, "aim", "--pivot-to-near", to_near, *SETTING[2:])
    assert ended.status == 0
    assert words in ended.out


def test_aim_after_a_turn_says_the_next_one(capsys: pytest.CaptureFixture[str]) -> None:
    """What the near end reads by now, and both ways to go on."""
    out = run(capsys, "aim", *INCHES, "--reached", "-80thou").out
    assert "the near end then reads −88.4 thou, and the ends differ by +8.4 thou" in out
    assert "the aim stays −95.2 thou" in out
    assert "aim at −6.8 thou" in out


def test_aim_tells_the_turns_of_an_accuracy(capsys: pytest.CaptureFixture[str]) -> None:
    """A row for each turn; the last one is within what was asked for."""
    out = run(capsys, "aim", *SETTING, "--accuracy", "90%").out
    assert "within 0.020 mm after 2 turns" in out
    assert out.splitlines()[-2].split() == ["2", "+0.082", "−0.011", "−0.001", "−0.010", "+0.008"]


def test_aim_of_ends_that_agree_needs_no_turn(capsys: pytest.CaptureFixture[str]) -> None:
    """Said, not computed."""
    out = run(capsys, "aim", *SETTING[:-1], "0mm", "--accuracy", "90%").out
    assert "nothing to turn" in out
    assert "agree within 0.020 mm already" in out


def test_aim_json_is_in_millimetres(capsys: pytest.CaptureFixture[str]) -> None:
    """Whatever was typed; what was not asked for is null."""
    found = json.loads(run(capsys, "aim", *INCHES, "--json").out)
    assert (found["format"], found["pivot"]) == ("certgen-aim/1", "before near")
    assert found["aim_mm"] == pytest.approx(-12.5 / 15.5 * 0.118 * 25.4)
    assert (found["reached"], found["turns"]) == (None, None)
    full = json.loads(run(capsys, "aim", *INCHES, "--json", "--reached", "0mm", "--accuracy", "80%").out)
    assert full["reached"]["zeroed_aim_mm"] == pytest.approx(-12.5 / 15.5 * full["reached"]["apart_mm"])
    assert full["turns"][0]["far_mm"] == pytest.approx(0.118 * 25.4)


@pytest.mark.parametrize(
    ("arguments", "words"),
    [
        (SETTING[:4], "Missing option '--far'"),
        ((*SETTING[:5], "0.82"), "'--far': a number without a unit (got 0.82). Write for example 0.82 mm"),
        ((*SETTING[:5], "0,82mm"), "a comma stands in the number"),
        ((*SETTING[:5], "0.82 degC"), "unit of temperature"),
        ((*SETTING[:5], "1.2m"), "over 1 m"),
        ((*SETTING[:2], "--near-to-far", "0mm", *SETTING[4:]), "'--near-to-far': this must be above zero"),
        ((*SETTING[:2], "--near-to-far", "-2m", *SETTING[4:]), "this must be above zero"),
        ((*SETTING, "--accuracy", "250%"), "over 199 %"),
        ((*SETTING, "--accuracy", "0.9"), "a number without a unit"),
        ((*SETTING, "--accuracy", "90%", "--within", "0mm"), "this must be above zero"),
        ((*SETTING, "--accuracy", "1%"), "After 100 turns"),
        (("--pivot-to-near", "-2.4m", *SETTING[2:], "--reached", "0mm"), "no turn changes its reading"),
    ],
)
def test_aim_called_wrongly_says_what_would_be_right(
    arguments: tuple[str, ...], words: str, capsys: pytest.CaptureFixture[str]
) -> None:
    """Exit status 2, nothing on the standard output."""
    ended: Ended = run(capsys, "aim", *arguments)
    assert (ended.status, ended.out) == (2, "")
    assert words in ended.err
