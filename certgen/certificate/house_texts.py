"""A contractor's own words and paragraphs, held in memory once they were read and found harmless."""

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from unicodedata import normalize

from jinja2 import BaseLoader, ChoiceLoader, DictLoader, PrefixLoader

from certgen.errors import WrongUsage

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
