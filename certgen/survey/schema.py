"""The survey format as data: every key with its kind and what it means; the same as a JSON Schema.

The checker and the JSON Schema are both made from this table and its sibling for the readings, so neither
knows a key that the other does not.
"""

import json

from certgen.survey.fields import (
    ADJUSTABLE,
    AMOUNT,
    LEVEL,
    LIMIT,
    MODULUS,
    OVER,
    POSITION,
    PROBABILITY,
    SENSITIVITY,
    SETUP,
    SIZE,
    STEP,
    TARGETS,
    TEMPERATURE,
    TENSION,
    THICKNESS,
    TRAVEL,
    WEB_FRACTION,
    amount_with_uncertainty,
    other_uncertainty,
    repeatability,
    uncertainty_of_length,
    uncertainty_of_level,
    uncertainty_of_run_out,
    uncertainty_of_scale,
    uncertainty_of_slope,
)
from certgen.survey.quantities import Interval, Quantity
from certgen.survey.scalar_kinds import (
    LONGEST_NAME,
    Choice,
    Country,
    Day,
    Factor,
    Name,
    Text,
    UnitName,
    Version,
    Whole,
)
from certgen.survey.sections import Forms, Json, Key, Leaf, LeafOr, ListOf, Named, Section, Shape, optional

