"""Finding certificates: every filter by itself, together, and through its index."""

from dataclasses import replace

import pytest
from sqlalchemy import text

from certgen.register.find import Wanted, bodies, find
from certgen.register.register import Register
from tests.register.fakes import LASER, LEVEL, WHEN, small


@pytest.fixture
def filled(register: Register) -> Register:
    """Five certificates, each with something of its own."""
    other = replace(LASER, serial="SL-0500")
    for held in (
        small("A-1"),
        small("A-2", line="Coating line 1", asset="CL1-200", issued="2026-05-22"),
        small("A-3", customer="Brackwater Coatings", as_left="fail"),
        small("A-4", instruments=(other, LEVEL), order="100 % of it"),
        small("A-1", 1, issued="2026-12-01", as_left="conditional pass"),
    ):
        register.add(held, WHEN)
    register.reserve("A-", WHEN)
    return register


@pytest.mark.parametrize(
    ("wanted", "there"),
    [
        (Wanted(), [1, 2, 3, 4, 5]),
        (Wanted(line="coating  LINE 1"), [2]),
        (Wanted(line="cl1-200"), [2]),
        (Wanted(line="Coating"), []),
        (Wanted(customer="brackwater coatings"), [3]),
        (Wanted(since="2026-10-16"), [1, 3, 4, 5]),
        (Wanted(until="2026-10-16"), [1, 2, 3, 4]),
        (Wanted(since="2026-06-01", until="2026-11-30"), [1, 3, 4]),
        (Wanted(verdict="fail"), [3]),
        (Wanted(verdict="conditional pass"), [5]),
        (Wanted(instrument="sl-0500"), [4]),
        (Wanted(instrument="PL-22"), [1, 2, 3, 4, 5]),
        (Wanted(words="CL1"), [2]),
        (Wanted(words="100 %"), [4]),
        (Wanted(words="%"), [4]),
        (Wanted(words="_"), []),
        (Wanted(line="LN3-WND", verdict="pass", instrument="SL-0417"), [1]),
    ],
)
def test_filter_finds_what_fits(filled: Register, wanted: Wanted, there: list[int]) -> None:
    """In the order of adding; capitals and doubled spaces do not count, and signs of patterns are letters."""
    assert [one.sequence for one in find(filled, wanted)] == there


def test_entries_end_where_asked(filled: Register) -> None:
    """What was added after the head that was read takes no part."""
    assert [body["sequence"] for body in bodies(filled, Wanted(), 3)] == [1, 2, 3]


def test_replaced_certificate_says_by_what(filled: Register) -> None:
    """It is found with the others, and left out where those in force are wanted."""
    old = next(one for one in find(filled, Wanted()) if one.replaced_by is None)
    replacing = small("Z-1", 1, issued="2030-01-01", supersedes=f"{old.number}, revision {old.revision}")
    filled.add(replacing, WHEN)
    by = {one.sequence: one.replaced_by for one in find(filled, Wanted())}
    assert (by[old.sequence], by[filled.head().count]) == ("Z-1, revision 1", None)
    kept = Wanted(line=old.asset, in_force=True)
    assert old.sequence not in [one.sequence for one in find(filled, kept)]
    last = filled.head().count
    assert old.sequence not in [body["sequence"] for body in bodies(filled, kept, last)]
    assert old.sequence in [body["sequence"] for body in bodies(filled, kept, last - 1)]


@pytest.mark.parametrize(
    "condition",
    ["line_key = 'a' OR asset_key = 'a'", "customer_key = 'a'", "issued >= '2026'", "as_left = 'fail'"],
)
def test_filter_goes_through_its_index(tmp_path: object, condition: str) -> None:
    """SQLite's own plan names an index and no scan of the table."""
    register = Register.open(str(tmp_path), create=True)
    with register.engine.connect() as connection:
        plan = connection.execute(
            text(f"EXPLAIN QUERY PLAN SELECT number FROM certificates WHERE {condition}")
        )
        steps = [row[3] for row in plan]
    assert any("USING INDEX" in step for step in steps)
    assert not any(step.startswith("SCAN") for step in steps)
