"""A register once more: backups and copies that say the same and end at the same head."""

import threading
from pathlib import Path

import pytest

from certgen.errors import RegisterBroken, RegisterRefused
from certgen.register.audit import audit
from certgen.register.copies import NOTED, copied
from certgen.register.database import FILE_NAME
from certgen.register.entries import By, written_head
from certgen.register.find import Wanted, find
from certgen.register.marks import Relying, certificates_of, dispose, note, withdraw
from certgen.register.register import Register
from tests.register.crowd import crowd
from tests.register.fakes import LATER, WHEN, signed, small
from tests.register.old import FOLDER
from tests.register.places import schema
from tests.register.tamper import tamper


@pytest.fixture
def filled(register: Register) -> Register:
    """A register with an entry of every kind."""
    register.by = By("clerk", "desk-2")
    for number in ("A-1", "A-2", "A-3"):
        register.add(small(number), WHEN)
    register.add(signed(small("A-1")), WHEN)
    register.add(small("B-1", 1, issued="2027-01-01", supersedes="A-2, revision 0"), WHEN)
    register.reserve("A-", WHEN)
    (one,), (other,) = (certificates_of(register, number, None) for number in ("A-2", "A-3"))
    withdraw(register, one, "of another line", WHEN)
    note(register, Relying("PL-22"), "adjusted", WHEN)
    dispose(register, [other], "time is over", LATER)
    return register


def require_same(one: Register, other: Register) -> None:
    """Assert that two registers say the same, and that the second is sound."""
    assert one.head() == other.head()
    assert find(one, Wanted()) == find(other, Wanted())
    assert audit(other, written_head(str(one.head()))).faults == []
    digest = signed(small("A-1")).digests()["certificate.pdf"]
    assert one.file(digest) == other.file(digest)
    assert one.reserve("A-", WHEN) == other.reserve("A-", WHEN)


def test_copy_keeps_the_head(filled: Register, where: str, tmp_path: Path) -> None:
    """From either database into a folder, and from there into a server and back."""
    assert copied(filled, str(tmp_path / "copy")) == filled.head()
    with schema() as server:
        assert copied(Register.open(str(tmp_path / "copy")), server) == filled.head()
        assert copied(Register.open(server), str(tmp_path / "back")) == filled.head()
        require_same(Register.open(server), Register.open(str(tmp_path / "copy")))
    require_same(Register.open(where), Register.open(str(tmp_path / "back")))


def test_copy_never_fills_what_is_there(filled: Register, tmp_path: Path) -> None:
    """Neither a folder with something in it nor a register with entries; nothing is left beside them."""
    (tmp_path / "taken").mkdir()
    (tmp_path / "taken" / "letter").write_text("dear")
    before = sorted(tmp_path.iterdir())
    with pytest.raises(RegisterRefused, match="there is something here"):
        copied(filled, str(tmp_path / "taken"))
    with schema() as server:
        Register.open(server, create=True).reserve("A-", WHEN)
        with pytest.raises(RegisterRefused, match="with entries"):
            copied(filled, server)
    assert sorted(tmp_path.iterdir()) == before


def test_changed_register_is_not_copied(filled: Register, where: str, tmp_path: Path) -> None:
    """Nothing arrives."""
    tamper(where, ["UPDATE certificates SET customer = 'Other Films' WHERE sequence = 1"])
    with pytest.raises(RegisterBroken, match="nothing was copied"):
        copied(filled, str(tmp_path / "copy"))
    assert not (tmp_path / "copy").exists()


def test_old_register_is_copied_into_the_form_of_today(tmp_path: Path) -> None:
    """One whose certificates are what they say, that is; it keeps its head and is not changed itself."""
    (tmp_path / "old").mkdir()
    data = (FOLDER / "mark_and_pack.sqlite").read_bytes()
    (tmp_path / "old" / FILE_NAME).write_bytes(data)
    old = Register.open(str(tmp_path / "old"))
    assert copied(old, str(tmp_path / "new")) == old.head()
    assert (tmp_path / "old" / FILE_NAME).read_bytes() == data


@pytest.mark.slow
def test_backup_while_eight_processes_add_is_sound(where: str, tmp_path: Path) -> None:
    """It is the register as it was at one moment, with its head beside."""
    Register.open(where, create=True)
    adding = threading.Thread(target=crowd, args=(where, 8, 200))
    adding.start()
    heads = []
    while adding.is_alive():
        folder = tmp_path / f"backup_{len(heads)}"
        heads.append(copied(Register.open(where), str(folder), note_head=True))
        assert (folder / NOTED).read_text("ascii") == f"{heads[-1]}\n"
        assert audit(Register.open(str(folder)), written_head(str(heads[-1]))).faults == []
    adding.join()
    assert Register.open(where).head().count == 400
    assert any(0 < head.count < 400 for head in heads)
    assert all(audit(Register.open(where), written_head(str(head))).holds for head in heads if head.count)
