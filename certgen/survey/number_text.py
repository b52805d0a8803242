"""Numbers as text: split from their unit, made exact, and what to write where that cannot be done."""

import re
from difflib import get_close_matches
from fractions import Fraction
from typing import Self

from certgen.survey.spellings import SUGGESTED, UNITS, Kind, spelling
from certgen.survey.tree import echo, meant, unquoted, with_minus

LONGEST_QUANTITY = 100

_NUMBER = r"[+-]?(?:\d+\.?\d*|\.\d+)(?:[eE][+-]?\d+)?"
_QUANTITY = re.compile(rf"({_NUMBER})\s*(.*)", re.ASCII)
_NUMBER_ALONE = re.compile(_NUMBER, re.ASCII)
_NOT_FINITE = re.compile(r"[+-]?\.?(nan|inf|infinity)\b", re.IGNORECASE)
_COMMA = re.compile(r"[+-]?[\d.]*\d,\d", re.ASCII)
_FRACTION = re.compile(r"([+-]?)(?:(\d{1,9})[ -]+)?(\d{1,9})\s*/\s*(\d{1,9})(?!\d)\s*(.*)", re.ASCII)
_FEET_INCHES = re.compile(r"([+-]?\d+(?:\.\d+)?)\s*(?:ft|')\s*(\d+(?:\.\d+)?)\s*(?:in|inch|\"|'')", re.ASCII)


class Wrong(Exception):
    """A value that cannot be read: what is wrong, and what would be right."""

    def __init__(self, message: str, hint: str) -> None:
        self.message = message
        self.hint = hint
        super().__init__(message)

    @classmethod
    def unit(cls, unit: str, kinds: tuple[Kind, ...]) -> Self:
        """Return the complaint about a unit that no allowed kind has."""
        if re.search(r"[\d+*^()]", unit.replace("mm2", "")):
            return cls(
                "arithmetic or a second number is not read",
                f"Write one number with one unit, {example(kinds)}.",
            )
        other = next((kind for kind, table in UNITS.items() if unit in table), None)
        if other is not None:
            return cls(
                f"{echo(unit)} is a unit of {_NOUNS[other]}, not of {_nouns(kinds)}",
                f"Write {example(kinds)}.",
            )
        return cls(f"{echo(unit)} is not a unit known here", f"{_nearest(unit, kinds)}.")


_NOUNS: dict[Kind, str] = {
    "length": "length",
    "slope": "slope",
    "angle": "angle",
    "temperature": "temperature",
    "division": "a level's divisions",
    "percent": "per cent",
    "tension": "web tension",
    "modulus": "elastic modulus",
}


def _nouns(kinds: tuple[Kind, ...]) -> str:
    shown = [_NOUNS[kind] for kind in kinds if kind != "angle" or len(kinds) == 1]
    return " or ".join(shown)


def example(kinds: tuple[Kind, ...], number: str = "2.5") -> str:
    """Return what a quantity of these kinds may look like: `2.5 mm or 2.5 in`."""
    units = [unit for kind in kinds for unit in SUGGESTED[kind]]
    if not units:
        return f"for example {number}"
    return "for example " + " or ".join(f"{number} {unit}" for unit in dict.fromkeys(units[:3]))


def _nearest(unit: str, kinds: tuple[Kind, ...]) -> str:
    known = [name for kind in kinds for name in UNITS[kind]]
    folded = {name.casefold(): name for name in reversed(known)}
    near = get_close_matches(unit.casefold()[:20], folded, 1, 0.5)
    listed = ", ".join(dict.fromkeys(name for kind in kinds for name in SUGGESTED[kind]))
    return (
        f"Did you mean {folded[near[0]]}? Usual units here are {listed}"
        if near
        else f"Usual units here are {listed}"
    )


