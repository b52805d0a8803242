"""The part of the format that holds the readings: the level and the setups of the laser."""

from certgen.survey.fields import LEVEL_SLOPE, POSITION, READING, SLOPE
from certgen.survey.shapes import Forms, Key, LeafOr, ListOf, Named, Section, optional
from certgen.survey.words import Day, Flag, Name, Text

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
