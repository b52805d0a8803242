"""The moves of one roll as plain data; the names are a contract. Slopes in mm/m, lengths in mm.

Readings a crew watches are in the survey's own sign (`positive`); a travel without a limit is null. Of a
step, `start_...` is what the far end shows once the near one was zeroed, before the bearing is loosened;
`..._after_mm` what it shows zeroed again after the step.
"""

from collections.abc import Mapping
from dataclasses import asdict
from math import isinf

from certgen.assessment.assessment import ASPECTS, AspectName, Assessment
from certgen.moves.after_moves import AdjustmentCheck, Witness, witness
from certgen.moves.plan import AspectPlan, RollPlan, Stop, plan_of
from certgen.moves.steps import SIDES, Room, ShimPack, Step
from certgen.results.network_results import reading_of

FORMAT = "certgen-moves/1"

Json = dict[str, object]

# the move that counts as positive, and its opposite
_WAYS: Mapping[AspectName, tuple[str, str]] = {
    "level": ("up", "down"),
    "parallel": ("downstream", "upstream"),
}


def moves(plan: RollPlan, sign: float) -> Json:
    """Return the moves of a roll by aspect; `sign` turns read-outs of rolls into those the crew sees."""
    return {name: _aspect(name, plan.aspect(name), sign) for name in reversed(ASPECTS)}


def checks(found: Mapping[AspectName, AdjustmentCheck]) -> Json | None:
    """Return the check of the reported moves by aspect; None where none were reported or none can be held."""
    if not found:
        return None
    return {name: _check(found[name]) if name in found else None for name in reversed(ASPECTS)}


def _aspect(name: AspectName, plan: AspectPlan | None, sign: float) -> Json | None:
    if plan is None:
        return None
    move = plan.move
    amount: Json = {"side": move.side, f"{_WAYS[name][0]}_mm": move.amount_mm}
    if name == "parallel":
        amount["stop_reading_mm"] = _signed(move.stop_reading_mm, sign)
    else:
        packs = [step.shims for step, _ in plan.steps if step.side == move.side]
        amount["shims"] = _shims(packs[0]) if packs else None
    return {
        **amount,
        "split": _pair(move.split_mm),
        "from": plan.which,
        "needed": plan.needed,
        "beyond_travel": plan.limited,
        "travel": {"limited": plan.limited} | {side: _room(name, plan.rooms[side]) for side in SIDES},
        "steps": [_step(name, step, stop, sign) for step, stop in plan.steps],
        "alternatives": [
            {"way": one.way, "moves": _pair(one.moves_mm), "fits_travel": one.fits}
            for one in plan.alternatives
        ],
        "predicted": asdict(plan.predicted),
        "can_pass": plan.can_pass,
        "held": plan.held,
        "read_again": [reading_of(label) for label in plan.read_again],
        "unchecked": [reading_of(label) for label in plan.unchecked],
    }


def _step(name: AspectName, step: Step, stop: Stop, sign: float) -> Json:
    moved: Json = {"side": step.side, f"{_WAYS[name][0]}_mm": step.amount_mm}
    if name == "parallel":
        return moved | {
            "start_reading_mm": _signed(stop.start_mm, sign),
            "stop_reading_mm": _signed(stop.target_mm, sign),
            "reading_after_mm": _signed(stop.again_mm, sign),
        }
    laid = None if stop.laid is None else _watched(stop.laid)
    starts = {"start_height_mm": stop.start_mm}
    return moved | starts | _watched(stop) | {"shims": _shims(step.shims), "with_shims": laid}


def _signed(value_mm: float | None, sign: float) -> float | None:
    return None if value_mm is None else sign * value_mm


def _watched(stop: Stop) -> Json:
    """What the level shows, or the height at the far end; heights are up in every survey.

    At the slope aimed at in `steps[]`, at the one that the shims bring in `steps[].with_shims`.
    """
    return {
        "stop_level": None if stop.level is None else asdict(stop.level),
        "stop_height_mm": stop.target_mm,
        "height_after_mm": stop.again_mm,
    }


def _room(name: AspectName, room: Room) -> Json:
    return {
        f"{way}_mm": None if isinf(most) else most
        for way, most in zip(_WAYS[name], (room.most_mm, abs(room.least_mm)), strict=True)
    }


def _shims(pack: ShimPack | None) -> Json | None:
    return None if pack is None else asdict(pack) | {"pieces_mm": list(pack.pieces_mm)}


def _pair(pair: tuple[float, float] | None) -> Json | None:
    return None if pair is None else {f"{side}_mm": amount for side, amount in zip(SIDES, pair, strict=True)}


def _check(check: AdjustmentCheck) -> Json:
    return asdict(check) | {"reported_mm": dict(zip(SIDES, check.reported_mm, strict=True))}


def all_moves(assessment: Assessment) -> Json:
    """Return the plan of the whole line: the rolls to move, to read first, to leave, that cannot be moved."""
    sign = assessment.survey.positive.roll_sign
    plan, head = plan_of(assessment), assessment.survey.certificate
    return {
        "format": FORMAT,
        "survey_sha256": assessment.survey.sha256,
        "certificate": {"number": head.number, "revision": head.revision, "issued": head.issued.isoformat()},
        "positive": asdict(assessment.survey.positive),
        "move": [
            {"id": one.roll.id, "name": one.roll.name, "setup": one.setup, "moves": moves(one, sign)}
            for one in plan.moving
        ],
        "not_read": [asdict(one) for one in plan.unread],
        "leave": list(plan.left_alone),
        "not_adjustable": _aspects(plan.not_adjustable),
        "no_room": _aspects(plan.no_room),
        "set_anew": [
            _set_anew(setup, witness(assessment, setup), sign)
            for setup in dict.fromkeys(one.setup for one in plan.moving if one.setup is not None)
        ],
    }


def _set_anew(setup: str, staying: Witness | None, sign: float) -> Json:
    """What a setup's stop readings are corrected by where its laser was set up anew: add today's less this.

    `roll` stays put; `shown_mm` is its other end with the named one zeroed, by the survey. A roll whose
    targets stand at another distance than `targets_apart_mm` takes the difference in that ratio. Null: survey
    again.
    """
    if staying is None:
        return {"setup": setup, "roll": None, "shown_mm": None, "targets_apart_mm": None}
    return {
        "setup": setup,
        "roll": staying.roll.id,
        "shown_mm": {f"{side}_zeroed": sign * shown for side, shown in staying.shown_mm.items()},
        "targets_apart_mm": staying.apart_mm,
    }


def _aspects(found: Mapping[str, tuple[AspectName, ...]]) -> list[Json]:
    return [{"roll": roll, "aspects": list(names)} for roll, names in found.items()]
