"""Text to a located tree, by walking the events of the YAML parser; its complaints in plain words.

The events, not the parser's own objects, because only they keep every key's place, show duplicate keys
and let aliases and depth be counted before anything is built.
"""

import re
from collections.abc import Iterator
from dataclasses import dataclass, field
from typing import NamedTuple
from unicodedata import normalize

import yaml

from certgen.errors import SurveyRefused
from certgen.findings import Place
from certgen.survey import tree
from certgen.survey.source import refuse
from certgen.survey.tree import Entry, Mapping, Node, Scalar, Sequence, echo

DEEPEST = 20
MOST_NODES = 120_000  # more than three thousand rolls, each read in every way
MOST_ALIASED_NODES = 20_000  # far above any honest reuse, far below what a bomb needs

_Loader: type = getattr(yaml, "CLoader", yaml.Loader)
_QUOTE_IT = "Write the value without a tag; quote it where it must stay text."


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


def read_tree(file: str, text: str) -> Node:
    """Return the tree of the one document in `text`; SurveyRefused where there is none."""
    try:
        return _Reader(file, yaml.parse(text, Loader=_Loader)).document()
    except yaml.YAMLError as error:
        fault = explain(error, text)
        raise refuse(file, fault.message, fault.hint, fault.place) from None


@dataclass
class _Reader:
    file: str
    events: Iterator[yaml.Event]
    anchors: dict[str, Node | None] = field(default_factory=dict)
    nodes: int = 0
    aliased: int = 0

    def document(self) -> Node:
        next(self.events)  # the start of the stream
        if isinstance(next(self.events), yaml.StreamEndEvent):
            raise refuse(self.file, "the file is empty", "Start from the scaffold that `certgen new` writes.")
        root = self.node(next(self.events), 1)
        next(self.events)  # the end of the document
        after = next(self.events)
        if isinstance(after, yaml.DocumentStartEvent):
            message = "a second document starts here"
            raise refuse(self.file, message, "Keep one survey in one file, without `---`.", _place(after))
        return root

    def node(self, event: yaml.Event, depth: int) -> Node:
        self.nodes += 1
        if depth > DEEPEST or self.nodes > MOST_NODES:
            raise self.too_much(event, depth)
        if isinstance(event, yaml.AliasEvent):
            return self.alias(event)
        assert isinstance(event, yaml.ScalarEvent | yaml.CollectionStartEvent)  # noqa: S101  # nothing else begins one
        if event.tag is not None:
            raise self.refuse(event, f"the tag {echo(str(event.tag))} is not read", _QUOTE_IT)
        if event.anchor is None:
            return self.made(event, depth)
        self.anchors[event.anchor] = None
        self.anchors[event.anchor] = made = self.made(event, depth)
        return made

    def made(self, event: yaml.Event, depth: int) -> Node:
        if isinstance(event, yaml.ScalarEvent):
            plain = event.style in (None, "")
            mark = event.end_mark
            end = Place(mark.line + 1, mark.column + 1) if mark else None
            return Scalar(_place(event), normalize("NFC", event.value), plain, end=end)
        if isinstance(event, yaml.MappingStartEvent):
            return self.mapping(event, depth)
        return self.sequence(event, depth)

    def too_much(self, event: yaml.Event, depth: int) -> SurveyRefused:
        if depth > DEEPEST:
            return self.refuse(
                event, f"nested deeper than {DEEPEST} levels", "A survey needs no more than six."
            )
        hint = "Keep one visit to one line in one file."
        return self.refuse(event, "more values than a survey can hold", hint)

    def alias(self, event: yaml.AliasEvent) -> Node:
        name = str(event.anchor)
        target = self.anchors.get(name)
        if target is None:
            problem = "stands inside what it repeats" if name in self.anchors else "repeats nothing above it"
            raise self.refuse(event, f"the alias *{echo(name)} {problem}", "Write the value out.")
        self.aliased += target.size
        if self.aliased > MOST_ALIASED_NODES:
            raise self.refuse(
                event, "the aliases of this file expand to too many values", "Write the values out."
            )
        return target

    def sequence(self, start: yaml.Event, depth: int) -> Sequence:
        items: list[Node] = []
        while not isinstance(event := next(self.events), yaml.SequenceEndEvent):
            items.append(self.node(event, depth + 1))
        found = tree.of_items(items)
        return Sequence(_place(start), tuple(found), 1 + sum(item.size for item in found))

    def mapping(self, start: yaml.Event, depth: int) -> Mapping:
        entries: dict[str, Entry] = {}
        repeated: list[tuple[str, Place]] = []
        size = 1
        for key, value in tree.of_keys(self.pairs(depth + 1)):
            name = key.text.strip()
            size += 1 + value.size
            if name in entries:
                repeated.append((name, key.place))
            else:
                entries[name] = Entry(key.place, value)
        return Mapping(_place(start), entries, size, tuple(repeated))

    def pairs(self, depth: int) -> Iterator[tuple[Scalar, Node]]:
        while not isinstance(event := next(self.events), yaml.MappingEndEvent):
            key = self.key(event, depth)
            yield key, self.node(next(self.events), depth)

    def key(self, event: yaml.Event, depth: int) -> Scalar:
        if not isinstance(event, yaml.ScalarEvent):
            raise self.refuse(event, "a key must be plain text", "Write `key: value`.")
        node = self.node(event, depth)
        assert isinstance(node, Scalar)  # noqa: S101  # a scalar event makes a scalar
        return node

    def refuse(self, event: yaml.Event, message: str, hint: str) -> SurveyRefused:
        return refuse(self.file, message, hint, _place(event))


def _place(event: yaml.Event) -> Place:
    mark = event.start_mark
    return Place(mark.line + 1, mark.column + 1) if mark else Place(1, 1)
