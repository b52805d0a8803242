"""Of the certificates of a line those in force count: latest revisions that nothing has replaced."""

import pytest

from certgen.register.entry import Json, certificate_body, said_of
from certgen.register.in_force import in_force, possible_numbers
from tests.register.fakes import WHEN, small


def body(number: str, revision: int = 0, supersedes: str | None = None) -> Json:
    """Return the entry of a small certificate."""
    return certificate_body(1, WHEN, small(number, revision, supersedes=supersedes))


def names(found: list[Json]) -> list[tuple[str, int]]:
    """Return numbers with revisions."""
    return [(said_of(one)["number"], said_of(one)["revision"]) for one in found]


def test_latest_revision_counts_whenever_it_was_added() -> None:
    """In the order in which the entries came."""
    found = [body("A-1", 2), body("A-2"), body("A-1", 0), body("A-1", 1)]
    assert names(in_force(found)) == [("A-1", 2), ("A-2", 0)]


def test_certificate_that_another_number_replaces_does_not_count() -> None:
    """A revision that names its own number replaces nothing else."""
    found = [body("A-1"), body("A-2", 1, "A-1, revision 0"), body("A-3", 1, "A-3, revision 0")]
    assert names(in_force(found)) == [("A-2", 1), ("A-3", 1)]


def test_number_that_begins_like_the_replaced_one_counts() -> None:
    """Neither a shorter nor a longer number is meant."""
    found = [body("A-1"), body("A-12"), body("A-12-B"), body("B-1", 1, "A-12, revision 0")]
    assert names(in_force(found)) == [("A-1", 0), ("A-12-B", 0), ("B-1", 1)]


@pytest.mark.parametrize(
    "text", ["A 7/26", "A 7/26, revision 0", "A 7/26 (revision 0)", "A 7/26: revision 0", "A 7/26 revision 0"]
)
def test_number_with_a_space_is_understood(text: str) -> None:
    """However the revision is set apart from it."""
    assert "A 7/26" in possible_numbers(text)
    assert "A 7/2" not in possible_numbers(text)
