"""The surveys of a line or of a certificate out of a register, byte for byte."""

import sqlite3
from pathlib import Path

import pytest

from certgen.errors import RegisterBroken, WrongUsage
from certgen.register.database import FILE_NAME
from certgen.register.line_visits import LineWanted, certificate_survey, line_surveys
from certgen.register.register import Register
from tests.register.fakes import WHEN, small


@pytest.fixture
def filled(register: Register) -> Register:
    """Two lines of one name, with three visits and a revision in the first."""
    for number, revision, day in (
        ("N-3", 0, "2028"),
        ("N-1", 0, "2026"),
        ("N-2", 0, "2027"),
        ("N-2", 1, "2027"),
    ):
        register.add(small(number, revision, started=f"{day}-10-14"), WHEN)
    register.add(small("M-1", customer="Other Films", asset="F-1"), WHEN)
    return register


def numbers(register: Register, wanted: LineWanted) -> list[tuple[str, int]]:
    """Return what is found, with its revision."""
    return [(one.number, one.revision) for one in line_surveys(register, wanted)]


def test_line_has_its_visits_in_the_order_of_time(filled: Register) -> None:
    """Under its asset in any capitals; of the revised one the latest revision, with its own survey."""
    found = line_surveys(filled, LineWanted("ln3-wnd"))
    assert [one.survey for one in found] == [b"survey of N-1, 0", b"survey of N-2, 1", b"survey of N-3, 0"]


def test_line_of_several_customers_must_be_told_apart(filled: Register) -> None:
    """By the customer; else the message names each."""
    with pytest.raises(WrongUsage, match=r"asset LN3-WND of Larkfield Nonwovens; asset F-1 of Other Films"):
        line_surveys(filled, LineWanted("Spunbond line 3"))
    assert numbers(filled, LineWanted("Spunbond line 3", customer="other films")) == [("M-1", 0)]


def test_visits_may_be_left_out(filled: Register) -> None:
    """Those before a day, the day itself not; those of a number."""
    assert numbers(filled, LineWanted("LN3-WND", since="2027-10-14")) == [("N-2", 1), ("N-3", 0)]
    assert numbers(filled, LineWanted("LN3-WND", without=("N-2",))) == [("N-1", 0), ("N-3", 0)]


def test_visit_corrected_under_another_line_is_none_of_this_one(filled: Register) -> None:
    """What replaces a certificate may name another asset: the line was not surveyed then."""
    moved = small("N-4", 1, asset="F-2", issued="2030-01-01", supersedes="N-1, revision 0")
    filled.add(moved, WHEN)
    assert numbers(filled, LineWanted("LN3-WND")) == [("N-2", 1), ("N-3", 0)]


def test_unknown_line_is_wrong_usage(filled: Register) -> None:
    """With its name, and that of the customer where one was asked for."""
    with pytest.raises(WrongUsage, match=r"^LN4: the register has no line or asset of this name\.$"):
        line_surveys(filled, LineWanted("LN4"))
    with pytest.raises(WrongUsage, match="of customer Other Films"):
        line_surveys(filled, LineWanted("LN3-WND", customer="Other Films"))


def test_survey_of_a_certificate_is_that_of_its_latest_revision(filled: Register) -> None:
    """WrongUsage for a number that is not there."""
    assert certificate_survey(filled, "N-2").survey == b"survey of N-2, 1"
    with pytest.raises(WrongUsage, match="N-9 is not in the register"):
        certificate_survey(filled, "N-9")


def test_survey_that_was_changed_is_not_used(tmp_path: Path) -> None:
    """The digest in its entry says so."""
    opened = Register.open(str(tmp_path), create=True)
    opened.add(small("N-1"), WHEN)
    with sqlite3.connect(tmp_path / FILE_NAME) as connection:
        for (name,) in connection.execute("SELECT name FROM sqlite_master WHERE type = 'trigger'").fetchall():
            connection.execute(f"DROP TRIGGER {name}")
        connection.execute("UPDATE files SET data = ?", (b"other",))
    with pytest.raises(RegisterBroken, match="certgen register audit"):
        line_surveys(opened, LineWanted("LN3-WND"))
