"""Shares of several machines: no place to write a register in a folder to."""

from pathlib import Path

import pytest

from certgen.errors import RegisterRefused
from certgen.register import sqlite
from certgen.register.audit import audit
from certgen.register.register import Register
from tests.register.fakes import WHEN, small

MOUNTS = """\
/dev/sda1 / ext4 rw 0 0
server:/plant /mnt/plant nfs4 rw 0 0
//server/office /mnt/the\\040office cifs rw 0 0
/dev/sdb1 /mnt/plant/local xfs rw 0 0
me@host:/ /mnt/far fuse.sshfs rw 0 0
"""


@pytest.mark.parametrize(
    ("folder", "kind"),
    [
        ("/home/clerk/register", ""),
        ("/mnt/plant", "nfs4"),
        ("/mnt/plant/a/b", "nfs4"),
        ("/mnt/plant/local/register", ""),
        ("/mnt/plants/register", ""),
        ("/mnt/the office/register", "cifs"),
        ("/mnt/far/register", "fuse.sshfs"),
    ],
)
def test_share_is_told_by_the_innermost_mount(folder: str, kind: str) -> None:
    """As the system lists them, blanks in names written as it does."""
    assert sqlite.share_among(MOUNTS, Path(folder)) == kind


@pytest.fixture
def on_a_share(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A register of one certificate in a folder that several machines share."""
    Register.open(str(tmp_path / "register"), create=True).add(small("A-1"), WHEN)
    monkeypatch.setattr(sqlite, "mounts", lambda: f"server:/x {tmp_path} nfs4 rw 0 0\n")
    return tmp_path / "register"


def test_register_on_a_share_is_read_and_not_written(on_a_share: Path) -> None:
    """The message says why and what else; read, it is read as it stands, with nothing left beside it."""
    register = Register.open(str(on_a_share))
    assert audit(register).holds
    for write in (
        lambda: register.reserve("A-", WHEN),
        lambda: Register.open(str(on_a_share), create=True),
        lambda: Register.open(str(on_a_share.parent / "new"), create=True),
    ):
        with pytest.raises(RegisterRefused, match=r"share of several machines \(nfs4\).*CERTGEN_ONE_MACHINE"):
            write()
    assert [path.name for path in on_a_share.parent.iterdir()] == ["register"]
    assert [path.name for path in on_a_share.iterdir()] == ["register.sqlite"]


def test_share_of_one_machine_is_written_where_that_is_said(on_a_share: Path) -> None:
    """For who knows that nobody else writes."""
    sqlite.allow_shares(True)
    try:
        assert Register.open(str(on_a_share), create=True).reserve("A-", WHEN) == "A-002"
    finally:
        sqlite.allow_shares(False)
