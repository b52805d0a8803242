"""Which certificates are in force: neither an earlier revision nor one that another number replaces."""

import pytest

from certgen.register.database import reading
from certgen.register.entries import key
from certgen.register.in_force import latest_of, replacements
from certgen.register.marks import certificates_of, withdraw
from certgen.register.register import Register
from tests.register.fakes import PLAIN, WHEN, small


def replaced(register: Register) -> dict[int, str]:
    """Return by its sequence what replaces a certificate, in words."""
    with reading(register.engine) as connection:
        return {sequence: str(issue) for sequence, issue in replacements(connection).items()}


def test_latest_revision_is_in_force(register: Register) -> None:
    """All earlier ones are replaced by it, in whatever order they were added."""
    for revision in (1, 0, 2):
        register.add(small("A-1", revision, supersedes="A-1"), WHEN)
    assert replaced(register) == {1: "A-1, revision 2", 2: "A-1, revision 2"}


@pytest.mark.parametrize(
    "said",
    [
        "A-1",
        "A-1, revision 0",
        "A-1 rev. 0",
        "certificate A-1 (revision 0) of 2026-10-16",
        "Zertifikat „A-1“, Revision 0",
        "A-1/0",
        "A-1, revision 3",
    ],
)
def test_certificate_of_another_number_replaces(register: Register, said: str) -> None:
    """However the text that names it is written, and the one before it in the order of adding, too."""
    register.add(small("B-7", 1, issued="2026-11-01", supersedes=said), WHEN)
    register.add(small("A-1"), WHEN)
    register.add(small("A-12"), WHEN)
    assert replaced(register) == {2: "B-7, revision 1"}


@pytest.mark.parametrize(
    "said", ["A 7/26", "A 7/26, revision 0", "A 7/26 (revision 0)", "A 7/26: revision 0", "A 7/26 revision 0"]
)
def test_number_with_a_space_is_understood(register: Register, said: str) -> None:
    """However the revision is set apart from it; not one that only begins alike."""
    for number in ("A 7/2", "A 7/26", "A 7/26-B"):
        register.add(small(number), WHEN)
    register.add(small("B-7", 1, issued="2026-11-01", supersedes=said), WHEN)
    assert replaced(register) == {2: "B-7, revision 1"}


@pytest.mark.parametrize("said", ["A-11", "XA-1", "A-1-0", "the first issue", "", "A"])
def test_text_that_names_no_certificate_replaces_none(register: Register, said: str) -> None:
    """A number within a longer one is another number."""
    register.add(small("A-1"), WHEN)
    register.add(small("B-7", 1, issued="2026-11-01", supersedes=said), WHEN)
    assert replaced(register) == {}


def test_certificate_that_names_the_first_revision_replaces_the_later_ones_too(register: Register) -> None:
    """All that were issued before it, though only revision 0 is named; not one that was issued since."""
    register.add(small("A-1"), WHEN)
    register.add(small("A-1", 1, supersedes="A-1, revision 0"), WHEN)
    register.add(small("B-7", 1, issued="2026-11-01", supersedes="A-1, revision 0"), WHEN)
    assert replaced(register)[2] == "B-7, revision 1"
    register.add(small("A-1", 2, issued="2026-12-01", supersedes="A-1, revision 1"), WHEN)
    assert 4 not in replaced(register)


def test_withdrawn_certificate_replaces_nothing(register: Register) -> None:
    """What it replaced counts again, of its own number and of another one."""
    for number in ("A-1", "LONG-77"):
        register.add(small(number), WHEN)
    register.add(small("A-1", 1, issued="2026-11-01", supersedes="A-1 and LONG-77"), WHEN)
    assert set(replaced(register)) == {1, 2}
    (last,) = certificates_of(register, "A-1", 1)
    withdraw(register, last, "of another line", WHEN)
    assert replaced(register) == {}
    with reading(register.engine) as connection:
        assert set(replacements(connection, last=3)) == {1, 2}