# what identifies something stands on one line; addresses, reasons and notes may have several
LINE_OF_TEXT = Text(lines=False)
CERTIFICATE = Section(
    (
        Key("number", LINE_OF_TEXT, "the number of the certificate"),
        Key("revision", Whole(), "0 for the first issue, one more for each that replaces it"),
        Key("issued", Day(), "the day of issue"),
        Key("units", Choice(("mm", "in", "both")), "the units the certificate prints"),
        optional("supersedes", LINE_OF_TEXT, "from revision 1 on: the certificate that this one replaces"),
        optional("reason", Text(), "from revision 1 on: why it was replaced, and what changed"),
        optional("paper", Choice(("A5", "A4", "A3", "letter")), "the paper size; A4 where not stated"),
    )
)
CONTRACTOR = Section(
    (
        Key("name", LINE_OF_TEXT, "the firm that surveyed the line"),
        Key("address", Text(), "its postal address"),
        Key("contact", Text(), "how to reach it"),
        Key("surveyed_by", LINE_OF_TEXT, "who took the readings"),
        Key("approved_by", LINE_OF_TEXT, "who authorises the certificate"),
    )
)
CUSTOMER = Section(
    (
        Key("name", LINE_OF_TEXT, "the firm the line belongs to"),
        Key("address", Text(), "its postal address"),
        Key("contact", Text(), "how to reach it"),
        Key("order", LINE_OF_TEXT, "the order the work was done under"),
    )
)
LINE = Section(
    (
        Key("name", LINE_OF_TEXT, "the roll line or the part of it that was surveyed"),
        Key("asset", LINE_OF_TEXT, "its identification at the plant"),
        Key("location", LINE_OF_TEXT, "where it stands"),
        optional("country", Country(), "its country by two letters (ISO 3166-1), which --dcc asks for"),
    )
)
NEXT_VISIT = Section(
    (
        Key("by", Day(), "the day by which the line should be surveyed again"),
        Key("why", LINE_OF_TEXT, "the reason for that day"),
    )
)
VISIT = Section(
    (
        Key("started", Day(), "the first day of the work"),
        Key("finished", Day(), "the last day of the work"),
        optional("interval", Interval(), "how often the plant has this line surveyed, for example 12 months"),
        optional("next", NEXT_VISIT, "when the contractor advises the next survey, and why"),
    )
)
UNITS = Section(
    (
        optional("readings", UnitName("length"), "the unit of a bare reading: rolls, monuments and heights"),
        optional(
            "dimensions", UnitName("length"), "the unit of a bare size or position: stations, faces, targets"
        ),
        optional("temperature", UnitName("temperature"), "the unit of a bare temperature"),
    )
)
CONDITIONS = Section(
    (
        optional("temperature", TEMPERATURE, "the temperature around the line during the work"),
        optional("notes", Text(), "what else may have influenced the readings"),
    )
)
INSTRUMENT = Section(
    (
        Key("id", Name(), "the name by which the survey refers to it"),
        Key("kind", LINE_OF_TEXT, "what it is"),
        Key("serial", LINE_OF_TEXT, "its serial number"),
        Key("calibrated", Day(), "the day of its last calibration"),
        Key("due", Day(), "the day by which it must be calibrated again"),
        Key("traceable_to", LINE_OF_TEXT, "the certificate its calibration stands on"),
        optional("sensitivity", SENSITIVITY, "of a level: the slope of one division"),
        optional(
            "scale", uncertainty_of_scale(), "how far its scale may be off, as a share of what it reads"
        ),
    )
)
COVERAGE = Forms(
    (
        Section((Key("k", Factor(), "the coverage factor of every expanded uncertainty"),)),
        Section((Key("probability", PROBABILITY, "the coverage probability, for example 95 %"),)),
    )
)
UNCERTAINTY = Section(
    (
        optional("reading", uncertainty_of_length(), "the read-out of the laser's target, each reading"),
        optional("repeatability", repeatability(), "repeating a reading of a roll or monument"),
        optional("seating", uncertainty_of_length(), "setting the target on a roll, each time"),
        optional("level", uncertainty_of_level(), "each slope reading with the level"),
        optional(
            "level_zero", uncertainty_of_level(), "the zero error of a level that was never read reversed"
        ),
        optional(
            "level_plane",
            uncertainty_of_slope(),
            "the tilt of the plane that heights are read over, each round",
        ),
        optional("squareness", uncertainty_of_slope(), "the squareness of the laser's two planes"),
        optional("other", ListOf(other_uncertainty(), 1), "further sources, each an error of slope"),
        Key("coverage", COVERAGE, "how an expanded uncertainty is made from a standard uncertainty"),
    )
)
TOLERANCE = Section(
    (
        Key("limit", LIMIT, "the largest allowed error: a slope, or a length together with `over`"),
        optional("over", OVER, "what a limit in length holds over: bearings, face or a length"),
    )
)
PARALLEL_TOLERANCE = Forms(
    (
        TOLERANCE,
        Section((Key("web_fraction", WEB_FRACTION, "a share of the slope at which one edge goes slack"),)),
    )
)
TOLERANCES = Section(
    (
        optional("level", TOLERANCE, "how far a roll may be from level"),
        optional("parallel", PARALLEL_TOLERANCE, "how far a roll may be from parallel to the reference"),
        optional("adjacent", TOLERANCE, "how far a roll may be from parallel and level to the one before it"),
    )
)
REFERENCE = Forms(
    (
        Section((Key("roll", Name(), "the roll that all others are measured against"),)),
        Section((Key("monuments", ListOf(Name(), 1), "the monuments of an established offset line"),)),
    )
)
POSITIVE = Section(
    (
        optional("roll", Choice(("downstream", "upstream")), "which way a positive reading of a roll means"),
        optional(
            "monument", Choice(("drive", "operator")), "which side a positive reading of a monument means"
        ),
    )
)
_BEARING_GROWTH = Section(
    (
        optional(
            "up", amount_with_uncertainty(), "how far the bearing rises between this survey and running"
        ),
        optional(
            "downstream",
            amount_with_uncertainty(),
            "how far the bearing moves downstream between this survey and running",
        ),
    )
)
GROWTH = Section(
    (
        optional("operator", _BEARING_GROWTH, "the operator-side bearing"),
        optional("drive", _BEARING_GROWTH, "the drive-side bearing"),
    )
)
_BEARING_TRAVEL = Section(
    (
        optional("up", TRAVEL, "how far it can be raised from where it was found"),
        optional("down", TRAVEL, "how far it can be lowered"),
        optional("upstream", TRAVEL, "how far it can be moved upstream"),
        optional("downstream", TRAVEL, "how far it can be moved downstream"),
    )
)
TRAVELS = Forms(
    (
        _BEARING_TRAVEL,
        Section(
            (
                optional("operator", _BEARING_TRAVEL, "the operator-side bearing"),
                optional("drive", _BEARING_TRAVEL, "the drive-side bearing"),
            )
        ),
    )
)
ROLL = Section(
    (
        Key("id", Name(), "the name by which the survey refers to it"),
        Key("name", LINE_OF_TEXT, "what the plant calls it"),
        Key("station", POSITION, "its place along the machine, positive downstream"),
        Key("height", POSITION, "the height of its axis"),
        Key("diameter", SIZE, "its diameter"),
        Key("face", SIZE, "the length of its face"),
        Key("bearings", SIZE, "the distance between its bearing centres"),
        Key("adjustable", Choice(ADJUSTABLE), "which bearing can be moved"),
        optional("targets", TARGETS, "its own target positions, from the operator-side bearing centre"),
        optional("taper", AMOUNT, "its drive-side diameter minus its operator-side diameter over the face"),
        optional("growth", GROWTH, "what its bearings do between this survey and running"),
        optional("run_out", uncertainty_of_run_out(), "how far its surface runs out under the targets"),
        optional("was", Name(), "the id it had before it was renamed; may stay in the surveys that follow"),
        optional("travel", TRAVELS, "how far its bearings can be moved, both alike or each by itself"),
        optional("level", TOLERANCE, "its own tolerance for level"),
        optional("parallel", PARALLEL_TOLERANCE, "its own tolerance for parallel"),
    )
)
MONUMENT = Section(
    (
        Key("id", Name(), "the name by which the survey refers to it"),
        Key("station", POSITION, "its place along the machine, positive downstream"),
    )
)
ADJUSTMENT = Section(
    (
        Key("roll", Name(), "the roll that was moved"),
        Key("side", Choice(("operator", "drive")), "the bearing that was moved"),
        optional("up", AMOUNT, "how far it was raised"),
        optional("downstream", AMOUNT, "how far it was moved downstream"),
        optional("read_to", STEP, "the smallest step of the indicator or feeler that the move was read with"),
    )
)
SHIMS = Section(
    (
        Key("stock", ListOf(THICKNESS, 1), "the shim thicknesses at hand"),
        Key("max", Whole(1), "the most shims in one pack"),
    )
)
WEB = Section(
    (
        Key("width", SIZE, "the width of the web"),
        Key("thickness", THICKNESS, "the thickness of the web"),
        Key("tension", TENSION, "the tension of the web over its width"),
        Key("modulus", MODULUS, "the elastic modulus of the web along the machine"),
        Key("spans", Named(SIZE, "rolls"), "the free span of web before each roll"),
    )
)
SURVEY = Section(
    (
        Key("survey", Version(), "the version of this format: 1"),
        Key("certificate", CERTIFICATE, "what identifies the certificate and how it is printed"),
        Key("contractor", CONTRACTOR, "who surveyed the line"),
        Key("customer", CUSTOMER, "whom the line belongs to"),
        Key("line", LINE, "the roll line"),
        Key("visit", VISIT, "the days of the work"),
        optional("units", UNITS, "what a bare number means"),
        optional("conditions", CONDITIONS, "the surroundings during the work"),
        Key("instruments", ListOf(INSTRUMENT, 1), "the instruments used"),
        Key("uncertainty", UNCERTAINTY, "the uncertainty of one reading, by its sources"),
        Key("tolerances", TOLERANCES, "the tolerances that hold for all rolls"),
        Key("decision", Choice(("simple", "guarded", "four_way")), "the rule by which a verdict is reached"),
        Key("reference", REFERENCE, "what parallel is measured against"),
        optional("positive", POSITIVE, "which way positive readings mean"),
        optional(
            "targets", TARGETS, "where the target is set on every roll, from the operator-side bearing centre"
        ),
        Key("rolls", ListOf(ROLL, 1), "the rolls in the order in which the web meets them"),
        optional("monuments", ListOf(MONUMENT), "the floor monuments"),
        optional("level", LEVEL, "the readings for level"),
        optional("setups", ListOf(SETUP), "the readings for parallel: one entry each time the laser is set"),
        optional("adjustments", ListOf(ADJUSTMENT), "what was really done at the bearings"),
        optional("shims", SHIMS, "the shims at hand"),
        optional("web", WEB, "the web that runs over the rolls"),
        optional("notes", ListOf(Text()), "remarks and deviations for the certificate"),
    )
)
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
                item = self.describe(shape.item)
                listed: Json = {"type": "array", "items": item, "minItems": shape.at_least}
                return {"anyOf": [item, listed]} if shape.single else listed
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

    def _leaf(self, leaf: Leaf) -> Json:
        described = leaf.json()
        if "pattern" not in json.dumps(described):
            return described
        # what a kind is called among the definitions
        if not isinstance(leaf, Quantity):
            name = type(leaf).__name__.lower()
        else:
            words = [*leaf.kinds, leaf.default or "with unit", leaf.sign if leaf.sign != "any" else ""]
            name = " ".join(words).strip().replace(" ", "_")
        self.found[name] = described
        return {"$ref": f"#/$defs/{name}"}
