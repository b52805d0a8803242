"""Every language says everything: the same words and paragraphs, filled in with the same names."""

import re

import pytest
import yaml
from jinja2 import Environment, meta, nodes

from certgen import resources
from certgen.document.compose import compose
from certgen.document.content import Content, Facts, Statements, Table
from certgen.pdf.reports import compose_comparison, compose_trend
from certgen.resources import LANGUAGES
from certgen.visits.comparison import compare, within
from certgen.visits.trend import trend
from certgen.wording.wording import Wording, foreign_tag
from tests.certificate.samples import sample

OTHERS = [language for language in LANGUAGES if language != "en"]
NAMES = ("tutorial", "winder_inch", "coater_mm", "dryer_mixed", "unwind_wide")


def words(language: str) -> dict[str, str]:
    """Return the words of a language as they stand in its file."""
    found: dict[str, str] = yaml.safe_load(
        (resources.templates() / language / "words.yaml").read_text("utf-8")
    )
    return found


def paragraphs(language: str) -> dict[str, str]:
    """Return the paragraph files of a language."""
    return {path.name: path.read_text("utf-8") for path in (resources.templates() / language).glob("*.j2")}


def names(source: str) -> set[str]:
    """Return the names that a template fills in."""
    return meta.find_undeclared_variables(Environment(autoescape=True).parse(source))


def compared(source: str) -> set[str]:
    """Return the texts that a template compares a name with."""
    tree = Environment(autoescape=True).parse(source)
    found = {const.value for one in tree.find_all(nodes.Compare) for const in one.find_all(nodes.Const)}
    return {value for value in found if isinstance(value, str)}


@pytest.mark.parametrize("language", OTHERS)
def test_language_has_every_word_and_no_other(language: str) -> None:
    """In the order of the English file, so that a missing one is seen beside it."""
    assert set(words(language)) == set(words("en"))


@pytest.mark.parametrize("language", LANGUAGES)
def test_language_says_something_for_every_word(language: str) -> None:
    """Text, never a number or a truth that YAML makes of an unquoted word."""
    assert [
        key for key, text in words(language).items() if not isinstance(text, str) or not text.strip()
    ] == []


@pytest.mark.parametrize("language", OTHERS)
def test_language_has_every_paragraph_and_no_other(language: str) -> None:
    """A file for each English one."""
    assert set(paragraphs(language)) == set(paragraphs("en"))


@pytest.mark.parametrize("language", OTHERS)
def test_words_are_filled_in_with_the_same_names(language: str) -> None:
    """A name left out would leave a number out."""
    english, other = words("en"), words(language)
    free = {"outside", "judged", "moving", "rolls"}  # plural forms may look at either count
    differing = {key for key in english if names(english[key]) ^ names(other[key])}
    assert {key for key in differing if not names(english[key]) ^ names(other[key]) <= free} == set()


@pytest.mark.parametrize("language", OTHERS)
def test_paragraphs_are_filled_in_with_the_same_names(language: str) -> None:
    """And choose by the same values."""
    for name, source in paragraphs("en").items():
        other = paragraphs(language)[name]
        assert names(other) == names(source), name
        assert compared(other) <= compared(source) | compared(paragraphs("en")["decision.j2"]), name


@pytest.mark.parametrize("language", OTHERS)
def test_safety_has_every_point(language: str) -> None:
    """As many points as in English, and the laser's standard among them."""
    for name in ("safety.j2", "moving_safety.j2"):
        english, other = paragraphs("en")[name], paragraphs(language)[name]
        assert other.count("\n- ") == english.count("\n- ")
    assert "IEC 60825-1" in paragraphs(language)["safety.j2"]


