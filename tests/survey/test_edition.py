"""The edition of the rules that results were computed by."""

import pytest

from certgen.survey.edition import EDITION, FIRST, edition_of


def test_results_without_an_edition_are_of_the_first() -> None:
    """Certificates of the first edition did not record it."""
    assert edition_of({}) == edition_of(None) == FIRST


def test_recorded_edition_is_the_one_to_compute_by() -> None:
    """What a certificate records holds, whatever is newest."""
    assert [edition_of({"edition": one}) for one in range(FIRST, EDITION + 1)] == [*range(FIRST, EDITION + 1)]


@pytest.mark.parametrize("found", [EDITION + 1, 0, "2", True, None, 1.0])
def test_unknown_edition_is_refused(found: object) -> None:
    """A later program's rules are not guessed at."""
    with pytest.raises(ValueError, match="unknown edition"):
        edition_of({"edition": found})
