"""Bytes to a located tree, and what is refused before any of it is understood."""

from pathlib import Path

import pytest
import yaml

from certgen.errors import SurveyRefused, WrongUsage
from certgen.findings import Finding, Place
from certgen.survey import yaml_reader
from certgen.survey.source import LARGEST_BYTES, decode, fetch
from certgen.survey.tree import Mapping, Scalar, Sequence
from certgen.survey.yaml_reader import read_tree
from tests.processor import processor_time


def refused(text: str | bytes) -> Finding:
    """Return the one finding for which a text is refused as a whole."""
    data = text if isinstance(text, bytes) else text.encode()
    with pytest.raises(SurveyRefused) as error:
        read_tree("f", decode("f", data))
    (finding,) = error.value.findings
    return finding


def test_tree_knows_its_places() -> None:
    """Keys and values each have line and column, counted from 1."""
    tree = read_tree("f", "a: 1\nb:\n  - x\n  - {c: 'y'}\n")
    assert isinstance(tree, Mapping)
    listed = tree.entries["b"].value
    assert isinstance(listed, Sequence)
    inner = listed.items[1]
    assert isinstance(inner, Mapping)
    assert tree.entries["b"].place == Place(2, 1)
    assert listed.items[0].place == Place(3, 5)
    assert inner.entries["c"] == inner.entries["c"].__class__(
        Place(4, 6), Scalar(Place(4, 9), "y", plain=False)
    )


@pytest.mark.parametrize("text", ["NO", "012", "12:30", "2026-10-14", "1_000", "0x1F", "yes", "1e3", "~"])
def test_scalar_stays_text(text: str) -> None:
    """What a YAML parser would turn into something else stays what was written."""
    tree = read_tree("f", f"a: {text}\n")
    assert isinstance(tree, Mapping)
    assert tree.entries["a"].value == Scalar(Place(1, 4), text, plain=True)


def test_byte_order_mark_is_ignored() -> None:
    """A mark at the start, as some editors write it, moves no column."""
    tree = read_tree("f", decode("f", b"\xef\xbb\xbfa: 1\n"))
    assert isinstance(tree, Mapping)
    assert tree.entries["a"].place == Place(1, 1)


def test_repeated_key_is_kept_beside_the_first() -> None:
    """The first value holds; every repetition keeps its place."""
    tree = read_tree("f", "a: 1\nb: 2\na: 3\n")
    assert isinstance(tree, Mapping)
    assert tree.repeated == (("a", Place(3, 1)),)
    assert tree.entries["a"].value == Scalar(Place(1, 4), "1")


def test_alias_repeats_its_anchor() -> None:
    """An honest alias is read."""
    tree = read_tree("f", "a: &x {k: 2}\nb: *x\n")
    assert isinstance(tree, Mapping)
    assert tree.entries["b"].value == tree.entries["a"].value


@pytest.mark.parametrize(
    ("text", "message", "line", "column"),
    [
        ("", "empty", 1, 1),
        ("# nothing but a remark\n", "empty", 1, 1),
        ("a: 1\n---\nb: 2\n", "second document", 2, 1),
        ("a: *b\n", "repeats nothing", 1, 4),
        ("a: &a [*a]\n", "inside what it repeats", 1, 8),
        ("a: !!python/object:os.system x\n", "the tag", 1, 4),
        ("a: ! x\n", "the tag", 1, 4),
        ("? [a, b]\n: 1\n", "a key must be plain text", 1, 3),
        ("line:\n\tname: x\n", "a tab", 2, 1),
        ("line:\n  a: 1\n \tb: 2\n", "a tab", 3, 2),
        ("a: [1, 2\nb: 3\n", "not closed", 2, 2),
        ("a: {b: 1\nc: 3\n", "not closed", 2, 2),
        ('a: "x\nb: 1\n', "never closed", 1, 4),
        ("a: b: c\n", "a colon", 1, 5),
        ("a: 1\n  b: 2\n", "a colon", 2, 4),
        ("a: 1\nb\n", "without its colon", 3, 1),
        ("a:\n  b: 1\n c: 2\n", "does not line up", 3, 2),
        ("a: @x\n", "cannot begin a value", 1, 4),
        ('a: "\\q"\n', "backslash", 1, 5),
        ("a: - b\n", "a list cannot start here", 1, 4),
        ("[" * 50, "nested deeper", 1, 21),
        ("[" * 100_000, "nested", 1, None),
        (b"survey: 1\nname: caf\xe9\n", "not UTF-8", 2, 10),
        (b"\xff\xfea\x00", "UTF-16", 1, 1),
        ("survey: 1 # für".encode("utf-16-le"), "UTF-16", 1, 1),
        ("survey: 1 # für".encode("utf-16-be"), "UTF-16", 1, 1),
        (b"%PDF-1.7\n%\xe2\xe3", "this is a PDF", 1, 1),
        (b"a: 1\nb: x\x00y\n", "control character", 2, 5),
        (b"a: \x1b[31m\n", "control character", 1, 4),
    ],
)
def test_text_is_refused_at_its_place(text: str | bytes, message: str, line: int, column: int | None) -> None:
    """What is no YAML of ours is refused in plain words, at the place of the fault."""
    finding = refused(text)
    assert message in finding.message
    assert finding.place.line == line
    assert column is None or finding.place.column == column


@pytest.mark.parametrize(
    "text", ["a: [1, 2\nb: 3\n", "a: b: c\n", 'a: "x\nb: 1\n', "a:\n  b: 1\n c: 2\n", "a: @x\n", "a: ]"]
)
def test_slow_parser_is_explained_as_well(text: str, monkeypatch: pytest.MonkeyPatch) -> None:
    """Where the fast parser is not installed, the faults are still said in plain words."""
    monkeypatch.setattr(yaml_reader, "_Loader", yaml.Loader)
    assert "this is not YAML" not in refused(text).message


def test_alias_bomb_is_refused_at_once() -> None:
    """Nine lines that would expand to a thousand million values."""
    lines = ["a0: &a0 [x, x, x, x, x, x, x, x, x, x]"]
    lines += [f"a{n}: &a{n} [{', '.join([f'*a{n - 1}'] * 10)}]" for n in range(1, 10)]
    assert "expand" in refused("\n".join(lines)).message
    assert processor_time(lambda: refused("\n".join(lines))) < 1000 * processor_time(
        lambda: refused("a: [1, 2\nb: 3\n")
    )


def test_too_many_values_are_refused() -> None:
    """A file below the limit of bytes may still hold more than a survey can."""
    assert "more values" in refused("[" + "1," * 200_000 + "1]").message


def test_large_file_is_refused(tmp_path: Path) -> None:
    """Over 5 MB nothing is parsed."""
    path = tmp_path / "large.yaml"
    path.write_bytes(b"# " + b"x" * LARGEST_BYTES)
    with pytest.raises(SurveyRefused, match="5 MB"):
        fetch(path)


@pytest.mark.parametrize(
    ("name", "message"), [("absent.yaml", "no such file"), (".", "a folder"), ("a\0b", "cannot be read")]
)
def test_file_that_cannot_be_read_is_refused(name: str, message: str, tmp_path: Path) -> None:
    """No file, a folder, an impossible name: no fault of a survey, but wrong usage, with what to do."""
    with pytest.raises(WrongUsage, match=message):
        fetch(tmp_path / name)