def split(text: str, kinds: tuple[Kind, ...], default: str | None) -> tuple[str, str]:
    """Return number and unit of `NUMBER UNIT`, both as text; a bare number takes `default`. Raises Wrong."""
    plain = _plain(text, kinds)
    found = _QUANTITY.fullmatch(plain)
    if found is None:
        raise Wrong("this is not a number with a unit", f"Write {example(kinds)}.")
    number, unit = found.group(1), spelling(found.group(2))
    if not unit and default is None:
        raise Wrong(
            "a number without a unit, and `units:` gives none for it", f"Write {example(kinds, number)}."
        )
    return number, unit or str(default)


def _plain(text: str, kinds: tuple[Kind, ...]) -> str:
    plain = text.strip().replace("\u2212", "-")
    if not plain:
        raise Wrong("no value is written here", f"Write {example(kinds)}, or remove the key.")
    if len(plain) > LONGEST_QUANTITY:
        raise Wrong("this is too long to be a quantity", f"Write {example(kinds)}.")
    _typeset(plain)
    for complaint in (_not_finite, _comma, _feet_and_inches, _fraction):
        complaint(plain, kinds)
    return plain


def _typeset(plain: str) -> None:
    number, inside = with_minus(plain), unquoted(plain)
    if number is not None:
        raise Wrong("a dash stands for the minus sign", f"Write {echo((*meant(number), number)[0])}.")
    if inside is not None:
        raise Wrong("these quotation marks belong to the text", f"Write it without them: {echo(inside)}.")


def _not_finite(plain: str, kinds: tuple[Kind, ...]) -> None:
    if _NOT_FINITE.match(plain):
        raise Wrong("this is not a finite number", f"Write {example(kinds)}.")


def _comma(plain: str, kinds: tuple[Kind, ...]) -> None:
    if not _COMMA.match(plain):
        return
    ways = meant(plain)
    wanted = f"write {ways[0] if ways else example(kinds)}"
    if len(ways) == 2:
        wanted = f"write {ways[0]} if the comma is a decimal one, {ways[1]} if it marks thousands"
    raise Wrong("a comma stands in the number", f"Use a decimal point and no thousands mark: {wanted}.")


def _feet_and_inches(plain: str, kinds: tuple[Kind, ...]) -> None:
    found = _FEET_INCHES.match(plain)
    if found and "length" in kinds:
        feet, inches = Fraction(found.group(1)), Fraction(found.group(2))
        total = float(feet * 12 + (-inches if plain.startswith("-") else inches))
        raise Wrong("two numbers with two units", f"Write one number with one unit: {total:.10g} in.")


def _fraction(plain: str, kinds: tuple[Kind, ...]) -> None:
    found = _FRACTION.match(plain)
    if not found:
        return
    sign, whole, over, under, unit = found.groups()
    if int(under) == 0:
        raise Wrong("a fraction over zero", f"Write {example(kinds)}.")
    total = float(Fraction(whole or 0) + Fraction(int(over), int(under)))
    raise Wrong(
        "a fraction is not read", f"Write a decimal number: {sign}{total:.10g} {echo(unit)}".rstrip() + "."
    )


def short(value: float) -> str:
    """Return a number for a message, to four significant digits."""
    return f"{value:.4g}"


def exact(number: str) -> Fraction:
    """Return the decimal `number` as an exact fraction. Raises Wrong where a float could not hold it."""
    rough = abs(float(number))
    if rough == float("inf"):
        raise Wrong("the number is too large", "Write a size that a machine can have.")
    if rough == 0:
        # decided on the float first: an exact 1e-99999999 would fill the memory
        if re.search(r"[1-9]", re.split("[eE]", number)[0]):
            raise Wrong("the number is too small", "Write a size that a machine can have, or 0.")
        return Fraction(0)
    return Fraction(number)


def number_alone(text: str) -> float:
    """Return a number that carries no unit. Raises Wrong."""
    plain = text.strip().replace("\u2212", "-")
    _typeset(plain)
    for complaint in (_not_finite, _comma):
        complaint(plain, ())
    if len(plain) > LONGEST_QUANTITY or not _NUMBER_ALONE.fullmatch(plain):
        raise Wrong("this is not a plain number", "Write a number without a unit, for example 2.")
    return float(exact(plain))
