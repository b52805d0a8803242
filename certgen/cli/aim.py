"""`certgen aim`: what far reading to aim at, so that after turning both ends read the same."""

import json
from typing import Any

import click

from certgen.cli.aim_text import Asked, in_words, plain
from certgen.cli.typed import LengthUnit, typed
from certgen.engine.aim import Lever, Turn, turns
from certgen.errors import WrongUsage
from certgen.survey.fields import AMOUNT, POSITION, SIZE, THICKNESS
from certgen.survey.quantities import Quantity

_MOST_TURNS = 100
_ACCURACY = Quantity(("percent",), None, "positive", 1.99, "199 %")


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
    asked = _asked(stated)
    click.echo(json.dumps(plain(asked), indent=2) if as_json else in_words(asked))


def _asked(stated: dict[str, Any]) -> Asked:
    lever = Lever(stated["pivot_to_near"].value, stated["near_to_far"].value)
    reached, accuracy = stated["reached"], stated["accuracy"]
    if reached is not None and lever.pivot == "at far":
        message = "--reached: with the pivot at the far target no turn changes its reading."
        raise WrongUsage(f"{message} Watch the near end instead.")
    near, far, within = (stated[name].value for name in ("near", "far", "within"))
    return Asked(
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
