"""The words of the certificate, from the templates folder and a contractor's own.

A contractor's own words and paragraphs lie over those of the project, which say whatever they leave out.
"""

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date
from hashlib import sha256
from pathlib import Path
from typing import Literal
from unicodedata import normalize

import yaml
from jinja2 import (
    BaseLoader,
    ChoiceLoader,
    DictLoader,
    FileSystemLoader,
    PrefixLoader,
    StrictUndefined,
    TemplateError,
)
from jinja2.sandbox import ImmutableSandboxedEnvironment
from markupsafe import Markup

from certgen.errors import WrongUsage
from certgen.wording.rounding import Digits

# WCAG 2.2, 1.4.3 for text and 1.4.11 for lines: how much darker than the paper they must at least be
TEXT_CONTRAST = 4.5
LINE_CONTRAST = 3.0


# those of look.py, orange and blue, as a browser writes them
FOUND_COLOUR, LEFT_COLOUR = "#c75b12", "#1d4e89"
# `{% include "project/safety.j2" %}` is the project's own paragraph of that name
PROJECT = "project"
_TAGS = ("b", "i", "u", "sub", "sup", "br")
_TAG = re.compile(rf"<(?P<end>/?)(?P<name>{'|'.join(_TAGS)})\s*/?>")
_PARTS = re.compile(
    r"(\n\s*\n|\n(?=- ))"
)  # between paragraphs and points; kept, so that lines can be counted
_ANY_TAG = re.compile(r"<[^>]*>?|>")

# words of verdicts in every language of the project: what stands over results must not state one
_VERDICT = re.compile(
    r"\b(pass(es|ed|ing)?|fail(s|ed|ing)?|(nicht )?bestanden|((non|no) )?conformes?)\b", re.IGNORECASE
)
_UNSEEN = re.compile(r"[\u00ad\u200b-\u200f\u2060\ufeff]|</?[a-z]+ ?/?>")
# where a long word may be parted at the end of a line
SOFT_HYPHEN = "\N{SOFT HYPHEN}"
# the same plain data either way; libyaml reads it ten times as fast
_LOADER = getattr(yaml, "CSafeLoader", yaml.SafeLoader)
# what may break a line; a no-break space may not
_SPACE = re.compile(r"[ \t\r\n\f\v]+")
_FAILS = (TemplateError, TypeError, ValueError, ArithmeticError, RecursionError)


@dataclass(frozen=True, slots=True)
class Logo:
    """A picture: PNG without transparency, or SVG that was found harmless."""

    kind: Literal["png", "svg"]
    data: bytes


@dataclass(frozen=True, slots=True)
class HouseLook:
    """Lines of the letterhead, logo, and the colours of what was found and what was left (as #rrggbb)."""

    letterhead: tuple[str, ...] = ()
    logo: Logo | None = None
    found: str = FOUND_COLOUR
    left: str = LEFT_COLOUR

    def digest(self) -> str:
        """Return the SHA-256, in hexadecimal, of everything that this look puts on a page."""
        logo = b"" if self.logo is None else self.logo.data
        text = "\n".join((*self.letterhead, self.found, self.left, sha256(logo).hexdigest()))
        return sha256(text.encode()).hexdigest()


PROJECT_LOOK = HouseLook()


def contrast(colour: str) -> float:
    """Return the contrast of a colour (#rrggbb) to white paper, 1 to 21 (WCAG 2.2, relative luminance)."""
    red, green, blue = (_linear(int(colour[i : i + 2], 16) / 255.0) for i in (1, 3, 5))
    luminance = 0.2126 * red + 0.7152 * green + 0.0722 * blue
    return 1.05 / (luminance + 0.05)


def _linear(part: float) -> float:
    return float(part / 12.92 if part <= 0.04045 else ((part + 0.055) / 1.055) ** 2.4)


@dataclass(frozen=True, slots=True)
class HouseText:
    """A template, and where it stands: its file, for a word with the line."""

    text: str
    where: str


@dataclass(frozen=True, slots=True)
class HouseTexts:
    """Words by key and paragraphs by file name that lie over those of the project."""

    words: Mapping[str, HouseText] = field(default_factory=dict)
    paragraphs: Mapping[str, HouseText] = field(default_factory=dict)

    def loader(self, project: BaseLoader) -> BaseLoader:
        """Return what finds the paragraphs, and under `project/` those of the project; nothing else."""
        own = DictLoader({name: one.text for name, one in self.paragraphs.items()})
        return ChoiceLoader([own, PrefixLoader({PROJECT: project})])


NO_TEXTS = HouseTexts()


def verdict_in(text: str) -> str:
    """Return the first word of a text that states a verdict in any of the languages; empty for none."""
    found = _VERDICT.search(normalize("NFKC", _UNSEEN.sub("", text)))
    return found.group() if found else ""


def foreign_tag(text: str) -> tuple[int, str] | None:
    """Return place and text of the first mark-up that is not allowed in a paragraph."""
    for found in _ANY_TAG.finditer(text):
        if not _TAG.fullmatch(found.group()):
            return found.start(), found.group()
    return None


def allowed_tags() -> str:
    """Return the mark-up that a paragraph may use, for a message."""
    return ", ".join(f"<{name}>" for name in _TAGS)


def checked_markup(own: HouseText, paragraphs: Sequence[str]) -> None:
    """Raise WrongUsage where a paragraph holds foreign mark-up, or opens what it does not close."""
    for text in paragraphs:
        if found := foreign_tag(text):
            raise WrongUsage(f"{own.where}: {found[1]} is not allowed. Use only {allowed_tags()}.")
        if left := _unbalanced(text):
            where, name = f"{own.where}{_line(own.text)}", left["name"]
            raise WrongUsage(f"{where}: <{name}> is not opened and closed in order within a paragraph.")


def _line(source: str) -> str:
    """Where in a template a tag is not closed, as far as its own paragraphs and points show it."""
    at = 0
    for part in _PARTS.split(source):
        if found := _unbalanced(part):
            return f":{source.count(chr(10), 0, at + found.start()) + 1}"
        at += len(part)
    return ""


def _unbalanced(text: str) -> re.Match[str] | None:
    """The tag that is closed without having been opened, or opened last and never closed."""
    opened: list[re.Match[str]] = []
    for found in _TAG.finditer(text):
        name = found["name"]
        if name == "br":
            continue
        if not found["end"]:
            opened.append(found)
        elif not opened or opened.pop()["name"] != name:
            return found
    return opened[-1] if opened else None


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
        # split at blank lines and before points
        parts = text.strip().replace("\n- ", "\n\n- ").split("\n\n")
        found = tuple(_SPACE.sub(" ", part).strip() for part in parts if part.strip())
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
