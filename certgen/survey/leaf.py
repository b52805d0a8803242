"""What every kind of single value has in common."""

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
