"""Elements of the digital calibration certificate (DCC) and of the SI units within it (D-SI)."""

import re
import xml.etree.ElementTree as ET

from certgen import __version__

DCC = "https://ptb.de/dcc"
SI = "https://ptb.de/si"


def add(
    parent: ET.Element, tag: str, text: str | None = None, space: str = DCC, **attributes: str
) -> ET.Element:
    """Add an element with its text in one line, as the schema asks for wherever a text must not be empty."""
    found = ET.SubElement(parent, f"{{{space}}}{tag}", attributes)
    if text is not None:
        found.text = " ".join(text.split()).replace("\N{MINUS SIGN}", "-")
    return found


def contents(parent: ET.Element, text: str, lang: str | None = "en") -> None:
    """Add a text; one of the survey itself, in whatever language it is, goes without `lang`."""
    add(parent, "content", text, **({"lang": lang} if lang else {}))


def name(parent: ET.Element, text: str) -> None:
    """Add a name as the survey has it."""
    contents(add(parent, "name"), text, lang=None)


def named(parent: ET.Element, text: str) -> None:
    """Add a name in English."""
    contents(add(parent, "name"), text)


def number(value: float) -> str:
    """Return a number to its last digit."""
    return repr(float(value))


def software(parent: ET.Element, tag: str) -> None:
    """Add this program under a tag of the form."""
    one = add(add(parent, tag), "software")
    name(one, "certgen")
    release = re.match(r"\d+(?:\.\d+){0,3}", __version__)
    add(one, "release", f"v{release[0] if release else 0}")
    add(one, "type", "application")