def test_latest_of_a_line_is_that_of_its_last_visit(register: Register) -> None:
    """Of those that count, however many after it do not; looked for one by one or among all."""
    register.add(small("A-1", finished="2025-10-15"), WHEN)
    for number in range(2, 8):
        register.add(small(f"A-{number}", finished="2026-10-15"), WHEN)
        (one,) = certificates_of(register, f"A-{number}", None)
        withdraw(register, one, "of another line", WHEN)
    register.add(small("F-1", asset="F-2"), WHEN)
    lines = {(key(PLAIN.customer), key(asset)) for asset in ("LN3-WND", "F-2")}
    many = lines | {(f"{number}", "") for number in range(1000)}
    with reading(register.engine) as connection:
        assert latest_of(connection, lines) == latest_of(connection, many) == {1, 14}


def test_two_that_name_each_other_do_not_both_fall(register: Register) -> None:
    """The one issued later is in force."""
    register.add(small("A-1", 1, issued="2026-11-02", supersedes="B-7"), WHEN)
    register.add(small("B-7", 1, issued="2026-11-01", supersedes="A-1"), WHEN)
    assert replaced(register) == {2: "A-1, revision 1"}


def test_number_of_several_words_is_found(register: Register) -> None:
    """The longest one that fits."""
    register.add(small("No. 7"), WHEN)
    register.add(small("7"), WHEN)
    register.add(small("B", 1, issued="2026-11-01", supersedes="Our  No. 7, revision 0"), WHEN)
    assert replaced(register) == {1: "B, revision 1"}


def test_what_was_added_later_replaces_nothing_yet(register: Register) -> None:
    """Up to an entry the register says what it said then."""
    for revision in (0, 1, 2):
        register.add(small("A-1", revision, supersedes="A-1"), WHEN)
    with reading(register.engine) as connection:
        then = replacements(connection, 2)
    assert {sequence: str(issue) for sequence, issue in then.items()} == {1: "A-1, revision 1"}


@pytest.mark.parametrize(
    "said", ["A-1", "A-1, revision 0", "A-1 (Revision 0)", "A-1 rév. 0", "A-1/0", "A-1 0"]
)
def test_revision_that_names_its_own_number_replaces_nothing_else(register: Register, said: str) -> None:
    """Not a certificate whose number happens to be a word of that text, either."""
    for number in ("0", "revision", "A-1"):
        register.add(small(number), WHEN)
    register.add(small("A-1", 1, issued="2026-11-01", supersedes=said), WHEN)
    assert replaced(register) == {3: "A-1, revision 1"}


def test_revision_that_names_another_number_too_replaces_both(register: Register) -> None:
    """Its own earlier one as a revision does, the other as named."""
    for number in ("A-1", "LONG-77"):
        register.add(small(number), WHEN)
    register.add(small("A-1", 1, issued="2026-11-01", supersedes="A-1 and LONG-77"), WHEN)
    assert replaced(register) == {1: "A-1, revision 1", 2: "A-1, revision 1"}


def test_replacements_of_some_numbers_are_those_of_all(register: Register) -> None:
    """Whatever else the register holds."""
    for number in ("A-1", "A-2", "A-3"):
        register.add(small(number), WHEN)
    register.add(small("A-1", 1, issued="2026-11-01", supersedes="A-1"), WHEN)
    register.add(small("B-7", 1, issued="2026-11-01", supersedes="A-2, revision 0"), WHEN)
    with reading(register.engine) as connection:
        everything = replacements(connection)
        for number, sequence in (("A-1", 1), ("A-2", 2), ("A-3", 3)):
            some = replacements(connection, of={number})
            assert some.get(sequence) == everything.get(sequence)


def test_quotes_and_backslashes_in_the_text_are_read(register: Register) -> None:
    """As the entry holds them."""
    register.add(small('A "1" \\x'), WHEN)
    register.add(small("B-7", 1, issued="2026-11-01", supersedes='A "1" \\x, revision 0'), WHEN)
    assert replaced(register) == {1: "B-7, revision 1"}
