"""The words of the certificate, from the templates folder: sandboxed jinja2, undefined names are errors.

A contractor's own words and paragraphs lie over those of the project, which say whatever they leave out.
"""

import re
from collections.abc import Mapping
from datetime import date
from pathlib import Path

import yaml
from jinja2 import BaseLoader, ChoiceLoader, DictLoader, FileSystemLoader, StrictUndefined, TemplateError
from jinja2.sandbox import ImmutableSandboxedEnvironment
from markupsafe import Markup

from certgen.certificate.house_look import PROJECT_LOOK, HouseLook
from certgen.certificate.house_texts import NO_TEXTS, HouseTexts, checked_markup
from certgen.certificate.rounding import Digits
from certgen.errors import WrongUsage

# where a long word may be parted at the end of a line
SOFT_HYPHEN = "\N{SOFT HYPHEN}"
# the same plain data either way; libyaml reads it ten times as fast
_LOADER = getattr(yaml, "CSafeLoader", yaml.SafeLoader)
# what may break a line; a no-break space may not
_SPACE = re.compile(r"[ \t\r\n\f\v]+")
_FAILS = (TemplateError, TypeError, ValueError, ArithmeticError, RecursionError)


class Wording:
    """Words (short plain text, by key) and paragraphs (markup text, by file) in one language.

    A paragraph file holds paragraphs apart by blank lines; lines that start with "- " are points.
    `house` are the contractor's own texts, `look` is what else of theirs goes onto a page.
    """

    def __init__(
        self, folder: Path, language: str, house: HouseTexts = NO_TEXTS, look: HouseLook = PROJECT_LOOK
    ) -> None:
        self.language = language
        self.look = look
        self._house = house
        project = FileSystemLoader(folder / language)
        own = {key: word.text for key, word in house.words.items()}
        self._texts: Mapping[str, str] = {**project_words(folder, language), **own}
        self._words = _environment(DictLoader(self._texts), autoescape=False)
        self._paragraphs = _environment(ChoiceLoader([house.loader(project), project]), autoescape=True)
        self.digits = Digits(self.word("decimal_sign"))

    def word(self, key: str, **values: object) -> str:
        """Return the word of that key, plain text; KeyError where the language has none."""
        text = self._texts[key]
        if "{" not in text:
            return text
        try:
            return self._words.get_template(key).render(values)
        except _FAILS as error:
            own = self._house.words.get(key)
            if own is None:
                raise
            raise WrongUsage(f"{own.where}: {key}: {error}") from None

    def inline(self, key: str) -> str:
        """Return the word as it stands within a sentence."""
        return self.word(f"inline {key}")

    def date(self, day: date) -> str:
        """Return a day in the form of the language."""
        return self.word("date_form", year=f"{day:%Y}", month=f"{day:%m}", day=f"{day:%d}")

    def paragraphs(self, name: str, **values: object) -> tuple[Markup, ...]:
        """Return the paragraphs of `name`.j2; values are escaped, the template's own markup is kept."""
        own = self._house.paragraphs.get(f"{name}.j2")
        try:
            text = self._paragraphs.get_template(f"{name}.j2").render(values)
        except _FAILS as error:
            if own is None:
                raise
            raise WrongUsage(f"{own.where}: {error}") from None
        found = tuple(_SPACE.sub(" ", part).strip() for part in _parts(text) if part.strip())
        if own is not None:
            checked_markup(own, found)
        return tuple(Markup(part) for part in found)  # noqa: S704


def unhyphenated(text: str) -> str:
    """Return a text without the places where its words may be parted."""
    return text.replace(SOFT_HYPHEN, "")


def project_words(folder: Path, language: str) -> Mapping[str, str]:
    """Return the project's words of a language."""
    text = (folder / language / "words.yaml").read_text("utf-8")
    found: Mapping[str, str] = yaml.load(text, _LOADER)  # noqa: S506  (both build plain data only)
    return found


def _environment(loader: BaseLoader, *, autoescape: bool) -> ImmutableSandboxedEnvironment:
    return ImmutableSandboxedEnvironment(loader=loader, undefined=StrictUndefined, autoescape=autoescape)


def _parts(text: str) -> list[str]:
    """Split at blank lines and before points."""
    return text.strip().replace("\n- ", "\n\n- ").split("\n\n")
