"""The kinds of value that several parts of the format share."""

from certgen.survey.quantities import Quantity, Stretch
from certgen.survey.shapes import Forms, Key, LeafOr, Section, optional
from certgen.survey.words import Choice, Degrees, Factor, Name, Text, Whole

# beyond these a unit has slipped: no laser target and no level reads so far
LARGEST_READING_MM = 1000.0
STEEPEST_READING_MM_PER_M = 100.0
LONGEST_LINE_MM = 1e7
_LARGEST_SCALE = 0.1
_METRE = "1 m"
_STEEP = "100 mm/m"

READING = Quantity(("length",), "readings", "any", LARGEST_READING_MM, _METRE)
AMOUNT = Quantity(("length",), None, "any", LARGEST_READING_MM, _METRE)
TRAVEL = Quantity(("length",), None, "not negative", LARGEST_READING_MM, _METRE)
POSITION = Quantity(("length",), "dimensions", "any", LONGEST_LINE_MM, "10 km")
SIZE = Quantity(("length",), "dimensions", "positive", LONGEST_LINE_MM, "10 km")
STEP = Quantity(("length",), None, "positive", LARGEST_READING_MM, _METRE)
THICKNESS = Quantity(("length",), None, "positive", LARGEST_READING_MM, _METRE)
TEMPERATURE = Quantity(("temperature",), "temperature")
SLOPE = Quantity(("slope", "angle"), None, "any", STEEPEST_READING_MM_PER_M, _STEEP)
LEVEL_SLOPE = Quantity(("slope", "angle", "division"), None, "any", STEEPEST_READING_MM_PER_M, _STEEP)
SENSITIVITY = Quantity(("slope", "angle"), None, "positive", STEEPEST_READING_MM_PER_M, _STEEP)
LIMIT = Quantity(("slope", "angle", "length"), None, "positive", LARGEST_READING_MM, "1 m or 1 m/m")
WEB_FRACTION = Quantity(("percent",), None, "positive", 1.0, "100 %")
PROBABILITY = Quantity(("percent",), None, "positive", 0.999999, "99.9999 %")
TENSION = Quantity(("tension",), None, "positive", 1e4, "10 kN/mm")
MODULUS = Quantity(("modulus",), None, "positive", 1e7, "10 000 GPa")
OVER = Stretch(("bearings", "face"), SIZE)
ADJUSTABLE = ("none", "operator", "drive", "both")
SHARED = ("line", "setup", "roll", "reading")
SPREADS = ("rectangular", "triangular", "u_shaped")
TARGETS = Section(
    (
        Key("operator", POSITION, "the target on the operator side"),
        Key("drive", POSITION, "the target on the drive side"),
    )
)


def uncertainty_of_length() -> Forms:
    """Return the forms of an uncertainty in length."""
    return _forms(Quantity(("length",), "readings", "not negative", LARGEST_READING_MM, _METRE))


def repeatability() -> Forms:
    """Return the forms of the repeatability: as of any length, or from the survey's repeated readings."""
    source = Key("from", Choice(("repeats",)), "repeats: the scatter of the readings that were repeated")
    return Forms((*uncertainty_of_length().variants, Section((source,))))


def amount_with_uncertainty() -> LeafOr:
    """Return an amount, or that amount as `value` with its uncertainty beside it."""
    value = Key("value", AMOUNT, "the amount itself")
    forms = _forms(Quantity(("length",), None, "positive", LARGEST_READING_MM, _METRE)).variants
    return LeafOr(AMOUNT, Forms(tuple(Section((value, *form.keys)) for form in forms)))


def uncertainty_of_run_out() -> Forms:
    """Return the forms of a run-out, each with the number of angles at which a roll was read."""
    angles = optional("angles", Whole(1), "at how many angles of the roll its seatings were read in turn")
    forms = _forms(Quantity(("length",), None, "positive", LARGEST_READING_MM, _METRE)).variants
    return Forms(tuple(Section((*form.keys, angles)) for form in forms))


def uncertainty_of_scale() -> Forms:
    """Return the forms of the uncertainty of a scale, a share of what is read."""
    return _forms(Quantity(("percent",), None, "positive", _LARGEST_SCALE, "10 %"))


def other_uncertainty() -> Forms:
    """Return the forms of a further source of uncertainty, a slope, with what it applies to."""
    said = (
        Key("name", Name(), "what it is, as the budget prints it"),
        Key("applies", Choice(("level", "parallel")), "which aspect it enters"),
        Key("shared", Choice(SHARED), "what has one and the same error: the whole line, a setup, a roll"),
        optional("source", Text(), "where the figure comes from"),
    )
    forms = _forms(Quantity(SLOPE.kinds, None, "positive", STEEPEST_READING_MM_PER_M, _STEEP)).variants
    return Forms(tuple(Section((*said, *form.keys)) for form in forms))


def uncertainty_of_level() -> Forms:
    """Return the forms of an uncertainty in slope that may be in divisions."""
    return _forms(Quantity(LEVEL_SLOPE.kinds, None, "not negative", STEEPEST_READING_MM_PER_M, _STEEP))


def uncertainty_of_slope() -> Forms:
    """Return the forms of an uncertainty in slope."""
    return _forms(Quantity(SLOPE.kinds, None, "not negative", STEEPEST_READING_MM_PER_M, _STEEP))


def _forms(size: Quantity) -> Forms:
    half_width = Key("half_width", size, "half of the distance between the bounds")
    shape = Key("shape", Choice(SPREADS), "how values spread between the bounds")
    expanded = Key("expanded", size, "an expanded uncertainty, as a calibration certificate states it")
    factor = Key("k", Factor(), "the coverage factor of that expanded uncertainty")
    standard = Key("standard", size, "the standard uncertainty itself")
    dof = optional("dof", Degrees(), "its degrees of freedom; where not stated it counts as exactly known")
    return Forms(
        (Section((standard, dof)), Section((half_width, shape, dof)), Section((expanded, factor, dof)))
    )
