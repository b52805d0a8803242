"""Finding certificates: every filter by itself, together, and through its index."""

from dataclasses import replace

import pytest
from sqlalchemy import text

from certgen.register.find import Wanted, find, kept
from certgen.register.marks import certificates_of, withdraw
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
    assert [body["sequence"] for body in [one.body for one in kept(filled, Wanted(), 3)]] == [1, 2, 3]


def test_replaced_certificate_says_by_what(filled: Register) -> None:
    """It is found with the others, and left out where those in force are wanted."""
    old = next(one for one in find(filled, Wanted()) if one.replaced_by is None)
    replacing = small("Z-1", 1, issued="2030-01-01", supersedes=f"{old.number}, revision {old.revision}")
    filled.add(replacing, WHEN)
    by = {one.sequence: one.replaced_by for one in find(filled, Wanted())}
    assert (by[old.sequence], by[filled.head().count]) == ("Z-1, revision 1", None)
    counting = Wanted(line=old.asset, in_force=True)
    assert old.sequence not in [one.sequence for one in find(filled, counting)]
    last = filled.head().count
    assert old.sequence not in [one.body["sequence"] for one in kept(filled, counting, last)]
    assert old.sequence in [one.body["sequence"] for one in kept(filled, counting, last - 1)]


@pytest.mark.parametrize(
    ("asked", "there"),
    [
        ("LUBECK", [1]),
        ("lübeck", [1]),
        ("Lu\u0308beck", [1]),
        ("strasse", [1]),
        ("cl1-200 hall", []),
        ("Larkfield", [2]),
    ],
)
def test_search_knows_no_accents_and_joins_no_cells(register: Register, asked: str, there: list[int]) -> None:
    """Letters in either normal form, with their accents or without; no text runs on into the next."""
    said = {"line": "Anlage Straße", "asset": "CL1-200", "location": "Hall B"}
    register.add(small("A-1", customer="Lu\u0308beck Folien", **said), WHEN)
    register.add(small("A-2"), WHEN)
    assert [one.sequence for one in find(register, Wanted(words=asked))] == there


def test_line_is_found_without_its_accents(register: Register) -> None:
    """As its customer and the serial number of an instrument."""
    register.add(small("A-1", line="Käfer", customer="Société"), WHEN)
    assert [one.number for one in find(register, Wanted(line="KAFER", customer="societe"))] == ["A-1"]


def test_list_comes_in_pages(filled: Register) -> None:
    """So many after so many, with and without those that count no more."""
    pages = [find(filled, Wanted(limit=2, offset=at)) for at in (0, 2, 4, 6)]
    assert [[one.sequence for one in page] for page in pages] == [[1, 2], [3, 4], [5], []]
    assert [one.sequence for one in find(filled, Wanted(offset=3))] == [4, 5]
    assert [one.sequence for one in find(filled, Wanted(in_force=True, limit=2, offset=1))] == [3, 4]


def test_latest_of_every_line_is_told(filled: Register) -> None:
    """One of each; a withdrawn one is it no longer."""
    assert [one.sequence for one in find(filled, Wanted(latest=True))] == [2, 3, 5]
    (of,) = certificates_of(filled, "A-1", 1)
    withdraw(filled, of, "another line", WHEN)
    assert [one.sequence for one in find(filled, Wanted(latest=True))] == [2, 3, 4]
    (gone,) = (one for one in find(filled, Wanted()) if one.withdrawn)
    assert (gone.sequence, gone.latest) == (5, False)


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
