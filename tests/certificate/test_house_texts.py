"""A contractor's own words and paragraphs: over the project's, harmless, and told with file and line."""

import os
from pathlib import Path

import pytest

from certgen import resources
from certgen.document.compose import compose
from certgen.errors import WrongUsage
from certgen.wording.house_files import house_texts
from certgen.wording.wording import Wording
from tests.certificate.samples import WORDING, sample

PROJECT = resources.templates()


def house(folder: Path, **files: str) -> Path:
    """Write files of the English folder of a house: `words` for words.yaml, else the name of paragraphs."""
    (folder / "en").mkdir(exist_ok=True)
    for name, text in files.items():
        (folder / "en" / ("words.yaml" if name == "words" else f"{name}.j2")).write_text(text, "utf-8")
    return folder


def wording(folder: Path) -> Wording:
    """Return the English wording with what the folder holds over it."""
    return Wording(PROJECT, "en", house_texts(folder, PROJECT, "en"))


def refused(folder: Path) -> str:
    """Return the message that a folder is refused with."""
    with pytest.raises(WrongUsage) as told:
        house_texts(folder, PROJECT, "en")
    assert told.value.exit_code == 2
    return str(told.value).removeprefix(f"{folder / 'en'}{os.sep}")


def test_words_that_are_changed_stand_over_those_of_the_project(tmp_path: Path) -> None:
    """Only those; the others stay."""
    own = wording(house(tmp_path, words='title: "Alignment report"\nnumber: "No. {{ number }}"\n'))
    assert own.word("title") == "Alignment report"
    assert own.word("number", number="7", revision=1) == "No. 7"
    assert own.word("section_safety") == WORDING.word("section_safety")


def test_paragraphs_can_lead_on_from_those_of_the_project(tmp_path: Path) -> None:
    """A point of the contractor's own after the project's."""
    text = '{% include "project/safety.j2" %}\n- Report to the <b>gatehouse</b> first.\n'
    own = wording(house(tmp_path, safety=text)).paragraphs("safety")
    assert own[:-1] == WORDING.paragraphs("safety")
    assert own[-1] == "- Report to the <b>gatehouse</b> first."


def test_folder_without_the_language_changes_nothing(tmp_path: Path) -> None:
    """English texts do not show up in a German certificate."""
    texts = house_texts(house(tmp_path, words="title: X"), PROJECT, "de")
    assert compose(sample("tutorial"), Wording(PROJECT, "de", texts)).title.startswith("Zertifikat")


@pytest.mark.parametrize(
    ("words", "message"),
    [
        ("title: A\ntitel: B\n", "words.yaml:2: titel is no word here. Did you mean title?"),
        ("\n\ntitle: [A]\n", "words.yaml:3: a word is a text."),
        ("title: {a: b}\n", "words.yaml:1: a word is a text."),
        ("- title\n", "words.yaml:1: write one word a line"),
        ('page: "{{ page }"\n', "words.yaml:1: page: "),
        (
            'title: A\npage: "{{ pge }}"\n',
            "words.yaml:2: page: pge is not known here. There are: page, pages.",
        ),
        ('title: "{{ number }}"\n', "words.yaml:1: title: number is not known here. Nothing is filled in"),
        ('title: "A\n', "words.yaml:2: "),
        ("title: A\nfail: pass\n", "words.yaml:2: fail: this word is fixed"),
        ("section_verdict: All pass\n", "words.yaml:1: section_verdict: this word is fixed"),
        ('plan_view: "Plan"\n', "words.yaml:1: plan_view: this word is fixed"),
        ('cross_view: "Level"\n', "words.yaml:1: cross_view: this word is fixed"),
        ("not shown: pass\n", "words.yaml:1: not shown: this word is fixed"),
        *(
            (f'{key}: "All rolls within tolerance"\n', f"words.yaml:1: {key}: this word is fixed")
            for key in ("rolls_outside", "rolls_not_shown", "rolls conditional fail", "checks_not_passed")
        ),
        ("running_release: Cleared to run.\n", "words.yaml:1: running_release: this word is fixed"),
        ("\ntitle: All rolls PA<b>SS</b>\n", "words.yaml:2: title: a title states no verdict, PASS;"),
        ("section_safety: Nicht bestanden\n", "words.yaml:1: section_safety: a title states no verdict,"),
        ("drive: operator side\n", "words.yaml:1: drive: this word is fixed"),
        ("table_level: Level, positive where the drive side is low\n", "words.yaml:1: table_level: this"),
        ('"inline as_left": as found\n', "words.yaml:1: inline as_left: this word is fixed"),
        ('decimal_sign: "1"\n', 'words.yaml:1: decimal_sign: write "." or ",".'),
        ("a: &a [x, x]\nb: &b [*a, *a]\n", "words.yaml:1: a word is a text."),
    ],
)
def test_faulty_word_is_told_with_its_line(words: str, message: str, tmp_path: Path) -> None:
    """File, line, key, and what would be right."""
    assert refused(house(tmp_path, words=words)).startswith(message)


