"""The options by which commands choose certificates of a register."""

from collections.abc import Callable
from datetime import datetime
from typing import TYPE_CHECKING, Any

import click

if TYPE_CHECKING:
    from certgen.register.find import Wanted

_DAY = click.DateTime(["%Y-%m-%d"])
_VERDICTS = ("pass", "conditional pass", "conditional fail", "fail", "not measured", "not shown")
_OPTIONS = (
    click.option("--line", help="The name or the asset of a line, in full."),
    click.option("--customer", help="The customer, in full."),
    click.option("--since", type=_DAY, metavar="DAY", help="Issued on that day or later."),
    click.option("--until", type=_DAY, metavar="DAY", help="Issued on that day or earlier."),
    click.option("--verdict", type=click.Choice(_VERDICTS), help="The verdict on the line as left."),
    click.option("--instrument", metavar="SERIAL", help="The serial number of an instrument, in full."),
    click.option("--in-force", is_flag=True, help="Only those not replaced and not withdrawn."),
    click.option(
        "--text", "words", help="Text in any one of number, line, place, customer, order, instrument."
    ),
)


def filter_options(function: Callable[..., Any]) -> Callable[..., Any]:
    """Add the options; neither capitals nor accents count in any of them."""
    for option in reversed(_OPTIONS):
        function = option(function)
    return function


def wanted(chosen: dict[str, Any]) -> "Wanted":
    """Return what the options ask for."""
    from certgen.register.find import Wanted

    return Wanted(**{name: _plain(value) for name, value in chosen.items()})


def _plain(value: Any) -> Any:
    return value.strftime("%Y-%m-%d") if isinstance(value, datetime) else value
