"""The units a survey may be written in: allowed spellings, their patterns, and their names in the library.

`mil` is 0.001 inch here, as everywhere in this trade, although a units library may take it for an angle.
"""

import re
from collections.abc import Mapping
from types import MappingProxyType
from typing import Literal

Kind = Literal["length", "slope", "angle", "temperature", "division", "percent", "tension", "modulus"]

# what every quantity of a kind is converted to
BASE: Mapping[Kind, str] = MappingProxyType(
    {
        "length": "millimeter",
        "slope": "millimeter/meter",
        "angle": "radian",
        "temperature": "degC",
        "tension": "newton/millimeter",
        "modulus": "newton/millimeter**2",
    }
)

LENGTHS: Mapping[str, str] = MappingProxyType(
    {
        "mm": "millimeter",
        "cm": "centimeter",
        "m": "meter",
        "um": "micrometer",
        "µm": "micrometer",
        "in": "inch",
        "inch": "inch",
        '"': "inch",
        "ft": "foot",
        "thou": "thou",
        "mil": "thou",
    }
)
_RATIOS = {
    f"{over}/{under}": f"{up}/{down}" for over, up in LENGTHS.items() for under, down in LENGTHS.items()
}
ANGLES: Mapping[str, str] = MappingProxyType(
    {
        "arcsec": "arcsecond",
        "mrad": "milliradian",
        "rad": "radian",
        "urad": "microradian",
        "µrad": "microradian",
    }
)
TEMPERATURES: Mapping[str, str] = MappingProxyType(
    {"degC": "degC", "°C": "degC", "degF": "degF", "°F": "degF", "K": "kelvin"}
)
_TENSIONS = {
    "N/m": "newton/meter",
    "N/mm": "newton/millimeter",
    "kN/m": "kilonewton/meter",
    "lbf/in": "force_pound/inch",
    "lbf/ft": "force_pound/foot",
    "pli": "force_pound/inch",
}
_MODULI = {
    "Pa": "pascal",
    "kPa": "kilopascal",
    "MPa": "megapascal",
    "GPa": "gigapascal",
    "N/mm2": "newton/millimeter**2",
    "N/mm²": "newton/millimeter**2",
    "psi": "psi",
    "ksi": "kilopsi",
}

# spelling -> name in the units library; "" where no library is needed
UNITS: Mapping[Kind, Mapping[str, str]] = MappingProxyType(
    {
        "length": LENGTHS,
        "slope": _RATIOS,
        "angle": ANGLES,
        "temperature": TEMPERATURES,
        "division": {"div": ""},
        "percent": {"%": ""},
        "tension": _TENSIONS,
        "modulus": _MODULI,
    }
)

# what a message suggests, most usual first
SUGGESTED: Mapping[Kind, tuple[str, ...]] = MappingProxyType(
    {
        "length": ("mm", "in", "thou"),
        "slope": ("mm/m", "thou/ft"),
        "angle": ("arcsec", "mrad"),
        "temperature": ("degC", "degF"),
        "division": ("div",),
        "percent": ("%",),
        "tension": ("N/m", "lbf/in"),
        "modulus": ("MPa", "psi"),
    }
)
DAY = r"^\d{4}-\d{2}-\d{2}$"
_NUMBER = "[+\\-\u2212]?(\\d+\\.?\\d*|\\.\\d+)([eE][+-]?\\d+)?"
_MICRO = "[µ\u03bc]"  # both code points


def spelling(unit: str) -> str:
    """Return a unit as the tables spell it: one code point for micro, no spaces around the slash."""
    return "/".join(part.strip() for part in unit.replace("\u03bc", "\u00b5").split("/"))


def quantity(kinds: tuple[Kind, ...]) -> str:
    """Return the pattern of a number with a unit of any of `kinds`."""
    return rf"^\s*{_NUMBER}\s*({'|'.join(_units(kind) for kind in kinds)})\s*$"


def _units(kind: Kind) -> str:
    if kind == "slope":  # every length over every length: spelled out it would fill a page
        lengths = _either(tuple(LENGTHS))
        return rf"{lengths}\s*/\s*{lengths}"
    return _either(tuple(UNITS[kind]))


def _either(names: tuple[str, ...]) -> str:
    return f"({'|'.join(re.escape(name).replace('µ', _MICRO) for name in names)})"
