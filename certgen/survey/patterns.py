"""The regular expressions that the JSON Schema gives an editor, made from the same tables as the reader."""

import re

from certgen.survey.spellings import LENGTHS, UNITS, Kind

DAY = r"^\d{4}-\d{2}-\d{2}$"
_NUMBER = "[+\\-\u2212]?(\\d+\\.?\\d*|\\.\\d+)([eE][+-]?\\d+)?"
_MICRO = "[µ\u03bc]"  # both code points


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
