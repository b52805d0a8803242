"""The JSON Schema says what the checker says, as far as a schema can."""

import re
from pathlib import Path
from typing import Any

import pytest
import yaml
from jsonschema import Draft202012Validator

from certgen.resources import sample_surveys, templates
from certgen.survey.schema import SURVEY, schema
from certgen.survey.sections import Forms, Leaf, LeafOr, ListOf, Named, Section, Shape

FAULTY = Path(__file__).parent.parent / "faulty_surveys"


class CoreLoader(yaml.SafeLoader):
    """A loader as an editor has it: days and clock times stay text."""


CoreLoader.yaml_implicit_resolvers = {
    letter: [(tag, pattern) for tag, pattern in resolvers if not tag.endswith(":timestamp")]
    for letter, resolvers in yaml.SafeLoader.yaml_implicit_resolvers.items()
}


def faults(path: Path) -> list[str]:
    """Return what the schema finds wrong with a file."""
    data = yaml.load(path.read_text(encoding="utf-8"), Loader=CoreLoader)  # noqa: S506  # a safe loader with fewer types
    return [error.message for error in Draft202012Validator(schema()).iter_errors(data)]


def sections(described: Any) -> list[dict[str, Any]]:
    """Return every object with known keys anywhere in a schema."""
    if isinstance(described, list):
        return [one for item in described for one in sections(item)]
    if not isinstance(described, dict):
        return []
    own = [described] if "properties" in described and described.get("type") == "object" else []
    return [*own, *(one for item in described.values() for one in sections(item))]


def keys(shape: Shape) -> set[str]:
    """Return every key of the format below a shape."""
    match shape:
        case Section():
            return {key.name for key in shape.keys}.union(*(keys(key.shape) for key in shape.keys))
        case Forms():
            return set().union(*(keys(form) for form in shape.variants))
        case ListOf():
            return keys(shape.item)
        case Named():
            return keys(shape.value)
        case LeafOr():
            return keys(shape.section)
        case _:
            return set()


def test_schema_is_valid() -> None:
    """It is a schema of draft 2020-12."""
    Draft202012Validator.check_schema(schema())


def test_schema_knows_every_key_and_no_other() -> None:
    """Every key is described, and unknown ones are refused everywhere."""
    found = sections(schema())
    assert {name for section in found for name in section["properties"]} == keys(SURVEY)
    assert all(section["additionalProperties"] is False for section in found)
    assert all(one["description"] for section in found for one in section["properties"].values())


@pytest.mark.parametrize(
    "path", [templates() / "survey.yaml", FAULTY / "sound.yaml", *sorted(sample_surveys().glob("*.yaml"))]
)
def test_schema_accepts_sound_surveys(path: Path) -> None:
    """The scaffold, the samples and the base of the faulty ones."""
    assert faults(path) == []


@pytest.mark.parametrize(
    "name",
    [
        "unknown_key_roll",
        "missing_key",
        "missing_section",
        "group_where_list_belongs",
        "wrong_choice",
        "wrong_version",
        "wrong_flag",
        "wrong_date",
        "unknown_unit",
        "decimal_comma",
        "sum",
        "feet_and_inches",
        "power",
        "diameter_zero",
        "two_references",
        "coverage_both",
        "half_width_without_shape",
        "adjusted_by_bare_number",
        "no_shims",
        "no_readings",
    ],
)
def test_schema_refuses_faulty_surveys(name: str) -> None:
    """What a schema can see, an editor underlines."""
    assert faults(FAULTY / f"{name}.yaml") != []


def test_scaffold_names_the_schema_first() -> None:
    """An editor finds the schema beside the file."""
    first = (templates() / "survey.yaml").read_text(encoding="utf-8").splitlines()[0]
    assert first == "# yaml-language-server: $schema=certgen-survey.schema.json"


def test_scaffold_states_the_signs_where_readings_are_entered() -> None:
    """The rule of signs stands above the level and above the setups."""
    text = (templates() / "survey.yaml").read_text(encoding="utf-8")
    assert re.search(r"SIGNS[^\n]*drive side is high[^\n]*\n(#[^\n]*\n)+level:", text)
    assert re.search(r"SIGNS as `positive:`[^\n]*\nsetups:", text)
    assert re.search(r"SIGNS[^\n]*downstream(.|\n)*\npositive:", text)


def test_definitions_have_names_of_their_own() -> None:
    """Two kinds of value that differ never share a definition."""
    described = schema()
    definitions = described["$defs"]
    assert isinstance(definitions, dict)
    for leaf in leaves(SURVEY):
        if "pattern" in str(leaf.json()):
            assert leaf.json() in definitions.values()


def leaves(shape: Shape) -> list[Leaf]:
    """Return every kind of single value below a shape."""
    match shape:
        case Section():
            return [leaf for key in shape.keys for leaf in leaves(key.shape)]
        case Forms():
            return [leaf for form in shape.variants for leaf in leaves(form)]
        case ListOf():
            return leaves(shape.item)
        case Named():
            return leaves(shape.value)
        case LeafOr():
            return [shape.leaf, *leaves(shape.section)]
        case _:
            return [shape]
