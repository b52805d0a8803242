"""Names in the bounded room that a drawing has for them; the tables hold all of a name."""

from certgen.certificate.look import width_of

ELLIPSIS = "…"


def shortened(text: str, room: float, font: str, size: float) -> str:
    """Return a text that is at most `room` points wide, what is too much taken out of its middle.

    Names of one line mostly differ at an end, by a number or by the stand they begin with: both are kept.
    """
    if width_of(text, font, size) <= room:
        return text
    pieces = (_ends(text, count) for count in range(len(text) - 1, 0, -1))
    return next((piece for piece in pieces if width_of(piece, font, size) <= room), ELLIPSIS)


def _ends(text: str, count: int) -> str:
    """So many letters of a text, half of them from either end."""
    first = text[: (count + 1) // 2].rstrip()
    last = text[len(text) - count // 2 :].lstrip()
    return f"{first}{ELLIPSIS}{last}"
