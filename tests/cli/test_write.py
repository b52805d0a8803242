"""Files are written whole or not at all."""

import os
from pathlib import Path

import pytest

from certgen.cli.io.write import write_new
from certgen.errors import CannotWrite, WouldReplace


def test_write_makes_a_file(tmp_path: Path) -> None:
    """The file holds the bytes, has the usual mode, and nothing is left beside it."""
    path = tmp_path / "a.pdf"
    write_new(path, b"one")
    assert path.read_bytes() == b"one"
    assert list(tmp_path.iterdir()) == [path]
    (tmp_path / "plain").touch()
    assert path.stat().st_mode == (tmp_path / "plain").stat().st_mode


def test_write_keeps_what_is_there(tmp_path: Path) -> None:
    """An existing file, even a link that leads nowhere, is not replaced unasked."""
    path, link = tmp_path / "a.pdf", tmp_path / "b.pdf"
    path.write_bytes(b"mine")
    link.symlink_to(tmp_path / "nowhere")
    for one in (path, link):
        with pytest.raises(WouldReplace):
            write_new(one, b"other")
    assert path.read_bytes() == b"mine"
    assert sorted(tmp_path.iterdir()) == [path, link]


def test_write_replaces_when_asked(tmp_path: Path) -> None:
    """The new file takes the place and the mode of the old one."""
    path = tmp_path / "a.pdf"
    path.write_bytes(b"old")
    path.chmod(0o640)
    write_new(path, b"new", replace=True)
    assert path.read_bytes() == b"new"
    assert path.stat().st_mode & 0o777 == 0o640


def test_write_replaces_behind_a_link(tmp_path: Path) -> None:
    """A link stays a link; what it leads to is replaced."""
    path, link = tmp_path / "a.pdf", tmp_path / "b.pdf"
    path.write_bytes(b"old")
    link.symlink_to(path)
    write_new(link, b"new", replace=True)
    assert link.is_symlink()
    assert path.read_bytes() == b"new"


def test_write_cleans_up_after_a_failure(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """A full disk leaves neither a half file nor a missing old one."""

    def full(_: int) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(os, "fsync", full)
    path = tmp_path / "a.pdf"
    path.write_bytes(b"old")
    with pytest.raises(CannotWrite, match="No space left"):
        write_new(path, b"new", replace=True)
    assert path.read_bytes() == b"old"
    assert list(tmp_path.iterdir()) == [path]


def test_write_works_without_links(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """A file system that knows no hard links still gets whole files and keeps old ones."""

    def unsupported(*_: object) -> None:
        raise OSError(95, "Operation not supported")

    monkeypatch.setattr(Path, "hardlink_to", unsupported)
    path = tmp_path / "a.pdf"
    write_new(path, b"one")
    with pytest.raises(WouldReplace):
        write_new(path, b"two")
    assert path.read_bytes() == b"one"
    assert list(tmp_path.iterdir()) == [path]


@pytest.mark.parametrize("name", ["absent/a.pdf", ".", "a\0b", "x" * 300])
def test_write_says_why_it_cannot(name: str, tmp_path: Path) -> None:
    """No folder, a folder, impossible names."""
    with pytest.raises(CannotWrite):
        write_new(tmp_path / name, b"one")
    assert list(tmp_path.iterdir()) == []


@pytest.mark.parametrize("replace", [False, True])
def test_write_leaves_what_is_no_ordinary_file(replace: bool, tmp_path: Path) -> None:
    """A pipe stays one, also behind a link, and nothing is said of replacing it."""
    pipe, link = tmp_path / "pipe", tmp_path / "link"
    os.mkfifo(pipe)
    link.symlink_to(pipe)
    for one in (pipe, link):
        with pytest.raises(CannotWrite, match="no ordinary file") as refused:
            write_new(one, b"new", replace)
        assert not isinstance(refused.value, WouldReplace)
    assert pipe.is_fifo()
    assert sorted(tmp_path.iterdir()) == [link, pipe]
