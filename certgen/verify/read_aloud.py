"""What is read aloud of pages that cannot be printed anew: all that is drawn, in its order, and nothing else.

A tree of a tagged document (ISO 32000-1:2008, 14.7) may leave out a cell, exchange two, or say of a figure
what it does not show, and nobody who sees the pages would notice.
"""

import re
from collections import Counter
from collections.abc import Iterator
from typing import Any

from certgen.pdf.archive.print_record import PRINT_FORM, form_of
from certgen.verify.issued_file import Carried
from certgen.verify.pdf_objects import Reference, Revision, Stream
from certgen.verify.reissue import Again

_CONTENT = re.compile(rb"/MCID ([0-9]{1,6}) >> BDC")


def read_aloud(certificate: Carried, again: Again) -> Iterator[str]:
    """Yield what is odd about the tree of a document; nothing of a certificate of the first form."""
    found: dict[str, Any] = certificate.found() or {}
    if form_of(found["printed"]) != PRINT_FORM:
        return
    file = certificate.raw[0]
    if found["printed"].get("wording_sha256") == again.found["printed"]["wording_sha256"]:
        said, wanted = (Counter(_alternatives(one)) for one in (file, again.raw))
        for text in [*(said - wanted), *(wanted - said)]:
            yield f"the words of a figure: “{text.decode('latin-1'):.60}”"
    pieces = list(_pieces(file))
    if pieces != sorted(pieces):
        yield "what is read aloud stands in another order than on the pages"
    drawn = [
        (number, int(content))
        for number, page in enumerate(file.pages())
        for content in _CONTENT.findall(_data(file.at(page.get("Contents"))))
    ]
    if sorted(pieces) != sorted(drawn):
        yield "what is read aloud is not all that is drawn, or more"


def _data(value: Any) -> bytes:
    return value.data if isinstance(value, Stream) else b""


def _alternatives(file: Revision) -> Iterator[bytes]:
    """The words of every figure (14.9.3)."""
    for value in file.objects.values():
        if isinstance(value, dict) and "Alt" in value:
            yield value["Alt"] if isinstance(value["Alt"], bytes) else b""


def _pieces(file: Revision) -> Iterator[tuple[int, int]]:
    """Page and number of all content that the tree holds, in its order; -1 where that cannot be told."""
    kids = file.at(file.at(file.root().get("Pages")).get("Kids"))
    pages = {kid.number: at for at, kid in enumerate(kids) if isinstance(kid, Reference)}
    waiting: list[tuple[Any, int]] = [(file.at(file.root().get("StructTreeRoot")), -1)]
    seen: set[int] = set()
    while waiting:
        value, page = waiting.pop()
        if isinstance(value, Reference):
            if value.number in seen:
                continue
            seen.add(value.number)
            value = file.at(value)
        if isinstance(value, int):
            yield page, value
        elif isinstance(value, list):
            waiting += [(kid, page) for kid in reversed(value)]
        elif isinstance(value, dict):
            home = value.get("Pg")
            page = pages.get(home.number, -1) if isinstance(home, Reference) else -1
            if "MCID" in value:
                waiting.append((value["MCID"], page))
            else:
                waiting.append((value.get("K"), page))
