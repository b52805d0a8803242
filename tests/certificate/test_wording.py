"""The words: all that the code asks for are there, templates cannot reach beyond their text."""

import re
from pathlib import Path

import pytest
import yaml
from jinja2 import UndefinedError
from jinja2.exceptions import SecurityError
from markupsafe import Markup

import certgen
from certgen import resources
from certgen.wording.wording import Wording
from tests.certificate.samples import WORDING

CODE = Path(certgen.__file__).parent


def _folder(tmp_path: Path, words: str = 'decimal_sign: "."', text: str = "") -> Wording:
    (tmp_path / "en").mkdir()
    (tmp_path / "en" / "words.yaml").write_text(words, "utf-8")
    (tmp_path / "en" / "note.j2").write_text(text, "utf-8")
    return Wording(tmp_path, "en")


def test_every_word_the_code_names_exists() -> None:
    """Every literal key wherever it stands."""
    words = yaml.safe_load((resources.templates() / "en" / "words.yaml").read_text("utf-8"))
    files = CODE.rglob("*.py")
    named = {key for file in files for key in re.findall(r'\.word\(\s*"([^"]+)"', file.read_text("utf-8"))}
    assert len(named) > 50
    assert named - words.keys() == set()


def test_word_that_is_missing_is_an_error() -> None:
    """Never an empty place on a certificate."""
    with pytest.raises(KeyError):
        WORDING.word("no such word")


def test_name_that_is_not_filled_in_is_an_error() -> None:
    """Strict undefined."""
    with pytest.raises(UndefinedError):
        WORDING.word("number", number="X")


def test_values_in_paragraphs_are_escaped(tmp_path: Path) -> None:
    """Text of a survey cannot become markup; the template's own markup stays."""
    wording = _folder(tmp_path, text="<b>{{ who }}</b>")
    assert wording.paragraphs("note", who="A & <B>") == (Markup("<b>A &amp; &lt;B&gt;</b>"),)


def test_template_cannot_reach_python(tmp_path: Path) -> None:
    """The sandbox refuses the usual way out."""
    wording = _folder(tmp_path, text="{{ ''.__class__.__mro__[1].__subclasses__() }}")
    with pytest.raises(SecurityError):
        wording.paragraphs("note")


def test_paragraphs_part_at_blank_lines_and_points(tmp_path: Path) -> None:
    """Line breaks within a paragraph are space."""
    wording = _folder(tmp_path, text="one\ntwo\n\n- three\n- four\n")
    assert wording.paragraphs("note") == ("one two", "- three", "- four")
