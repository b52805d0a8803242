"""Every output of every sample in every language stays what it was; the pages are held by their own test."""

from pathlib import Path

import pytest

from tests.outputs import digests, kept, write


@pytest.mark.slow
def test_every_output_is_what_it_was(tmp_path: Path) -> None:
    """One that is meant to be another is written anew by `python -m tests.outputs --keep`."""
    write(tmp_path / "all")
    now, before = digests(tmp_path / "all"), kept()
    assert sorted(name for name in before | now if now.get(name) != before.get(name)) == []
