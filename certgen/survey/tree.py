"""The survey file as a tree in which every key and value knows its line and column.

Scalars stay text, so that `NO`, `012`, `12:30` and dates mean what was written; the schema decides how
each is read.
"""

from collections.abc import Mapping as Dictionary
from dataclasses import dataclass, field

from certgen.findings import Place

LONGEST_ECHO = 60


@dataclass(frozen=True, slots=True)
class Scalar:
    """One value as text, its letters composed (Unicode NFC).

    `plain` is False where it was quoted or written as a block. `end` is the place after it. `comma` says
    that YAML parted it at a comma that was probably meant as a decimal one.
    """

    place: Place
    text: str
    plain: bool = True
    size: int = 1
    end: Place | None = field(default=None, compare=False)
    comma: bool = False


@dataclass(frozen=True, slots=True)
class Sequence:
    """A list. `size` counts the nodes below, aliases expanded, and itself."""

    place: Place
    items: tuple["Node", ...]
    size: int


@dataclass(frozen=True, slots=True)
class Entry:
    """One key of a mapping with its value."""

    place: Place
    value: "Node"


@dataclass(frozen=True, slots=True)
class Mapping:
    """Keys and values in file order; `size` as for a list. `repeated` holds each second use of a key."""

    place: Place
    entries: Dictionary[str, Entry]
    size: int
    repeated: tuple[tuple[str, Place], ...] = ()


Node = Scalar | Sequence | Mapping


def echo(text: str) -> str:
    """Return user text fit for a message: one line, printable, at most about 60 characters."""
    head = "".join(c if c.isprintable() else " " for c in text[: LONGEST_ECHO + 1])
    return head if len(text) <= LONGEST_ECHO else head[: LONGEST_ECHO - 1] + "…"


def describe(node: Node) -> str:
    """Return what stands there, for the `got` of a finding."""
    if isinstance(node, Scalar):
        return echo(node.text) if node.text else "nothing"
    return "a list" if isinstance(node, Sequence) else "a group of keys"
