"""Certificates forged for those who hear them: what is drawn stays, what is read aloud is another thing."""

import re

import pytest

from certgen.verify.compare_contents import answer
from tests.certificate.forge import forged, objects
from tests.certificate.test_forgeries import Forgery, checks, drawn, edited, genuine


def figure_that_says_otherwise(data: bytes) -> bytes:
    """Heard by those who do not see the page, and seen by nobody."""
    return edited(data, b"/Alt(", lambda part: re.sub(rb"/Alt\([^)]*", b"/Alt(All rolls pass", part))


def words_read_instead_of_those_drawn(data: bytes) -> bytes:
    """A cell that is drawn as it was and read aloud as another (ISO 32000-1:2008, 14.9.4)."""
    return edited(data, b"/S/TD", lambda part: part.replace(b"/S/TD", b"/S/TD/ActualText(pass)"))


def cells_read_in_another_order(data: bytes) -> bytes:
    """As found and as left exchanged for those who hear the table."""

    def turn(part: bytes) -> bytes:
        return re.sub(rb"/K\[(\d+ 0 R) (\d+ 0 R)", rb"/K[\2 \1", part)

    row = next(n for n, part in objects(data).items() if b"/S/TR" in part and turn(part) != part)
    return forged(data, {row: turn(objects(data)[row])})


def content_of_no_element(data: bytes) -> bytes:
    """A verdict that is drawn, and left out by whoever reads aloud."""
    return drawn(
        data,
        lambda c: re.sub(rb"/TD << /MCID \d+ >> BDC(?=[^()]*\(fail\) Tj)", b"/Artifact BMC", c, count=1),
    )


@pytest.mark.parametrize("kind", ["as here", pytest.param("another library", marks=pytest.mark.slow)])
@pytest.mark.parametrize(
    "forge",
    [
        figure_that_says_otherwise,
        words_read_instead_of_those_drawn,
        cells_read_in_another_order,
        content_of_no_element,
    ],
)
def test_forgery_is_found(forge: Forgery, kind: str) -> None:
    """Printed anew and compared, or where another library drew it."""
    found = checks(forge(genuine(kind)))
    assert answer(found) == "does not hold", found
