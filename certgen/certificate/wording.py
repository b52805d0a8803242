"""The words of the certificate, from the templates folder: sandboxed jinja2, undefined names are errors."""

from collections.abc import Mapping
from pathlib import Path

import yaml
from jinja2 import FileSystemLoader, StrictUndefined
from jinja2.sandbox import SandboxedEnvironment
from markupsafe import Markup


class Wording:
    """Words (short plain text, by key) and paragraphs (markup text, by file) in one language.

    A paragraph file holds paragraphs apart by blank lines; lines that start with "- " are points.
    """

    def __init__(self, folder: Path, language: str) -> None:
        self.language = language
        self._folder = folder / language
        self._words = _environment(self._folder, autoescape=False)
        self._paragraphs = _environment(self._folder, autoescape=True)
        self._texts: Mapping[str, str] = yaml.safe_load((self._folder / "words.yaml").read_text("utf-8"))

    def word(self, key: str, **values: object) -> str:
        """Return the word of that key, plain text; KeyError where the language has none."""
        text = self._texts[key]
        return self._words.from_string(text).render(values) if "{" in text else text

    def paragraphs(self, name: str, **values: object) -> tuple[Markup, ...]:
        """Return the paragraphs of `name`.j2; values are escaped, the template's own markup is kept."""
        text = self._paragraphs.get_template(f"{name}.j2").render(values)
        return tuple(Markup(" ".join(part.split())) for part in _parts(text) if part.strip())  # noqa: S704


def _environment(folder: Path, *, autoescape: bool) -> SandboxedEnvironment:
    return SandboxedEnvironment(
        loader=FileSystemLoader(folder), undefined=StrictUndefined, autoescape=autoescape
    )


def _parts(text: str) -> list[str]:
    """Split at blank lines and before points."""
    return text.strip().replace("\n- ", "\n\n- ").split("\n\n")
