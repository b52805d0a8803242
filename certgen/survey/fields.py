"""The kinds of value that several parts of the format share, and the part of it that holds the readings."""

from certgen.survey.quantities import Quantity, Stretch
from certgen.survey.scalar_kinds import Choice, Day, Degrees, Factor, Flag, Name, Text, Whole
from certgen.survey.sections import Forms, Key, LeafOr, ListOf, Named, Section, optional

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
_EXCLUDE = optional(
    "exclude",
    Section((Key("reason", Text(), "why the reading is set aside"),)),
    "sets the reading aside openly: it takes no part in the result, and the certificate lists it",
)
_END = ListOf(READING, 1, single=True)
_SLOPE_READING = Section(
    (
        optional(
            "at", POSITION, "the place along the roll, from the operator-side bearing centre; else the middle"
        ),
        Key("reading", LEVEL_SLOPE, "positive: the drive side is high"),
        optional(
            "reversed", LEVEL_SLOPE, "the level turned end for end; positive still: the drive side is high"
        ),
        _EXCLUDE,
    )
)
_HEIGHT_READING = Section(
    (
        Key("operator", _END, "the height of the operator-side end over the level plane, positive up"),
        Key("drive", _END, "the height of the drive-side end over the level plane, positive up"),
        _EXCLUDE,
    )
)
_LEVEL_ROUND = Named(ListOf(Forms((_SLOPE_READING, _HEIGHT_READING)), 1, single=True), "rolls")
LEVEL = Section(
    (
        Key("instrument", Name(), "the level, by its id"),
        optional("as_found", _LEVEL_ROUND, "what was read before anything was moved, by roll"),
        optional("as_left", _LEVEL_ROUND, "what was read after, by roll"),
    )
)
_ROLL_READING = Section(
    (
        Key(
            "operator",
            _END,
            "the reading at the operator-side target, positive as `positive:` says; a list: repeated",
        ),
        Key(
            "drive",
            _END,
            "the reading at the drive-side target, positive as `positive:` says; a list: repeated",
        ),
        _EXCLUDE,
    )
)
_SETUP_ROUND = Named(ListOf(_ROLL_READING, 1, single=True), "rolls")
_MONUMENT_READING = Section((Key("reading", READING, "positive as `positive:` says"), _EXCLUDE))
_LEVEL_CHECK = Section(
    (
        Key("before", SLOPE, "before the readings"),
        Key("after", SLOPE, "after the readings"),
    )
)
SETUP = Section(
    (
        Key("id", Name(), "the name of the setup"),
        optional("instrument", Name(), "the laser, by its id; may be left out where there is one"),
        optional("date", Day(), "the day of the setup, where the visit took several"),
        optional("reversed", Flag(), "true where the laser's two planes were used the other way round"),
        optional("level_check", _LEVEL_CHECK, "the level of the laser's planes before and after"),
        optional(
            "monuments",
            Named(ListOf(LeafOr(READING, _MONUMENT_READING), 1, single=True), "monuments"),
            "the monuments read, by id; a list: read again, first before the rolls and last after them",
        ),
        optional("as_found", _SETUP_ROUND, "what was read before anything was moved, by roll"),
        optional("as_left", _SETUP_ROUND, "what was read after, by roll"),
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
