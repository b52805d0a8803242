"""What a survey states in figures (tolerances, uncertainties) in the words and digits of a language."""

import re

from certgen.certificate.wording import Wording

# as the survey's reader puts them together -> the word that says the same
_FORMS = (
    (re.compile(r"(?P<size>.+) over face"), "stated over face"),
    (re.compile(r"(?P<size>.+) over bearings"), "stated over bearings"),
    (re.compile(r"(?P<size>.+) over (?P<over>.+)"), "stated over"),
    (re.compile(r"(?P<size>.+) of the slope at which one edge of the web goes slack"), "stated web"),
    (re.compile(r"half width (?P<size>.+)"), "stated half width"),
    (re.compile(r"expanded (?P<size>.+), k = (?P<k>.+)"), "stated expanded"),
    (re.compile(r"standard (?P<size>.+)"), "stated standard"),
)


def stated(text: str, wording: Wording) -> str:
    """Return a statement in the words of the certificate; one of no known form is a quantity by itself."""
    for form, key in _FORMS:
        if found := form.fullmatch(text):
            parts = {name: wording.digits.written(part) for name, part in found.groupdict().items()}
            return wording.word(key, **parts)
    return wording.digits.written(text)
