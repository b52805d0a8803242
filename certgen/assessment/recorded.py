"""Results as they were recorded, back into records: what a certificate said, not what would be said today."""

from collections.abc import Mapping
from dataclasses import fields
from typing import Any

from certgen.assessment.assessment import AspectName, Change, Measured, RollAspect, RollResult
from certgen.survey.survey import ROUNDS, Round

_MEASURED = tuple(field.name for field in fields(Measured))


def recorded_rolls(results: Mapping[str, Any]) -> tuple[RollResult, ...]:
    """Return the rolls of a results contract without their moves, in its order.

    KeyError or TypeError where it is none.
    """
    return tuple(
        RollResult(roll["id"], level=_aspect(roll["level"]), parallel=_aspect(roll["parallel"]))
        for roll in results["rolls"]
    )


def recorded_doubt(results: Mapping[str, Any], name: AspectName) -> frozenset[tuple[str, Round]]:
    """Return the rolls and rounds whose result of an aspect was in doubt; none where none is said to be."""
    return frozenset(
        (roll["id"], which)
        for roll in results["rolls"]
        for which in ROUNDS
        if roll[name][which].get("in_doubt", False)
    )


def _aspect(said: Mapping[str, Any]) -> RollAspect:
    change = said["change"]
    return RollAspect(
        as_found=_state(said["as_found"]),
        as_left=_state(said["as_left"]),
        adjusted=bool(said["as_left"]["adjusted"]),  # None where nothing was measured as left
        change=None if change is None else Change(**change),
        reasons={which: said[which]["reason"] for which in ROUNDS if said[which].get("reason") is not None},
    )


def _state(said: Mapping[str, Any]) -> Measured | None:
    if said["slope_mm_per_m"] is None:
        return None
    return Measured(**{name: said[name] for name in _MEASURED if name in said})