# isolate, lock out and tag out, release or block what is stored, only then verify, try, and turn back to off
LOCKOUT = {
    "en": ("isolate", "lock out", "tag out", "stored energy", "verify zero energy", "try to start", "to off"),
    "de": (
        "abschalten",
        "gegen Wiedereinschalten sichern",
        "Warnschild",
        "gespeicherte Energie",
        "Energiefreiheit prüfen",
        "Startversuch",
        "auf AUS",
    ),
    "fr": (
        "séparer de toute source",
        "condamner",
        "étiquette",
        "énergie accumulée",
        "vérifier l'absence d'énergie",
        "essai de démarrage",
        "à l'arrêt",
    ),
    "es": (
        "separar de toda fuente",
        "bloquear",
        "etiquetar",
        "energía almacenada",
        "verificar la ausencia de energía",
        "intentar el arranque",
        "en parada",
    ),
}
# guards back, people and tools out of the way, and only then energy and a slow run
RESTART = {
    "en": ("every guard", "people and tools are clear", "energy is restored", "jog at crawl speed"),
    "de": (
        "Schutzeinrichtungen wieder",
        "Personen und Werkzeug",
        "Energie zuschalten",
        "Kriechgeschwindigkeit",
    ),
    "fr": ("emettre", "personnes et outils sont dégagés", "rétablir l'énergie", "vitesse lente"),
    "es": ("resguardos", "no quedan personas ni herramientas", "restablecer la energía", "velocidad lenta"),
}


@pytest.mark.parametrize("name", ["safety.j2", "moving_safety.j2", "compare_safety.j2"])
@pytest.mark.parametrize("language", LANGUAGES)
def test_lockout_and_restart_come_in_their_order(language: str, name: str) -> None:
    """Each within one point, before anything is said of moving, and every step after the one before it."""
    points = paragraphs(language)[name].removeprefix("- ").split("\n- ")
    for phrases in (LOCKOUT[language], RESTART[language]):
        (point,) = (one for one in points if phrases[-1] in one)
        places = [point.index(phrase) for phrase in phrases]
        assert places == sorted(places)
    supports = min(i for i, one in enumerate(points) if any(word in one for word in SUPPORT[language]))
    assert LOCKOUT[language][0] in " ".join(points[: supports + 1]).split(SUPPORT[language][0])[0]


SUPPORT = {"en": ("Support",), "de": ("abstützen",), "fr": ("Soutenir",), "es": ("Sostener",)}


@pytest.mark.parametrize("key", ["moves_stop", "sheet_setup_note"])
@pytest.mark.parametrize("language", LANGUAGES)
def test_sign_of_a_reading_says_where_an_end_lies_and_not_where_to_go(language: str, key: str) -> None:
    """A place, as a whole sentence; the way a bearing is moved has words of its own."""
    wording = Wording(resources.templates(), language)
    for way in ("upstream", "downstream"):
        lies = wording.word(f"lies {way}")
        said = wording.word(key, positive=lies, unit="mm", setup="1")
        assert PLACE[language].format(lies) in said
    if language == "fr":  # "vers" goes somewhere, "en" is somewhere
        assert wording.word("lies upstream") != wording.word("upstream")


PLACE = {
    "en": "end lies {}.",
    "de": "heißt, dass dieses Ende {} liegt.",
    "fr": "veut dire que cette extrémité se trouve {}.",
    "es": "significa que ese extremo está {}.",
}


@pytest.mark.parametrize(
    ("language", "ends"),
    [
        ("en", ("zero the laser target on the side under “Zero on”", "side that is moved")),
        (
            "de",
            ("auf der unter „Nullen auf“ genannten Seite nullen", "auf die Seite setzen, die verstellt wird"),
        ),
        ("fr", ("à zéro du côté indiqué sous «\xa0Zéro\xa0»", "du côté déplacé")),
        ("es", ("a cero la diana láser en el lado indicado en «Cero en»", "al lado que se mueve")),
    ],
)
def test_both_sides_of_a_stop_reading_are_named(language: str, ends: tuple[str, str]) -> None:
    """The one that is zeroed first, by the head of its column; near and far would leave open from where."""
    said = words(language)["moves_stop"]
    places = [said.index(end) for end in ends]
    assert places == sorted(places)
    assert words(language)["zero_on"] in ends[0]


