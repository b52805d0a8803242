"""Rolls that the solved network puts where no roll of a line can be: a unit slipped in one of their setups.

Readings of several rolls in one setup are held against each other before anything is solved. What that
cannot see is a setup of one roll, which only monuments or another setup tie to the reference.
"""

from collections.abc import Iterator

from certgen.engine import parallel
from certgen.engine.kept import kept
from certgen.engine.network import Network
from certgen.findings import Finding, Place
from certgen.survey.fields import STEEPEST_READING_MM_PER_M
from certgen.survey.figures import short
from certgen.survey.survey import Round, Setup, Survey

_HINT = "Check the readings of rolls and monuments there and their units: has a unit slipped?"


def steep(survey: Survey, network: Network) -> tuple[Finding, ...]:
    """Return an error for every setup that puts a roll over 100 mm/m from the reference."""
    slopes = {
        key: network.values[unknown]
        for key, unknown in parallel.measured(kept(survey)).items()
        if unknown is not None
    }
    return tuple(
        finding
        for index, setup in enumerate(kept(survey).setups)
        for finding in _worst(survey, f"setups[{index}]", setup, slopes)
    )


def _worst(
    survey: Survey, where: str, setup: Setup, slopes: dict[tuple[str, Round], float]
) -> Iterator[Finding]:
    read = [(reading.roll, reading.round) for reading in setup.readings]
    found = [(abs(slopes[key]), key[0]) for key in read if key in slopes]
    slope, roll = max(found, default=(0.0, ""))
    if slope > STEEPEST_READING_MM_PER_M:
        put = f"setup {setup.id} puts roll {roll} {short(slope)} mm/m from the reference"
        message = f"{put}, over {STEEPEST_READING_MM_PER_M:g} mm/m"
        yield Finding("error", survey.places.get(where, Place(1, 1)), where, message, _HINT)
