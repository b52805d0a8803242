"""What the YAML parser complains of, in plain words and at the most useful place."""

import re
from typing import NamedTuple

import yaml

from certgen.findings import Place
from certgen.survey.tree import echo


class Fault(NamedTuple):
    """One syntax fault."""

    place: Place
    message: str
    hint: str


_OPEN = "Close what was opened, and put a comma between its parts."
# a piece of the parser's complaint -> what it means, what to do; the first that fits holds
_PLAIN_WORDS = (
    ("mapping values are not allowed", "a colon stands where no key can begin",
     "Check the indentation of this line and the end of the line above; quote text that holds `: `."),
    ("could not find expected ':'", "a key without its colon", "Write `key: value`."),
    ("',' or '}'", "the {...} around this place is not closed or lacks a comma", _OPEN),
    ("',' or ']'", "the [...] around this place is not closed or lacks a comma", _OPEN),
    ("unexpected ':'", "a colon stands where no key can begin", "Quote text that holds a colon."),
    ("unexpected end of stream", "a quotation mark is never closed",
     "Close the text with the quotation mark it began with."),
    ("expected key", "this line does not line up with the lines above",
     "Indent the keys of one group by the same number of spaces."),
    ("expected '-' indicator", "this line does not line up with the list above",
     "Start each entry of the list with `- ` in the same column."),
    ("expected <block end>", "this line does not line up with the lines above",
     "Indent the keys of one group by the same number of spaces."),
    ("sequence entries are not allowed", "a list cannot start here",
     "Put `- ` on a line of its own below the key."),
    ("cannot start any token", "this character cannot begin a value", "Quote the text."),
    ("escape character", "a backslash inside double quotes begins nothing known",
     "Use single quotes, or write the backslash twice."),
    ("expected the node content", "a value is missing here", "Write a value, or remove the stray character."),
    ("document start", "text follows after the end of the document", "Keep one survey in one file."),
    ("alias", "a value that begins with `*` is read as an alias", "Quote the text."),
    ("anchor", "a value that begins with `&` is read as an anchor", "Quote the text."),
    ("tag", "a value that begins with `!` is read as a tag", "Quote the text."),
    ("directive", "a line that begins with `%` is read as a directive", "Remove it."),
    ("nesting depth", "nested too deeply", "A survey needs no more than six levels."),
    ("block scalar", "the text block after `|` or `>` does not begin well",
     "Start the text on the next line."),
)  # fmt: skip
_TAB = "a tab stands in the indentation"
_LEADING_TAB = re.compile(r"[ -]*\t")


def explain(error: yaml.YAMLError, text: str) -> Fault:
    """Return the fault behind a parser's error on `text`."""
    problem = f"{getattr(error, 'problem', None) or error}"
    if "unexpected end of stream" in problem:  # the place to look is where the quotation began
        error.problem_mark = getattr(error, "context_mark", None)  # type: ignore[attr-defined]
    mark = getattr(error, "problem_mark", None) or getattr(error, "context_mark", None)
    place = Place(1, 1) if mark is None else Place(mark.line + 1, mark.column + 1)
    tab = _tab_at(text, place)
    if tab is not None:
        return Fault(tab, _TAB, "Indent with spaces only.")
    message, hint = _in_plain_words(problem)
    return Fault(place, message + _opened_at(error), hint)


def _in_plain_words(problem: str) -> tuple[str, str]:
    for piece, message, hint in _PLAIN_WORDS:
        if piece in problem:
            return message, hint
    return f"this is not YAML: {echo(problem)}", "Compare it with the scaffold that `certgen new` writes."


def _opened_at(error: yaml.YAMLError) -> str:
    context = getattr(error, "context_mark", None)
    if context is None or context.line == getattr(error.problem_mark, "line", context.line):  # type: ignore[attr-defined]
        return ""
    return f"; it began at line {context.line + 1}, column {context.column + 1}"


def _tab_at(text: str, place: Place) -> Place | None:
    """Return the place of a tab in the indentation of the faulty line or of the one before it."""
    lines = text.splitlines()
    for number in (place.line, place.line - 1):
        found = _LEADING_TAB.match(lines[number - 1]) if 0 < number <= len(lines) else None
        if found:
            return Place(number, found.end())
    return None
