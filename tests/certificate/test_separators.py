"""What joins parts of a text is the language's own: French sets a space before colon and semicolon."""

import re

from certgen import resources
from certgen.document.compose import compose
from certgen.wording.wording import Wording
from tests.certificate.samples import sample

# The colon of a scale (1 : 20) or of a time of day is none of these: it has its space, or no blank follows.
_BARE = re.compile(r"[\w.)]+[:;] \w+")


def bare(language: str) -> set[str]:
    """Return the words around each colon or semicolon without a space that the survey did not bring along."""
    taken = sample("dryer_mixed")
    shown = repr(compose(taken, Wording(resources.templates(), language)))
    shown = shown.replace(r"\xa0", "\xa0").replace(r"\u202f", "\u202f")
    return set(_BARE.findall(shown)) - set(_BARE.findall(repr(taken.survey)))


def test_french_separators_have_their_space() -> None:
    """Tolerances of several rolls, steps of a move, titles of budgets: none is joined as in English."""
    assert bare("fr") == set()


def test_english_separators_have_none() -> None:
    """The same places in English, so that the test above has something to find."""
    assert "L1); 15" in bare("en")
