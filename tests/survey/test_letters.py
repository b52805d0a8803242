"""Letters: those of the certificate's fonts, composed, and none that nobody sees."""

import pytest
from fontTools.ttLib import TTFont

from certgen.resources import templates
from certgen.survey.load import identity
from certgen.survey.scalar_kinds import has_letter
from tests.survey.sound import changed, findings, survey

UNSEEN_OR_LOST = {"\u00ad", "\u200b", "\ufeff", "\ufffc", "\ufffd"}


def test_letters_are_those_of_every_font() -> None:
    """The ranges that the survey layer knows, against the fonts that the certificate is printed with."""
    fonts = [TTFont(path) for path in sorted((templates() / "fonts").glob("*.ttf"))]
    shared = set.intersection(*({chr(code) for code in font.getBestCmap()} for font in fonts))
    assert len(fonts) >= 3
    assert {chr(code) for code in range(0x110000) if has_letter(chr(code))} == shared - UNSEEN_OR_LOST


@pytest.mark.parametrize("name", ["Müller & Söhne", "Żółw", "Ελληνική Фабрика", "Łódź", "Mill № 7 – “North”"])
def test_letters_of_europe_are_read(name: str) -> None:
    """Latin, Greek and Cyrillic, and the signs of good print."""
    assert survey(("name: Test Mill", f'name: "{name}"')).customer.name == name


def test_decomposed_letters_are_composed_everywhere() -> None:
    """As one system writes umlauts in file names: in texts, names, keys and the number of the certificate."""
    edits = (
        ("name: Test Mill", "name: Mu\u0308hle"),
        ("number: T-1", "number: U\u0308-1"),
        ("id: R3", "id: U\u0308"),
        ("    R3: {operator: 0.1", "    \u00dc: {operator: 0.1"),
        ("      R3: {operator: 0,", '      "U\\u0308": {operator: 0,'),
    )
    made = survey(*edits)
    assert (made.customer.name, made.certificate.number, made.rolls[2].id) == (
        "M\u00fchle",
        "\u00dc-1",
        "\u00dc",
    )
    named = identity("f", changed(*edits).encode())
    assert named is not None
    assert named.number == "\u00dc-1"


@pytest.mark.parametrize(
    ("text", "message"),
    [
        ("\u05d0\u05d1", "no font of the certificate has \u05d0 (U+05D0), \u05d1 (U+05D1)"),
        ("\U0001f600", "no font of the certificate has \U0001f600 (U+1F600)"),
        ("q\u0308", "no font of the certificate has U+0308"),
        ("Test\ufffdMill", "a letter was lost here (U+FFFD)"),
        ("\u7d19\u5de5\u5834\u5c71\u5ddd\u6728\u6797", "(U+5DDD) and 2 more"),
        ('"a\\0b"', "a control character, U+0000, cannot stand here"),
        ('"a\\ab"', "a control character, U+0007, cannot stand here"),
        ('"a\\tb"', "a tab stands in the text"),
        ('"a\\nb"', "this stands on one line"),
        ('"a\\u2028b"', "this stands on one line"),
        ('"a\\u200db"', "a letter that nobody sees, U+200D, stands here"),
        ('"a\\u00adb"', "a letter that nobody sees, U+00AD, stands here"),
    ],
)
def test_text_that_cannot_be_printed_is_refused(text: str, message: str) -> None:
    """With its place in the file, long before a page is made."""
    (found,) = findings(("name: Test Mill", f"name: {text}"))
    assert (found.severity, found.where) == ("error", "customer.name")
    assert message in found.message


@pytest.mark.parametrize(
    "edit",
    [
        ("address: 2 Test Lane", 'address: "2 Test Lane\\nNorth"'),
        ("contact: b@mill.example", 'contact: "b@mill.example\\n0123"'),
        ("notes: cold line", 'notes: "cold line\\nno draught"'),
        ("name: Test Mill", 'name: "Test Mill\\n"'),
        ("name: Test Mill", 'name: "Test\\u00a0Mill"'),
    ],
)
def test_lines_are_read_where_they_belong(edit: tuple[str, str]) -> None:
    """Addresses and notes have lines; the break at the end of a block of text is none of it."""
    assert findings(edit) == ()


def test_control_character_in_notes_is_refused() -> None:
    """Several lines are no licence for what a terminal would obey."""
    (found,) = findings(("notes: cold line", 'notes: "cold\\e[2Jline"'))
    assert found.where == "conditions.notes"


@pytest.mark.parametrize("mark", ["\\u200b", "\\u202e", "\\u00a0", "\\0", "\\n"])
def test_name_holds_nothing_unseen(mark: str) -> None:
    """Two names that look alike are one."""
    assert any(found.where == "rolls[2].id" for found in findings(("id: R3", f'id: "R3{mark}x"')))
