"""A register of an earlier version opens, is brought to today's form, and says what it said."""

from pathlib import Path
from sqlite3 import connect

import pytest
from sqlalchemy import inspect, select, text
from sqlalchemy.exc import DBAPIError

from certgen.errors import CertgenError, RegisterBroken, RegisterRefused
from certgen.register import database
from certgen.register.audit import audit
from certgen.register.database import FILE_NAME, is_address, reading, upgraded
from certgen.register.find import Wanted, find
from certgen.register.migrations import STEPS, migrate
from certgen.register.register import Register
from certgen.register.sqlite import begun
from certgen.register.tables import MIGRATIONS
from tests.register.fakes import WHEN, small
from tests.register.old import FOLDER, _engine, made_with
from tests.register.tamper import tamper

OLD = sorted(FOLDER.glob("*.sqlite"))
HEAD_OF_OLD = {
    "first_tables": "ee0c749abffd0ad7",
    "only_add": "ee0c749abffd0ad7",
    "sign_afterwards": "07201090747930d1",
    "mark_and_pack": "b3b61b269ab08538",
}


def applied(register: Register) -> list[str]:
    """Return the names of the steps a register has been through."""
    with reading(register.engine) as connection:
        names = select(MIGRATIONS.c.name).order_by(MIGRATIONS.c.place)
        return list(connection.execute(names).scalars())


@pytest.fixture(params=OLD, ids=lambda path: path.stem)
def old(request: pytest.FixtureRequest, tmp_path: Path) -> Path:
    """A copy of an old register in a folder of its own."""
    (tmp_path / FILE_NAME).write_bytes(request.param.read_bytes())
    return tmp_path


def require_as_made(register: Register, steps: int = 0) -> None:
    """Assert that all it was filled with is there; of older ones PDFs that are none are told of."""
    found = audit(register)
    assert found.head.count == 4
    junk = [f"entry {place}: certificate.pdf is no certificate" for place in (2, 4)]
    if steps < len(STEPS):
        assert [fault.partition(":")[0] + ":" + fault.split(":")[1] for fault in found.faults] == junk
    else:
        assert found.faults == []
    digests = register.body("TB-2026-014")["sha256"]
    assert isinstance(digests, dict)
    assert register.file(digests["certificate.pdf"]).startswith(b"%PDF-")
    assert b"number: TB-2026-014" in register.file(digests["survey.yaml"])
    listed = [(one.number, one.revision, one.replaced_by) for one in find(register, Wanted())]
    assert listed == [("TB-2026-014", 0, None), ("A-001", 0, "A-001, revision 1"), ("A-001", 1, None)]
    assert [one.sequence for one in find(register, Wanted(words="sl-0417"))] == [2, 4]


def steps_of(path: Path) -> int:
    """How many steps an old register in this file went through."""
    return list(STEPS).index(path.stem.replace("_", " ")) + 1


def test_old_register_is_read_without_being_changed(old: Path, request: pytest.FixtureRequest) -> None:
    """Listed, read back and audited, its head that which a firm wrote down; its file is as it was."""
    before = (old / FILE_NAME).read_bytes()
    register = Register.open(str(old))
    stem = request.node.callspec.id
    require_as_made(register, steps_of(Path(stem)))
    assert register.head().digest.startswith(HEAD_OF_OLD[stem])
    assert (old / FILE_NAME).read_bytes()[100:] == before[100:]  # the header says that it was opened for WAL
    assert connect(old / FILE_NAME).execute("SELECT count(*) FROM migrations").fetchone() == (
        steps_of(Path(stem)),
    )


def test_old_register_is_added_to_once_it_was_upgraded(old: Path, request: pytest.FixtureRequest) -> None:
    """Not before: it says how. Then its head is the same, and it goes on from there."""
    stem = request.node.callspec.id
    if steps_of(Path(stem)) < len(STEPS):
        for create in (True, False):
            with pytest.raises(RegisterRefused, match="certgen register upgrade"):
                Register.open(str(old), create=create).reserve("A-", WHEN)
    assert upgraded(str(old)) == tuple(STEPS)[steps_of(Path(stem)) :]
    assert upgraded(str(old)) == ()
    register = Register.open(str(old), create=True)
    assert applied(register) == list(STEPS)
    require_as_made(register, steps_of(Path(stem)))
    assert register.head().digest.startswith(HEAD_OF_OLD[stem])
    assert register.reserve("A-", WHEN) == "A-003"
    register.add(small("A-004"), WHEN)
    assert all("no certificate" in fault for fault in audit(register).faults)


