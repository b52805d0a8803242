"""The survey format as a JSON Schema, made from the same tables as the checker."""

import json

from certgen.survey.leaf import Json, Leaf
from certgen.survey.quantities import Quantity
from certgen.survey.schema import SURVEY
from certgen.survey.shapes import Forms, LeafOr, ListOf, Named, Section, Shape
from certgen.survey.words import LONGEST_NAME

FILE_NAME = "certgen-survey.schema.json"


def schema() -> Json:
    """Return the JSON Schema (draft 2020-12) of a survey file."""
    definitions = _Definitions()
    body = definitions.describe(SURVEY)
    return {
        "$schema": "https://json-schema.org/draft/2020-12/schema",
        "$id": FILE_NAME,
        "title": "Roll-line alignment survey",
        "description": "One visit to one roll line: who, where, with what, what was read before and after.",
        **body,
        "anyOf": [{"required": ["level"]}, {"required": ["setups"]}],
        "$defs": definitions.found,
    }


def schema_text() -> str:
    """Return the JSON Schema as text."""
    return json.dumps(schema(), indent=2) + "\n"


class _Definitions:
    """The kinds of value met so far, each described once and referred to afterwards."""

    def __init__(self) -> None:
        self.found: Json = {}

    def describe(self, shape: Shape) -> Json:
        match shape:
            case Section():
                return self._section(shape)
            case Forms():
                return {"oneOf": [self._section(form) for form in shape.variants]}
            case ListOf():
                return self._list(shape)
            case Named():
                named = self.describe(shape.value)
                names: Json = {"minLength": 1, "maxLength": LONGEST_NAME}
                return {"type": "object", "propertyNames": names, "additionalProperties": named}
            case LeafOr():
                return {"anyOf": [self._leaf(shape.leaf), self.describe(shape.section)]}
            case _:
                return self._leaf(shape)

    def _section(self, section: Section) -> Json:
        properties = {
            key.name: {"description": key.about, **self.describe(key.shape)} for key in section.keys
        }
        required = [key.name for key in section.keys if key.required]
        made: Json = {"type": "object", "additionalProperties": False, "properties": properties}
        return {**made, "required": required} if required else made

    def _list(self, shape: ListOf) -> Json:
        item = self.describe(shape.item)
        listed: Json = {"type": "array", "items": item, "minItems": shape.at_least}
        return {"anyOf": [item, listed]} if shape.single else listed

    def _leaf(self, leaf: Leaf) -> Json:
        described = leaf.json()
        if "pattern" not in json.dumps(described):
            return described
        name = _name(leaf)
        self.found[name] = described
        return {"$ref": f"#/$defs/{name}"}


def _name(leaf: Leaf) -> str:
    """Return what a kind is called among the definitions."""
    if not isinstance(leaf, Quantity):
        return type(leaf).__name__.lower()
    words = [*leaf.kinds, leaf.default or "with unit", leaf.sign if leaf.sign != "any" else ""]
    return " ".join(words).strip().replace(" ", "_")
