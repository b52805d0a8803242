"""The numbers of a plot in the digits of a language: those at its axes and those written into it."""

from typing import Any

from matplotlib.ticker import ScalarFormatter

from certgen.certificate.rounding import Digits


def write_numbers(axis: Any, digits: Digits) -> None:
    """Give ticks and numbers of the panel the decimal sign; its texts hold nothing but numbers."""
    axis.xaxis.set_major_formatter(_Ticks(digits))
    for text in axis.texts:
        text.set_text(digits.written(text.get_text()))


def write_ticks(axis: Any, digits: Digits) -> None:
    """Give the ticks of both axes the decimal sign."""
    axis.xaxis.set_major_formatter(_Ticks(digits))
    axis.yaxis.set_major_formatter(_Ticks(digits))


class _Ticks(ScalarFormatter):
    """Numbers at an axis, as matplotlib writes them, with the decimal sign of a language."""

    def __init__(self, digits: Digits) -> None:
        super().__init__()
        self._digits = digits

    def __call__(self, x: float, pos: int | None = None) -> str:
        return self._digits.written(super().__call__(x, pos))