def test_upgraded_register_is_smaller(tmp_path: Path) -> None:
    """Its surveys and results are packed; their digests are those of the plain bytes."""
    (tmp_path / FILE_NAME).write_bytes((FOLDER / "sign_afterwards.sqlite").read_bytes())
    upgraded(str(tmp_path))
    with connect(tmp_path / FILE_NAME) as connection:
        forms = dict(connection.execute("SELECT form, count(*) FROM files GROUP BY form").fetchall())
    assert forms["zlib"] >= 2


def test_every_step_is_kept_by_an_old_register() -> None:
    """One from after the first step, and one of today: a new step asks for a new file."""
    assert {"first_tables", list(STEPS)[-1].replace(" ", "_")} <= {path.stem for path in OLD}


@pytest.mark.parametrize("steps", range(1, len(STEPS)))
def test_register_of_fewer_steps_is_read_and_upgraded(where: str, steps: int) -> None:
    """On both databases, from any step on; a key without accents is found in either."""
    made_with(where, steps)
    require_as_made(Register.open(where), steps)
    with pytest.raises(RegisterRefused, match="certgen register upgrade"):
        Register.open(where, create=True)
    upgraded(where)
    require_as_made(Register.open(where), steps)


def test_guards_of_an_older_register_are_those_of_its_time(where: str) -> None:
    """One that had none yet lacks none; one that lost one is told of it."""
    made_with(where, 4)
    on = "" if is_address(where) is False else " ON entries"
    name = "guard_entries_update" + ("" if on == "" else "_or_delete")
    tamper(where, [])
    assert not any("guard" in fault for fault in audit(Register.open(where)).faults)
    with begun(_engine(where), writes=True) as connection:
        connection.execute(text(f"DROP TRIGGER {name}{on}"))
    assert f"the guard {name} is missing or changed" in audit(Register.open(where)).faults


def test_step_that_fails_leaves_the_register_as_it_was(where: str, monkeypatch: pytest.MonkeyPatch) -> None:
    """All steps are one transaction: a half-migrated register does not exist."""
    made_with(where, 1)
    broken = {**STEPS, "mark and pack": lambda _dialect: ["CREATE TABLE half (one INTEGER)", "none"]}
    monkeypatch.setattr(database, "migrate", lambda connection: migrate(connection, broken))
    with pytest.raises(CertgenError):
        upgraded(where)
    register = Register.open(where)
    assert applied(register) == ["first tables"]
    with reading(register.engine) as connection:
        assert not inspect(connection).has_table("half")


def test_register_of_a_newer_version_is_refused(where: str) -> None:
    """It says so, and changes nothing: nothing is wrong with it."""
    Register.open(where, create=True)
    tamper(where, ["INSERT INTO migrations VALUES (99, 'from tomorrow')"])
    for create in (False, True):
        with pytest.raises(RegisterRefused, match=r"newer certgen.*from tomorrow"):
            Register.open(where, create=create)
    with pytest.raises(RegisterRefused, match="from tomorrow"):
        upgraded(where)


def test_register_of_steps_that_nobody_takes_is_broken(where: str) -> None:
    """The history of its form was changed."""
    Register.open(where, create=True)
    tamper(where, ["UPDATE migrations SET name = 'other' WHERE place = 2"])
    with pytest.raises(RegisterBroken, match="other"):
        Register.open(where)


def test_guards_hold_for_the_table_of_steps(where: str) -> None:
    """The history of the form is part of what is only added to."""
    register = Register.open(where, create=True)
    with pytest.raises(DBAPIError), register.engine.begin() as connection:
        connection.execute(text("UPDATE migrations SET name = 'other'"))
