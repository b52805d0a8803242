"""`certgen aim`: what far reading to aim at, so that after turning both ends read the same."""

import json
from collections.abc import Iterator, Mapping
from dataclasses import asdict, dataclass
from typing import Any

import click

from certgen.cli.io.text_table import text_table
from certgen.cli.quantity_option import LengthUnit, typed
from certgen.document.content import Column, Table
from certgen.errors import WrongUsage
from certgen.moves.stop_readings import Lever, Pivot, Turn, turns
from certgen.survey.fields import AMOUNT, POSITION, SIZE, THICKNESS
from certgen.survey.quantities import Quantity

FORMAT = "certgen-aim/1"

_SAME_MM = 1e-9

_WHY: Mapping[Pivot, str] = {
    "before near": "The pivot stands before the near target: the near end moves the same way as the far one,"
    " by less, so the aim lies past what the near end reads now.",
    "at near": "The pivot stands at the near target: the near end does not move; the aim is what it reads.",
    "between": "The pivot stands between the targets: the near end moves the other way, so the aim lies"
    " between what the two ends read now.",
    "at far": "The pivot stands at the far target: no turn changes what it reads. Watch the near end and turn"
    " until it reads the same.",
    "beyond far": "The pivot stands beyond the far target: the near end moves the same way, by more; the aim"
    " lies past what the far end reads now, away from the near reading.",
}
_MOST_TURNS = 100
_ACCURACY = Quantity(("percent",), None, "positive", 1.99, "199 %")


@dataclass(frozen=True, slots=True)
class Asked:
    """What was asked, in mm and shares; None or empty where it was not.

    `unit` is that of the far reading, `distances` pivot to near and near to far as they were typed.
    """

    lever: Lever
    near_mm: float
    far_mm: float
    reached_mm: float | None
    within_mm: float
    accuracy: float | None
    turns: tuple[Turn, ...]
    unit: LengthUnit
    distances: tuple[str, str]

    @property
    def aim_mm(self) -> float:
        """The far reading to aim at."""
        return self.lever.aim_mm(self.near_mm, self.far_mm)


@dataclass(frozen=True, slots=True)
class AfterTurn:
    """Where a turn led: what the near end reads, far less near, and the aim once near is zeroed again."""

    near_mm: float
    apart_mm: float
    zeroed_aim_mm: float


def plain(asked: Asked) -> dict[str, object]:
    """Return the answer as plain data, lengths in mm."""
    after = _after(asked)
    return {
        "format": FORMAT,
        **asdict(asked.lever),
        "pivot": asked.lever.pivot,
        "near_mm": asked.near_mm,
        "far_mm": asked.far_mm,
        "aim_mm": asked.aim_mm,
        "reached": None if after is None else {"far_mm": asked.reached_mm, **asdict(after)},
        "accuracy": asked.accuracy,
        "within_mm": None if asked.accuracy is None else asked.within_mm,
        "turns": None if asked.accuracy is None else [asdict(each) for each in asked.turns],
    }


def in_words(asked: Asked) -> str:
    """Return the answer for people."""
    pivot, apart = asked.distances
    near, far = (asked.unit.text(reading) for reading in (asked.near_mm, asked.far_mm))
    setting = f"Pivot to near {pivot}, near to far {apart}; the near end reads {near}, the far end {far}."
    parts = [setting, _aim(asked), *_reached(asked), *_table(asked)]
    return "\n".join(parts)


def _after(asked: Asked) -> AfterTurn | None:
    if asked.reached_mm is None:
        return None
    near = asked.lever.near_after_mm(asked.near_mm, asked.far_mm, asked.reached_mm)
    apart = asked.reached_mm - near
    return AfterTurn(near, apart, asked.lever.aim_mm(0.0, apart))


def _aim(asked: Asked) -> str:
    if abs(asked.far_mm - asked.near_mm) < _SAME_MM:
        return "Both ends read the same: nothing to turn."
    aim = asked.unit.text(asked.aim_mm)
    what = "The near end" if asked.lever.pivot == "at far" else "The far end"
    return f"{what} is to read {aim}: then both ends read the same.\n{_WHY[asked.lever.pivot]}"


def _reached(asked: Asked) -> Iterator[str]:
    after = _after(asked)
    if after is None or asked.reached_mm is None:
        return
    far, near, apart = (asked.unit.text(each) for each in (asked.reached_mm, after.near_mm, after.apart_mm))
    aim, zeroed = asked.unit.text(asked.aim_mm), asked.unit.text(after.zeroed_aim_mm)
    yield ""
    yield f"The far end reached {far}: the near end then reads {near}, and the ends differ by {apart}."
    yield f"Without zeroing again, the aim stays {aim}."
    yield f"With the near end zeroed again, the far end reads {apart}: aim at {zeroed}."


