"""The kinds of single value with a unit: how each is read, and how the JSON Schema describes it."""

# ruff: noqa: ARG002  # every kind of value answers to the same protocol, and few use all of it

from dataclasses import dataclass
from typing import Literal

from certgen.survey import patterns
from certgen.survey.figures import Wrong, example
from certgen.survey.leaf import Context, Json
from certgen.survey.spellings import Kind
from certgen.survey.units import Measure, measure

Sign = Literal["any", "not negative", "positive"]
SMALLEST = 1e-6  # in any base unit
Default = Literal["readings", "dimensions", "temperature"]


@dataclass(frozen=True, slots=True)
class Quantity:
    """A number with a unit of one of `kinds`; bare, it takes the unit `units:` gives for `default`.

    `at_most` bounds its size in the base unit: beyond it, the unit is more likely wrong than the machine.
    """

    kinds: tuple[Kind, ...]
    default: Default | None = None
    sign: Sign = "any"
    at_most: float | None = None
    bound: str = ""

    def read(self, text: str, context: Context) -> Measure:
        """Return the quantity in its base unit; divisions become a slope."""
        unit = context.units.get(self.default) if self.default else None
        found = _as_slope(measure(text, self.kinds, unit), context)
        self._check_sign(found.value)
        if self.at_most is not None and abs(found.value) > self.at_most:
            raise Wrong(f"this is over {self.bound}", "Check the number and its unit: has a unit slipped?")
        return found

    def _check_sign(self, value: float) -> None:
        if (self.sign == "positive" and value <= 0) or (self.sign == "not negative" and value < 0):
            wanted = "above zero" if self.sign == "positive" else "zero or above"
            raise Wrong(f"this must be {wanted}", f"Write {example(self.kinds)}.")
        if self.sign == "positive" and value < SMALLEST:
            raise Wrong("this is too small to be real", "Check the number and its unit: has a unit slipped?")

    def stand_in(self, number: int) -> Measure:
        """Return a positive quantity that no other stand-in shares."""
        return Measure(float(number), self.kinds[0], "-")

    def json(self) -> Json:
        """Return its JSON Schema: text with a unit, or a bare number where `units:` may give the unit."""
        with_unit: Json = {"type": "string", "pattern": patterns.quantity(self.kinds)}
        if self.default is None:
            return with_unit
        bare: Json = {"type": "number"}
        if self.sign != "any":
            bare["minimum" if self.sign == "not negative" else "exclusiveMinimum"] = 0
        return {"anyOf": [bare, with_unit]}


def _as_slope(found: Measure, context: Context) -> Measure:
    if found.kind != "division":
        return found
    if context.division_mm_per_m is None:
        hint = "Give the level `sensitivity:` in `instruments:`, or write a slope such as 0.02 mm/m."
        raise Wrong("divisions of a level that states no sensitivity", hint)
    return Measure(found.value * context.division_mm_per_m, "slope", found.written)


@dataclass(frozen=True, slots=True)
class Stretch:
    """What a tolerance in length holds over: a size of the roll by its name, or a length."""

    words: tuple[str, ...]
    length: Quantity

    def read(self, text: str, context: Context) -> str | Measure:
        """Return the word, or the length."""
        word = text.strip()
        if word in self.words:
            return word
        if word[:1].isalpha():
            raise Wrong(
                "this is not a length", f"Write {', '.join(self.words)} or a length, {example(('length',))}."
            )
        return self.length.read(text, context)

    def stand_in(self, number: int) -> str:
        """Return the first word."""
        return self.words[0]

    def json(self) -> Json:
        """Return its JSON Schema."""
        return {"anyOf": [{"enum": list(self.words)}, self.length.json()]}