def test_up_is_no_part_of_upstream_in_spanish() -> None:
    """“Arriba” alone could be either."""
    spanish = words("es")
    keys = ("up", "down", "raise", "lower", "adjustment_up", "sheet_done_up", "move_level")
    assert [key for key in keys if re.search("arriba|abajo", spanish[key], re.IGNORECASE)] == []


@pytest.mark.parametrize("language", LANGUAGES)
def test_paragraphs_hold_allowed_markup_only(language: str) -> None:
    """What a house folder may not use, the project does not use either."""
    assert [name for name, source in paragraphs(language).items() if foreign_tag(_text_of(source))] == []


def _text_of(source: str) -> str:
    tree = Environment(autoescape=True).parse(source)
    return "".join(data.data for data in tree.find_all(nodes.TemplateData))


@pytest.mark.parametrize("language", OTHERS)
@pytest.mark.parametrize("name", NAMES)
def test_numbers_have_the_decimal_sign_of_the_language(name: str, language: str) -> None:
    """No cell and no fact has a point between digits, save in a date or what the survey calls a thing."""
    content = compose(sample(name), Wording(resources.templates(), language))
    pointed = [text for text in texts(content) if re.search(r"\d\.\d", _without_days(text))]
    assert [text for text in pointed if not text.startswith("7.8.")] == []


@pytest.mark.parametrize("language", OTHERS)
def test_comparison_and_trend_have_the_decimal_sign_of_the_language(language: str) -> None:
    """Every table and fact; digests and days aside."""
    wording = Wording(resources.templates(), language)
    visits = [sample(f"winder_inch{suffix}").solution for suffix in ("", "_next_year", "_third_year")]
    for content in (
        compose_comparison(compare(*visits[:2]), wording),
        compose_comparison(within(sample("dryer_mixed").solution), wording),
        compose_trend(trend(visits), wording),
    ):
        assert [text for text in texts(content) if re.search(r"\d\.\d", _without_days(text))] == []


def _without_days(text: str) -> str:
    return re.sub(r"\b\d\d\.\d\d\.\d{4}\b", "", text)


def texts(content: Content) -> list[str]:
    """Return what tables say in cells, notes and beside captions, and every value of facts and statements."""
    blocks = [block for section in content.sections for block in section.blocks]
    tables = [block for block in blocks if isinstance(block, Table)]
    cells = [cell for table in tables for row in table.rows for cell in row if isinstance(cell, str)]
    notes = [text for table in tables for text in (table.note, table.aside)]
    pairs = [block.pairs for block in blocks if isinstance(block, Facts | Statements)]
    return cells + notes + [str(value) for some in pairs for _, value in some]


def test_days_have_the_form_of_the_language() -> None:
    """ISO 8601 in English, day first elsewhere."""
    issued = {language: Wording(resources.templates(), language).date for language in LANGUAGES}
    day = sample("winder_inch").survey.certificate.issued
    shown = {language: write(day) for language, write in issued.items()}
    assert shown == {"en": "2026-10-16", "de": "16.10.2026", "fr": "16/10/2026", "es": "16/10/2026"}


@pytest.mark.parametrize(
    ("language", "values", "shown"),
    [
        ("fr", {"outside": 1, "judged": 5}, "1 critère sur 5 non conforme"),
        ("fr", {"outside": 2, "judged": 5}, "2 critères sur 5 non conformes"),
        ("es", {"outside": 1, "judged": 1}, "criterios no conformes: 1 de 1"),
        ("de", {"outside": 1, "judged": 5}, "1 von 5 Toleranzprüfungen nicht bestanden"),
    ],
)
def test_counts_have_the_plural_of_the_language(language: str, values: dict[str, int], shown: str) -> None:
    """French counts nought and one alike; German counts out of several."""
    assert Wording(resources.templates(), language).word("verdict_counts", **values) == shown