def _table(asked: Asked) -> Iterator[str]:
    if asked.accuracy is None:
        return
    yield ""
    within = asked.unit.text(asked.within_mm, signed=False)
    if not asked.turns:
        yield f"The ends agree within {within} already."
        return
    count = "1 turn" if len(asked.turns) == 1 else f"{len(asked.turns)} turns"
    reached = f"{100.0 * asked.accuracy:g} %"
    yield f"With {reached} of each turn reached, the ends agree within {within} after {count}."
    titles = ("Far reads", "Aim", "Reached", "Near then", "Apart")
    rows = (
        (str(number), *(asked.unit.number(value) for value in asdict(each).values()))
        for number, each in enumerate(asked.turns, 1)
    )
    note = f"In {asked.unit.sign}; the near end is zeroed before each turn."
    turn_table = Table("", (Column("Turn", "left"), *map(Column, titles)), tuple(rows), note)
    yield text_table(turn_table)


@click.command(
    epilog="""\b
Examples:
  certgen aim --pivot-to-near 310mm --near-to-far 2.4m --far 0.82mm
  certgen aim --pivot-to-near 12.5in --near-to-far 15.5in --far 118thou --reached -80thou
  certgen aim --pivot-to-near 310mm --near-to-far 2.4m --far 0.82mm --accuracy 90% --within 0.02mm
  certgen aim --pivot-to-near -400mm --near-to-far 2.4m --far 0.82mm --near 0.1mm --json"""
)
@click.option(
    "--pivot-to-near",
    metavar="LENGTH",
    callback=typed(POSITION),
    required=True,
    help="From the pivot to the near target, counted towards the far one: negative where the pivot stands"
    " between the targets or beyond the far one.",
)
@click.option(
    "--near-to-far",
    metavar="LENGTH",
    callback=typed(SIZE),
    required=True,
    help="From the near target to the far one.",
)
@click.option(
    "--far", metavar="LENGTH", callback=typed(AMOUNT), required=True, help="What the far end reads."
)
@click.option(
    "--near",
    metavar="LENGTH",
    callback=typed(AMOUNT),
    default="0 mm",
    show_default=True,
    help="What the near end reads.",
)
@click.option(
    "--reached", metavar="LENGTH", callback=typed(AMOUNT), help="What the far end really read after a turn."
)
@click.option(
    "--accuracy",
    metavar="PERCENT",
    callback=typed(_ACCURACY),
    help="How much of its way a turn really goes: 90%; then say how many turns it takes.",
)
@click.option(
    "--within",
    metavar="LENGTH",
    callback=typed(THICKNESS),
    default="0.02 mm",
    show_default=True,
    help="How near to each other both ends shall read; with --accuracy.",
)
@click.option("--json", "as_json", is_flag=True, help="Print the result as JSON.")
def command(as_json: bool, **stated: Any) -> None:
    """Say what far reading to aim at, so that after turning both ends read the same.

    For a laser that is set on two targets, and for a roll that turns about one bearing. A LENGTH is a number
    with its unit; readings are printed in the unit of --far.
    """
    lever = Lever(stated["pivot_to_near"].value, stated["near_to_far"].value)
    reached, accuracy = stated["reached"], stated["accuracy"]
    if reached is not None and lever.pivot == "at far":
        message = "--reached: with the pivot at the far target no turn changes its reading."
        raise WrongUsage(f"{message} Watch the near end instead.")
    near, far, within = (stated[name].value for name in ("near", "far", "within"))
    asked = Asked(
        lever=lever,
        near_mm=near,
        far_mm=far,
        reached_mm=None if reached is None else reached.value,
        within_mm=within,
        accuracy=None if accuracy is None else accuracy.value,
        turns=() if accuracy is None else _turns(lever, far - near, accuracy.value, within),
        unit=LengthUnit.of(stated["far"]),
        distances=(stated["pivot_to_near"].written, stated["near_to_far"].written),
    )
    click.echo(json.dumps(plain(asked), indent=2) if as_json else in_words(asked))


def _turns(lever: Lever, apart_mm: float, accuracy: float, within_mm: float) -> tuple[Turn, ...]:
    made: list[Turn] = []
    for each in turns(lever, apart_mm, accuracy, within_mm):
        if len(made) == _MOST_TURNS:
            hint = "Check --accuracy and --within."
            raise WrongUsage(
                f"After {_MOST_TURNS} turns of that accuracy the ends would still differ. {hint}"
            )
        made.append(each)
    return tuple(made)
