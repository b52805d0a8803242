"""Where a key stands in a TOML file, for messages: the standard library's reader does not say it."""

import re


def line_of(key: str, text: str) -> int:
    """Return the line, from 1, in which a key or a table of that name begins; 1 where it is not found."""
    name = re.escape(key)
    found = re.search(rf"^\s*(\[[^\]\n]*\b{name}\]|[\"']?{name}[\"']?\s*=)", text, re.MULTILINE)
    return 1 if found is None else text[: found.end()].count("\n") + 1


def line_of_error(error: ValueError) -> int:
    """Return the line that an error of the reader names, 1 where it names none."""
    place = re.search(r"line (\d+)", str(error))
    return int(place[1]) if place else 1