@pytest.mark.parametrize(
    "template",
    [
        "{{ ''.__class__.__mro__ }}",
        "{{ cycler }}",
        "{% for a in 'ab' %}{% for b in 'ab' %}x{% endfor %}{% endfor %}",
        "{{ range(999999999) }}",
        "{{ 9 ** 9 ** 9 }}",
        "{{ 'x' * 999999999 }}",
        "{{ '%999999999d' % 1 }}",
        "{{ 'x'|center(999999999) }}",
        "{{ 'x'|attr('__class__') }}",
        "{% macro a() %}{% endmacro %}",
        "{% set a = 1 %}",
        '{% include "../../secret.j2" %}',
        '{% include "safety.j2" %}',
        '{% include "project/../words.yaml" %}',
        '{% include ["project/closing.j2", "x"] %}',
        '{% include "project/method.j2" %}',
        '{% extends "project/closing.j2" %}',
        '{% import "project/closing.j2" as a %}',
        '{% from "project/closing.j2" import a %}',
        "{% include reference_roll %}",
        "{% block a %}{% endblock %}",
        "{{ " + "(" * 20000 + "1" + ")" * 20000 + " }}",
        "{% if 1 %}" * 2900 + "{% endif %}" * 2900,
        '<img src="secret.png"/>',
        '<a href="https://x.example">x</a>',
        "<font color=red>x</font>",
        "<b onclick=x>x</b>",
        "a < b",
        "<para>x</para>",
    ],
)
def test_template_can_neither_reach_out_nor_run_nor_grow(template: str, tmp_path: Path) -> None:
    """Refused while it is read, before anything of it is run."""
    (tmp_path / "secret.j2").write_text("secret", "utf-8")
    message = refused(house(tmp_path, closing=f"One line.\n{template}\n"))
    assert message.startswith(("closing.j2:2: ", "closing.j2:1: is nested too deeply"))


@pytest.mark.parametrize(
    "text", ["<b>open", "shut</b>", "<b><i>crossed</b></i>", "<b>over\n\nparagraphs</b>"]
)
def test_markup_must_be_closed_where_it_was_opened(text: str, tmp_path: Path) -> None:
    """Else a page could not be set."""
    with pytest.raises(WrongUsage, match=r"closing\.j2:1: <"):
        wording(house(tmp_path, closing=text)).paragraphs("closing")


def test_text_of_a_survey_is_escaped_in_own_paragraphs_too(tmp_path: Path) -> None:
    """What is filled in is never mark-up."""
    own = wording(house(tmp_path, method="<b>{{ reference_roll }}</b>"))
    assert own.paragraphs("method", reference_roll="<i>R1</i>") == ("<b>&lt;i&gt;R1&lt;/i&gt;</b>",)


def test_value_that_does_not_fit_is_told(tmp_path: Path) -> None:
    """A comparison that cannot be made ends in a message, not in a traceback."""
    own = wording(house(tmp_path, words="page: \"{% if pages > 'a' %}x{% endif %}\"\n"))
    with pytest.raises(WrongUsage, match=r"words\.yaml:1: page"):
        own.word("page", page=1, pages=2)


@pytest.mark.parametrize("name", ["words.yaml", "closing.j2"])
def test_links_out_of_the_folder_are_refused(name: str, tmp_path: Path) -> None:
    """A link may lead to another file of the folder only."""
    (tmp_path / "secret").write_text("title: secret", "utf-8")
    folder = house(tmp_path / "house" if (tmp_path / "house").mkdir() is None else tmp_path)
    (folder / "en" / name).symlink_to(tmp_path / "secret")
    assert "not a file within" in refused(folder)


def test_link_in_a_circle_is_refused(tmp_path: Path) -> None:
    """And told."""
    folder = house(tmp_path)
    (folder / "en" / "closing.j2").symlink_to(folder / "en" / "closing.j2")
    assert "closing.j2" in refused(folder)


def test_folder_that_is_a_link_outwards_is_refused(tmp_path: Path) -> None:
    """The language's folder lies in the house, or nothing of it is read."""
    other, folder = tmp_path / "other", tmp_path / "house"
    other.mkdir()
    folder.mkdir()
    (other / "words.yaml").write_text("title: secret", "utf-8")
    (folder / "en").symlink_to(other)
    assert "not a file within" in refused(folder)


@pytest.mark.parametrize(
    ("name", "data"),
    [
        ("words.yaml", b"title: \xff"),
        ("closing.j2", b"x" * 70000),
        ("saftey.j2", b"x"),
        ("closing.j2", b"\xff"),
    ],
)
def test_file_that_is_no_text_of_the_house_is_refused(name: str, data: bytes, tmp_path: Path) -> None:
    """Not UTF-8, too large, or of no known name."""
    folder = house(tmp_path)
    (folder / "en" / name).write_bytes(data)
    assert name in refused(folder)


@pytest.mark.parametrize(
    ("text", "line"),
    [
        ("One.\n\nTwo <b>open.\nMore.\n", 3),
        ("- <i>One</i>.\n- Two\n  </u>.\n", 3),
        ("- One <b>opened.\n- Closed</b> in another point.\n", 1),
    ],
)
def test_unclosed_mark_up_is_told_with_its_line(text: str, line: int, tmp_path: Path) -> None:
    """As every other fault of a template is."""
    own = wording(house(tmp_path, closing=text))
    with pytest.raises(WrongUsage, match=rf"closing\.j2:{line}: <[biu]> is not opened and closed in order"):
        own.paragraphs("closing")
