"""A register of an earlier version opens, is brought to today's form, and says what it said."""

from pathlib import Path

import pytest
from sqlalchemy import inspect, select, text
from sqlalchemy.exc import DBAPIError

from certgen.errors import CertgenError, RegisterBroken
from certgen.register.audit import audit
from certgen.register.database import FILE_NAME, reading, writing
from certgen.register.migrations import STEPS, migrate
from certgen.register.register import Register
from certgen.register.tables import MIGRATIONS
from tests.register.fakes import WHEN, small
from tests.register.old import FOLDER, fill, made_with
from tests.register.tamper import tamper

OLD = sorted(FOLDER.glob("*.sqlite"))
HEAD_OF_OLD = {
    "first_tables": "ee0c749abffd0ad7",
    "only_add": "ee0c749abffd0ad7",
    "sign_afterwards": "07201090747930d1",
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


def test_old_register_opens_and_holds(old: Path) -> None:
    """It migrates, its certificates are there byte for byte, and it goes on from where it was."""
    register = Register.open(str(old))
    assert applied(register) == list(STEPS)
    found = audit(register)
    assert (found.faults, found.head.count) == ([], 4)
    digests = register.body("TB-2026-014")["sha256"]
    assert isinstance(digests, dict)
    assert register.file(digests["certificate.pdf"]).startswith(b"%PDF-")
    assert register.reserve("A-", WHEN) == "A-003"
    register.add(small("A-004"), WHEN)
    assert audit(register).holds


def test_old_register_keeps_its_head(old: Path, request: pytest.FixtureRequest) -> None:
    """What a firm wrote down when it was made is still its head."""
    stem = request.node.callspec.id
    assert Register.open(str(old)).head().digest.startswith(HEAD_OF_OLD[stem])


def test_every_step_is_kept_by_an_old_register() -> None:
    """One from after the first step, and one of today: a new step asks for a new file."""
    assert {"first_tables", list(STEPS)[-1].replace(" ", "_")} <= {path.stem for path in OLD}


@pytest.mark.parametrize("steps", range(1, len(STEPS) + 1))
def test_register_of_fewer_steps_migrates(where: str, steps: int) -> None:
    """On both databases, from any step on."""
    fill(made_with(where, steps))
    register = Register.open(where)
    assert applied(register) == list(STEPS)
    assert audit(register).holds


def test_step_that_fails_leaves_the_register_as_it_was(where: str) -> None:
    """All steps are one transaction: a half-migrated register does not exist."""
    register = made_with(where, 1)
    broken = {**STEPS, "find quickly": lambda _dialect: ["CREATE TABLE half (one INTEGER)", "none"]}
    with pytest.raises(CertgenError), writing(register.engine) as connection:
        migrate(connection, broken)
    assert applied(register) == ["first tables"]
    with reading(register.engine) as connection:
        assert not inspect(connection).has_table("half")


def test_register_of_a_newer_version_is_refused(where: str) -> None:
    """It says so, and changes nothing."""
    Register.open(where, create=True)
    tamper(where, ["INSERT INTO migrations VALUES (99, 'from tomorrow')"])
    with pytest.raises(RegisterBroken, match="from tomorrow"):
        Register.open(where)


def test_guards_hold_for_the_table_of_steps(where: str) -> None:
    """The history of the form is part of what is only added to."""
    register = Register.open(where, create=True)
    with pytest.raises(DBAPIError), register.engine.begin() as connection:
        connection.execute(text("UPDATE migrations SET name = 'other'"))
