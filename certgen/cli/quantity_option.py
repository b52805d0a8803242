"""Quantities on the command line, read as a survey's are: NUMBER UNIT."""

from collections.abc import Callable
from dataclasses import dataclass
from math import ceil, log10

import click

from certgen.survey.number_text import Wrong
from certgen.survey.quantities import Quantity
from certgen.survey.sections import Context
from certgen.survey.tree import echo
from certgen.survey.units import Measure, convert
from certgen.wording.rounding import fixed

_SURVEY_ONLY = ", and `units:` gives none for it"
# finer than any target is read: 0.001 mm, 0.1 thou
_FINEST_MM = 0.00255


def typed(quantity: Quantity) -> Callable[[click.Context, click.Parameter, str | None], Measure | None]:
    """Return the callback of an option that takes a quantity; a wrong one ends in exit status 2."""

    def read(ctx: click.Context, param: click.Parameter, text: str | None) -> Measure | None:
        if text is None:
            return None
        try:
            return quantity.read(text, Context())
        except Wrong as wrong:
            message = wrong.message.removesuffix(_SURVEY_ONLY)
            raise click.BadParameter(f"{message} (got {echo(text)}). {wrong.hint}", ctx, param) from None

    return read


@dataclass(frozen=True, slots=True)
class LengthUnit:
    """The unit a length was typed in, to print others alike."""

    sign: str
    mm: float

    @classmethod
    def of(cls, typed: Measure) -> "LengthUnit":
        """Return the unit of a length as it was typed."""
        sign = typed.written.rpartition(" ")[2]
        return cls(sign, convert("1", sign, "length"))

    @property
    def places(self) -> int:
        """The decimals that show 0.001 mm, or 0.1 thou."""
        return max(0, ceil(-log10(_FINEST_MM / self.mm)))

    def number(self, value_mm: float, *, signed: bool = True) -> str:
        """Return a length in this unit, without the unit."""
        return fixed(value_mm / self.mm, self.places, signed=signed)

    def text(self, value_mm: float, *, signed: bool = True) -> str:
        """Return a length in this unit, with the unit."""
        return f"{self.number(value_mm, signed=signed)} {self.sign}"
