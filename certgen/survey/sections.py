"""What values have in common, and what groups them: sections of known keys, lists, groups keyed by name."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Protocol

Json = dict[str, object]


@dataclass(frozen=True, slots=True)
class Context:
    """What the rest of the file says about its quantities.

    `units` is the unit of a bare number by kind of use; `division_mm_per_m` the slope of one division of
    the level (None where the level states none).
    """

    units: dict[str, str] = field(default_factory=dict)
    division_mm_per_m: float | None = None


class Leaf(Protocol):
    """A kind of single value."""

    def read(self, text: str, context: Context) -> object:
        """Return the value that `text` states. Raises Wrong."""

    def stand_in(self, number: int) -> object:
        """Return a value of the right type; `number` keeps stand-ins apart."""

    def json(self) -> Json:
        """Return its JSON Schema."""


@dataclass(frozen=True, slots=True)
class Key:
    """One key of a section. `about` is its description in the JSON Schema and in messages."""

    name: str
    shape: "Shape"
    about: str
    required: bool = True


@dataclass(frozen=True, slots=True)
class Section:
    """A group of known keys."""

    keys: tuple[Key, ...]

    def named(self) -> Mapping[str, Key]:
        """Return the keys by name."""
        return {key.name: key for key in self.keys}


@dataclass(frozen=True, slots=True)
class Forms:
    """A group of keys in one of several forms."""

    variants: tuple[Section, ...]


@dataclass(frozen=True, slots=True)
class ListOf:
    """A list; `single` says that one item may stand without the list."""

    item: "Shape"
    at_least: int = 0
    single: bool = False


@dataclass(frozen=True, slots=True)
class Named:
    """A group whose keys are names declared elsewhere in the file: `names` says of what."""

    value: "Shape"
    names: str


@dataclass(frozen=True, slots=True)
class LeafOr:
    """A single value, or a group of keys that says more of it."""

    leaf: Leaf
    section: Section | Forms


Shape = Leaf | Section | Forms | ListOf | Named | LeafOr


def optional(name: str, shape: Shape, about: str) -> Key:
    """Return a key that may be left out."""
    return Key(name, shape, about, required=False)
