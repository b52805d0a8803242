"""The tree of a tagged document as objects of the file (ISO 32000-1:2008, 14.7; ISO 14289-1:2014).

Thousands of small objects, so they are written by themselves and not through the drawing library, and go
packed into streams of objects. The place to sign is an element of its own, which a signature's field is later
put into; until then the entry of the parent tree that its field will have leads to the place itself.
"""

from collections.abc import Iterator
from typing import Any

from reportlab.pdfbase import pdfdoc

from certgen.pdf.structure import Element, Piece, Structure

PLACE = "Div"  # the role of the place to sign


class Numbers:
    """The numbers of objects that are written beside those of the drawing library, one after the other."""

    def __init__(self, first: int) -> None:
        self.next = first

    def take(self) -> int:
        """Return the next number."""
        self.next += 1
        return self.next - 1


def objects(
    structure: Structure, root: int, pages: list[int], numbers: Numbers, document: Any
) -> Iterator[tuple[int, bytes]]:
    """Yield number and text of every object of the tree: its root has the number `root`.

    `pages` are the numbers of the page objects, `numbers` give those of what is yielded.
    """
    every = list(_every(structure.document))
    own = {id(element): numbers.take() for element in every}
    for element in every:
        above = root if element.parent is None else own[id(element.parent)]
        yield own[id(element)], _element(element, above, own, pages, document)
    listed = structure.pages + [[] for _ in range(len(pages) - len(structure.pages))]
    leaves = [numbers.take() for _ in listed]
    for leaf, elements in zip(leaves, listed, strict=True):
        yield leaf, b"[%s]" % b" ".join(b"%d 0 R" % own[id(one)] for one in elements)
    drawn, count = numbers.take(), len(pages)
    pairs = b" ".join(b"%d %d 0 R" % pair for pair in enumerate(leaves))
    yield drawn, b"<</Limits[0 %d]/Nums[%s]>>" % (count - 1, pairs)
    place = next((own[id(one)] for one in reversed(every) if one.role == PLACE), None)
    kids = b"%d 0 R" % drawn
    if place is not None:
        signed = numbers.take()
        yield signed, b"<</Limits[%d %d]/Nums[%d %d 0 R]>>" % (count, count, count, place)
        kids += b" %d 0 R" % signed
    tree = numbers.take()
    yield tree, b"<</Kids[%s]>>" % kids
    first = own[id(structure.document)]
    following = count + (place is not None)
    yield (
        root,
        b"<</Type/StructTreeRoot/K %d 0 R/ParentTree %d 0 R/ParentTreeNextKey %d>>"
        % (
            first,
            tree,
            following,
        ),
    )


def _every(element: Element) -> Iterator[Element]:
    """The element and all below it, in reading order."""
    waiting = [element]
    while waiting:
        one = waiting.pop()
        yield one
        waiting += [kid for kid in reversed(one.kids) if isinstance(kid, Element)]


def _element(element: Element, above: int, own: dict[int, int], pages: list[int], document: Any) -> bytes:
    """An element (14.7.2) with the attributes that its role asks for (14.8.5)."""
    said = [b"/S/%s/P %d 0 R" % (element.role.encode(), above)]
    home = next((kid.page for kid in element.kids if isinstance(kid, Piece)), None)
    if home is not None:
        said.append(b"/Pg %d 0 R" % pages[home])
    kids = [_kid(kid, home, own, pages) for kid in element.kids]
    if kids:
        said.append(b"/K%s" % (b" %s" % kids[0] if len(kids) == 1 else b"[%s]" % b" ".join(kids)))
    if element.alt:
        said.append(b"/Alt%s" % pdfdoc.format(pdfdoc.PDFString(element.alt), document))
    attributes = b""
    if element.scope:
        attributes += b"/Scope/%s" % element.scope.encode()
    if element.columns > 1:
        attributes += b"/ColSpan %d" % element.columns
    if attributes:
        said.append(b"/A<</O/Table%s>>" % attributes)
    if element.box is not None:
        said.append(b"/A<</O/Layout/BBox[%s]>>" % b" ".join(b"%g" % side for side in element.box))
    return b"<<%s>>" % b"".join(said)


def _kid(kid: Element | Piece, home: int | None, own: dict[int, int], pages: list[int]) -> bytes:
    """A reference to an element, or content by its number; with its page where that is another."""
    if isinstance(kid, Element):
        return b"%d 0 R" % own[id(kid)]
    if kid.page == home:
        return b"%d" % kid.number
    return b"<</Type/MCR/Pg %d 0 R/MCID %d>>" % (pages[kid.page], kid.number)
