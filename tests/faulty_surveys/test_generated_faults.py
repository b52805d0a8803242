"""Faulty surveys that cannot carry comments, made on the spot; each is started as a user would start it."""

import os
import re
from pathlib import Path

import pytest

from tests.cli.run import start

SOUND = (Path(__file__).parent / "sound.yaml").read_bytes()
MOST_SECONDS = 1.0
MOST_RUNS = 5
_BOMB = b"a0: &a0 [x, x, x, x, x, x, x, x, x, x]\n" + b"".join(
    b"a%d: &a%d [%s]\n" % (level, level, b", ".join([b"*a%d" % (level - 1)] * 10)) for level in range(1, 10)
)

# name -> bytes, line, words of the message
FAULTS: dict[str, tuple[bytes, int, str]] = {
    "empty": (b"", 1, "empty"),
    "large": (SOUND + b"#" * 5_000_000, 1, "larger than 5 MB"),
    "many_values": (b"notes: [" + b"1, " * 200_000 + b"1]\n", 1, "more values than a survey can hold"),
    "alias_bomb": (_BOMB, 5, "expand to too many values"),
    "deep_flow": (b"survey: " + b"[" * 1_000_000, 1, "nested"),
    "deep_block": (b"".join(b" " * depth + b"a:\n" for depth in range(1000)), 20, "nested deeper than 20"),
    "latin_1": (SOUND.replace(b"Test Mill", "Mühle".encode("latin-1")), 4, "not UTF-8"),
    "utf_16": (SOUND.decode().encode("utf-16"), 1, "UTF-16"),
    "null_byte": (SOUND.replace(b"Hall T", b"Hall \0"), 5, "control character"),
    "tab": (SOUND.replace(b"  seating", b"\tseating"), 15, "a tab stands in the indentation"),
    "quote_never_closed": (SOUND.replace(b'"7"', b'"7'), 4, "never closed"),
    "long_number": (SOUND.replace(b"drive: -0.4", b"drive: -0." + b"4" * 1_000_000), 44, "too long"),
    "long_text": (SOUND.replace(b"Hall T", b"Hall " * 400_000), 5, "longer than 2000 characters"),
    "long_key": (SOUND.replace(b"notes: cold", b"n" * 900 + b": cold"), 8, "unknown key"),
    "not_a_survey": (b"- one\n- two\n", 1, "a group of keys belongs here"),
}


@pytest.mark.parametrize("name", FAULTS)
def test_generated_fault_gets_its_finding(name: str, tmp_path: Path) -> None:
    """Exit status 1, the right line and words, short lines, no output, no traceback."""
    data, line, words = FAULTS[name]
    path = tmp_path / "survey.yaml"
    path.write_bytes(data)
    ended = start("check", path)
    assert (ended.status, ended.out) == (1, "")
    assert re.search(rf"{re.escape(str(path))}:{line}:\d+: .*{re.escape(words)}", ended.err), ended.err[:500]
    assert "Traceback" not in ended.err
    assert max(map(len, ended.err.splitlines())) < 600


@pytest.mark.parametrize("name", FAULTS)
def test_generated_fault_is_found_within_a_second(name: str, tmp_path: Path) -> None:
    """The start of the program included; the best of a few runs, since the machine may be busy."""
    path = tmp_path / "survey.yaml"
    path.write_bytes(FAULTS[name][0])
    assert any(seconds(path) < MOST_SECONDS for _ in range(MOST_RUNS))


def seconds(path: Path) -> float:
    """Return the processor time of one check of a file; what else the machine does counts less there."""
    before = os.times()
    start("check", path)
    after = os.times()
    return after.children_user - before.children_user + after.children_system - before.children_system
