"""Certificates forged in every way we could think of: each is found, pages that are printed no longer too.

The forger knows certgen: digests, identifiers, table and record of printing are always made to fit.
"""

import re
from collections.abc import Callable
from functools import cache
from pathlib import Path

import pytest
import reportlab

from certgen.errors import NotVerified
from certgen.verify.checks import verify
from certgen.verify.compare_contents import Answer, Check, answer
from certgen.verify.issued_file import carried
from tests.certificate.forge import forged, objects, recorded, stream, with_stream
from tests.certificate.test_verify import again, pdf

Forgery = Callable[[bytes], bytes]
ARCHIVED = Path(__file__).parent.parent / "archived_certificates" / "format_1.pdf"
FORGERIES: dict[str, Forgery] = {}
NOT_OF_THE_FIRST = {
    "figure_that_says_otherwise",
    "words_read_instead_of_those_drawn",
    "cells_read_in_another_order",
    "content_of_no_element",
}
OTHER_LIBRARY = f"ReportLab {reportlab.__version__}, matplotlib 0"


def forgery(make: Forgery) -> Forgery:
    """Keep a forgery under its name."""
    FORGERIES[make.__name__] = make
    return make


@cache
def genuine(kind: str) -> bytes:
    """Return a certificate: as printed here, as by another library, or of the first form of the pages."""
    if kind == "first form":
        return ARCHIVED.read_bytes()
    return pdf("winder_inch") if kind == "as here" else recorded(pdf("winder_inch"), library=OTHER_LIBRARY)


def checks(data: bytes) -> tuple[Check, ...]:
    """Return what was checked; one fault where the file is refused as a whole."""
    try:
        return verify(carried(data), again)
    except NotVerified as error:
        return (Check("file", "differs", str(error)),)


def page_numbers(data: bytes) -> list[int]:
    """Return the numbers of the pages in the order of the file."""
    return [number for number, part in objects(data).items() if b"/Type /Page\n" in part]


def edited(data: bytes, sign: bytes, change: Callable[[bytes], bytes]) -> bytes:
    """Return the certificate with the first object that holds a sign changed, the sign outside of streams."""
    number = next(n for n, part in objects(data).items() if sign in part.partition(b"stream\n")[0])
    return forged(data, {number: change(objects(data)[number])})


def drawn(data: bytes, change: Callable[[bytes], bytes]) -> bytes:
    """Return the certificate with the content of every page changed; at least one has to differ."""
    changed = {}
    for number, part in objects(data).items():
        content = stream(part)
        if content and b" Tj" in content and change(content) != content:
            changed[number] = with_stream(part, change(content))
    assert changed
    return forged(data, changed)


def page_with(data: bytes, entry: bytes, *more: bytes) -> bytes:
    """Return the certificate whose first page has a further entry; `more` objects are added."""
    first, part = page_numbers(data)[0], objects(data)[page_numbers(data)[0]]
    added = {len(objects(data)) + 1 + i: one for i, one in enumerate(more)}
    numbered = {number: b"%d 0 obj\n%s\nendobj\n" % (number, one) for number, one in added.items()}
    next_number = b"%d 0 R" % (len(objects(data)) + 1)
    new = part.replace(b"/Type /Page\n", b"/Type /Page " + entry.replace(b"NEXT", next_number) + b"\n")
    return forged(data, {first: new, **numbered})


def catalog_with(data: bytes, entry: bytes, *more: bytes) -> bytes:
    """Return the certificate whose catalog has a further entry."""
    number = len(objects(data)) + 1
    added = {number + i: b"%d 0 obj\n%s\nendobj\n" % (number + i, one) for i, one in enumerate(more)}
    catalog = next(n for n, part in objects(data).items() if b"/Type /Catalog" in part)
    new = objects(data)[catalog].replace(
        b"/Type /Catalog", b"/Type /Catalog " + entry.replace(b"NEXT", b"%d 0 R" % number)
    )
    return forged(data, {catalog: new, **added})


def numbers_changed(content: bytes, hide: Callable[[bytes], bytes]) -> bytes:
    """Return a page on which numbers are others, the true ones hidden in some way before them."""

    def one(found: re.Match[bytes]) -> bytes:
        text = found[0]
        place = text.index(b".", text.index(b"(")) + 1
        digit = b"3" if text[place : place + 1] != b"3" else b"4"
        return hide(text) + text[:place] + digit + text[place + 1 :]

    return re.sub(rb"BT [^\n]* Tj T\* ET", lambda f: one(f) if _is_number(f[0]) else f[0], content)


def _is_number(text: bytes) -> bool:
    return re.search(rb"\((?:\\00[12]|\+)?\d+\.\d+\) Tj", text) is not None


@forgery
def every_fail_reworded_to_pass(data: bytes) -> bytes:
    """The plainest of all."""
    return drawn(data, lambda content: content.replace(b"(fail) Tj", b"(pass) Tj"))


@forgery
def fails_reworded_in_one_row(data: bytes) -> bytes:
    """A single verdict."""
    return drawn(data, lambda content: content.replace(b"(fail) Tj", b"(pass) Tj", 2))


@forgery
def numbers_changed_and_true_ones_invisible(data: bytes) -> bytes:
    """By the mode in which text is rendered."""
    return drawn(data, lambda c: numbers_changed(c, lambda text: b"q 3 Tr " + text + b" 0 Tr Q\n"))


@forgery
def numbers_changed_and_true_ones_white(data: bytes) -> bytes:
    """White on white."""
    return drawn(data, lambda c: numbers_changed(c, lambda text: b"q 1 1 1 rg " + text + b" Q\n"))


@forgery
def numbers_changed_and_true_ones_tiny(data: bytes) -> bytes:
    """Set at the size of a dot."""
    return drawn(data, lambda c: numbers_changed(c, lambda text: b"q .01 0 0 .01 0 0 cm " + text + b" Q\n"))


@forgery
def numbers_changed_and_true_ones_off_the_page(data: bytes) -> bytes:
    """Where no page is."""
    return drawn(data, lambda c: numbers_changed(c, lambda text: b"q 1 0 0 1 5000 0 cm " + text + b" Q\n"))


@forgery
def numbers_changed_and_true_ones_clipped(data: bytes) -> bytes:
    """Clipped to nothing."""
    return drawn(data, lambda c: numbers_changed(c, lambda text: b"q 0 0 1 1 re W n " + text + b" Q\n"))


@forgery
def numbers_changed_beside_nothing(data: bytes) -> bytes:
    """Without keeping the true ones."""
    return drawn(data, lambda c: numbers_changed(c, lambda _: b""))


@forgery
def signs_turned(data: bytes) -> bytes:
    """A roll too high becomes one too low."""
    return drawn(
        data, lambda c: re.sub(rb"\(\+(\d+\.\d+)\) Tj", lambda f: b"(\\002" + f[1] + b") Tj", c, count=4)
    )


@forgery
def sides_exchanged(data: bytes) -> bytes:
    """The crew would shim the wrong bearing."""
    return drawn(data, lambda c: c.replace(b"(drive side) Tj", b"(operator side) Tj", 3))


@forgery
def verdict_painted_over(data: bytes) -> bytes:
    """A white box, and another word on it."""
    cover = b"q 1 1 1 rg n 60 600 200 60 re f Q\nBT 1 0 0 1 70 621 Tm /F1+0 17 Tf (pass) Tj ET\n"
    return _on_first_page(data, cover)


@forgery
def verdict_painted_over_by_a_line(data: bytes) -> bytes:
    """A line as wide as the word is high."""
    return _on_first_page(data, b"q 1 1 1 RG 40 w n 51 630 m 300 630 l S Q\n")


@forgery
def verdict_overprinted(data: bytes) -> bytes:
    """One word on top of the other."""

    def change(content: bytes) -> bytes:
        return re.sub(
            rb"(BT [^\n]*)\(fail\) Tj T\* ET", lambda f: f[0] + b"\n" + f[1] + b"(pass) Tj T* ET", content
        )

    return drawn(data, change)


@forgery
def word_in_another_colour_than_paper_hidden_on_its_ground(data: bytes) -> bytes:
    """Dark on dark, where a dark box was drawn first."""
    hidden = b"q .2 .2 .2 rg n 60 700 100 20 re f BT 1 0 0 1 62 705 Tm /F1+0 8 Tf (all rolls fail) Tj ET Q\n"
    return _on_first_page(data, hidden)


def _on_first_page(data: bytes, more: bytes) -> bytes:
    """The certificate with something drawn at the end of its first page."""
    page = objects(data)[page_numbers(data)[0]]
    number = int(re.search(rb"/Contents (\d+)", page)[1])  # type: ignore[index]  # every page has some
    content = stream(objects(data)[number])
    assert content is not None
    return forged(data, {number: with_stream(objects(data)[number], content + b"\n" + more)})


@forgery
def annotation_with_action_and_script(data: bytes) -> bytes:
    """A click runs something."""
    action = b"<< /Type /Annot /Subtype /Link /Rect [0 0 600 800] /A << /S /JavaScript /JS (go) >> >>"
    return page_with(data, b"/Annots [ NEXT ]", action)


@forgery
def note_over_a_verdict(data: bytes) -> bytes:
    """A free text laid over the page."""
    note = b"<< /Type /Annot /Subtype /FreeText /Rect [60 600 200 660] /Contents (pass) /DA (/F1 12 Tf) >>"
    return page_with(data, b"/Annots [ NEXT ]", note)


@forgery
def action_at_opening(data: bytes) -> bytes:
    """Opening it leads elsewhere."""
    return catalog_with(data, b"/OpenAction << /S /URI /URI (https://forger.example) >>")


@forgery
def further_actions(data: bytes) -> bytes:
    """Closing a page runs something."""
    return page_with(data, b"/AA << /C << /S /Named /N /Print >> >>")


@forgery
def page_cropped(data: bytes) -> bytes:
    """The lower half is not shown."""
    return page_with(data, b"/CropBox [ 0 400 600 792 ]")


@forgery
def unit_of_the_page_changed(data: bytes) -> bytes:
    """Everything is ten times as large."""
    return page_with(data, b"/UserUnit 10.0")


@forgery
def page_turned(data: bytes) -> bytes:
    """Upside down, plus is minus."""
    return edited(data, b"/Rotate 0", lambda part: part.replace(b"/Rotate 0", b"/Rotate 180"))


@forgery
def page_made_smaller(data: bytes) -> bytes:
    """What lies below is off the page."""
    return edited(
        data, b"/MediaBox [ 0 0", lambda part: part.replace(b"/MediaBox [ 0 0", b"/MediaBox [ 0 300")
    )


@forgery
def second_contents_key(data: bytes) -> bytes:
    """One reader takes the first one, another the last."""
    content = b"<< /Filter [ /FlateDecode ] /Length 8 >>\nstream\nx\x9c\x03\x00\x00\x00\x00\x01\nendstream"
    return page_with(data, b"/Contents NEXT", content)


@forgery
def second_contents_key_spelt_otherwise(data: bytes) -> bytes:
    """The same key, one letter written as its number."""
    content = b"<< /Filter [ /FlateDecode ] /Length 8 >>\nstream\nx\x9c\x03\x00\x00\x00\x00\x01\nendstream"
    return page_with(data, b"/#43ontents NEXT", content)


def _attached(data: bytes, name: bytes, *, listed: bool) -> bytes:
    number = len(objects(data)) + 1
    file = b"<< /Type /EmbeddedFile /Filter [ /FlateDecode ] /Length 0 >>"
    packed = with_stream(b"%d 0 obj\n%s\nstream\n\nendstream\nendobj\n" % (number, file), b"All rolls pass.")
    spec = b"%d 0 obj\n<< /Type /Filespec /F (%s) /UF (%s) /EF << /F %d 0 R >> >>\nendobj\n"
    added = {number: packed, number + 1: spec % (number + 1, name, name, number)}
    if not listed:
        return forged(data, added)
    names = next(n for n, part in objects(data).items() if b"/EmbeddedFiles <<" in part)
    entry = b" (%s) %d 0 R ]" % (name, number + 1)
    return forged(data, {names: objects(data)[names].replace(b" ]", entry, 1), **added})


@forgery
def one_more_attachment(data: bytes) -> bytes:
    """It says the opposite."""
    return _attached(data, b"verdict.txt", listed=True)


@forgery
def attachment_of_the_same_name(data: bytes) -> bytes:
    """Which of them is the survey."""
    return _attached(data, b"survey.yaml", listed=True)


@forgery
def attachment_that_no_list_names(data: bytes) -> bytes:
    """Some readers show it all the same."""
    return _attached(data, b"verdict.txt", listed=False)


@forgery
def layer(data: bytes) -> bytes:
    """What is shown depends on a switch."""
    group = b"<< /Type /OCG /Name (Verdicts) >>"
    return catalog_with(data, b"/OCProperties << /OCGs [ NEXT ] /D << /OFF [ NEXT ] >> >>", group)


@forgery
def part_of_a_page_on_a_layer(data: bytes) -> bytes:
    """Shown by some, not by others."""
    return drawn(data, lambda c: c.replace(b"BT", b"/OC /Hidden BDC BT", 1).replace(b"ET", b"ET EMC", 1))


@forgery
def form_field(data: bytes) -> bytes:
    """A text that can be filled in."""
    return catalog_with(data, b"/AcroForm << /Fields [ NEXT ] >>", b"<< /FT /Tx /T (verdict) /V (pass) >>")


@forgery
def page_added(data: bytes) -> bytes:
    """A page of their own."""
    number = len(objects(data)) + 1
    page = objects(data)[page_numbers(data)[0]].partition(b"obj\n")[2]
    tree = next(n for n, part in objects(data).items() if b"/Type /Pages" in part)
    kids = objects(data)[tree].replace(b" ] /Type /Pages", b" %d 0 R ] /Type /Pages" % number)
    kids = re.sub(rb"/Count (\d+)", lambda f: b"/Count %d" % (int(f[1]) + 1), kids)
    return forged(data, {tree: kids, number: b"%d 0 obj\n%s" % (number, page)})


@forgery
def page_left_out(data: bytes) -> bytes:
    """The page with the worst rolls is gone."""
    tree = next(n for n, part in objects(data).items() if b"/Type /Pages" in part)
    kids = re.sub(rb"(/Kids \[ \d+ 0 R) \d+ 0 R", rb"\1", objects(data)[tree])
    kids = re.sub(rb"/Count (\d+)", lambda f: b"/Count %d" % (int(f[1]) - 1), kids)
    return forged(data, {tree: kids})


@forgery
def pages_in_another_order(data: bytes) -> bytes:
    """As left where as found should be."""
    tree = next(n for n, part in objects(data).items() if b"/Type /Pages" in part)
    return forged(data, {tree: re.sub(rb"(\d+ 0 R) (\d+ 0 R)", rb"\2 \1", objects(data)[tree], count=2)})


@forgery
def object_to_which_nothing_leads(data: bytes) -> bytes:
    """A place to hide something in."""
    return forged(data, {len(objects(data)) + 1: b"%d 0 obj\n(more)\nendobj\n" % (len(objects(data)) + 1)})


@forgery
def another_filter(data: bytes) -> bytes:
    """Packed twice."""
    return edited(
        data,
        b"/Filter [ /FlateDecode ]",
        lambda p: p.replace(b"[ /FlateDecode ]", b"[ /FlateDecode /FlateDecode ]"),
    )


@forgery
def parameters_of_a_filter(data: bytes) -> bytes:
    """Unfolded otherwise by those who heed them."""
    return edited(
        data,
        b"/Filter [ /FlateDecode ]",
        lambda p: p.replace(b"/Filter", b"/DecodeParms << /Predictor 2 >> /Filter", 1),
    )


@forgery
def font_table_that_lies(data: bytes) -> bytes:
    """The page shows other letters than those that are searched and copied."""

    def change(content: bytes) -> bytes:
        return content.replace(b"<35> <0035>", b"<35> <0036>").replace(b"<36> <0036>", b"<36> <0035>")

    changed = {
        number: with_stream(part, change(content))
        for number, part in objects(data).items()
        if (content := stream(part)) and b"beginbfchar" in content
    }
    return drawn(
        forged(data, changed),
        lambda c: (
            c.translate(bytes.maketrans(b"", b"")).replace(b"(1.16)", b"(1.66)").replace(b"(0.10)", b"(0.60)")
        ),
    )


@forgery
def letters_that_look_like_others(data: bytes) -> bytes:
    """The outlines of one font are another's."""
    fonts = [n for n, part in objects(data).items() if b"/Length1" in part.partition(b"stream\n")[0]]
    one, other = (objects(data)[number].partition(b"obj\n")[2] for number in fonts[:2])
    return forged(
        data, {fonts[0]: b"%d 0 obj\n%s" % (fonts[0], other), fonts[1]: b"%d 0 obj\n%s" % (fonts[1], one)}
    )


@forgery
def widths_of_letters_changed(data: bytes) -> bytes:
    """Signs slide off the page."""
    return edited(
        data, b"/Widths [", lambda part: re.sub(rb"(/Widths \[) [\d.]+ [\d.]+", rb"\1 9000 9000", part)
    )


@forgery
def outline_that_says_otherwise(data: bytes) -> bytes:
    """Read first, and nowhere on the pages."""
    return edited(data, b"/Title (Verdict)", lambda part: part.replace(b"(Verdict)", b"(No roll has failed)"))


@forgery
def picture_over_the_verdict(data: bytes) -> bytes:
    """A white picture, placed over it."""
    number = len(objects(data)) + 1
    head = b"<< /Type /XObject /Subtype /Image /Width 1 /Height 1 /BitsPerComponent 8 /ColorSpace /DeviceRGB"
    image = with_stream(
        b"%d 0 obj\n%s /Filter [ /FlateDecode ] /Length 0 >>\nstream\n\nendstream\nendobj\n" % (number, head),
        b"\xff\xff\xff",
    )
    page = page_numbers(data)[0]
    part = objects(data)[page].replace(b"/ProcSet [", b"/XObject << /Im %d 0 R >> /ProcSet [" % number)
    return _on_first_page(forged(data, {page: part, number: image}), b"q 200 0 0 60 60 600 cm /Im Do Q\n")


@forgery
def content_in_pieces(data: bytes) -> bytes:
    """Several streams, joined by some readers."""
    return edited(
        data, b"/Contents ", lambda part: re.sub(rb"/Contents (\d+ 0 R)", rb"/Contents [ \1 ]", part)
    )


@forgery
def trailer_with_more(data: bytes) -> bytes:
    """A second table that some readers prefer."""
    at = data.rindex(b"/Size")
    return data[:at] + b"/XRefStm 9 " + data[at:]


@forgery
def figure_that_says_otherwise(data: bytes) -> bytes:
    """Heard by those who do not see the page, and seen by nobody."""
    return edited(data, b"/Alt(", lambda part: re.sub(rb"/Alt\([^)]*", b"/Alt(All rolls pass", part))


@forgery
def words_read_instead_of_those_drawn(data: bytes) -> bytes:
    """A cell that is drawn as it was and read aloud as another (ISO 32000-1:2008, 14.9.4)."""
    return edited(data, b"/S/TD", lambda part: part.replace(b"/S/TD", b"/S/TD/ActualText(pass)"))


@forgery
def cells_read_in_another_order(data: bytes) -> bytes:
    """As found and as left exchanged for those who hear the table."""

    def turn(part: bytes) -> bytes:
        return re.sub(rb"/K\[(\d+ 0 R) (\d+ 0 R)", rb"/K[\2 \1", part)

    row = next(n for n, part in objects(data).items() if b"/S/TR" in part and turn(part) != part)
    return forged(data, {row: turn(objects(data)[row])})


@forgery
def content_of_no_element(data: bytes) -> bytes:
    """A verdict that is drawn, and left out by whoever reads aloud."""
    return drawn(
        data,
        lambda c: re.sub(rb"/TD << /MCID \d+ >> BDC(?=[^()]*\(fail\) Tj)", b"/Artifact BMC", c, count=1),
    )


@forgery
def words_between_objects(data: bytes) -> bytes:
    """A comment, which no reader shows and every search finds."""
    number, part = next((n, p) for n, p in objects(data).items() if stream(p))
    return forged(data, {number: part + b"% All rolls pass.\n"})


@forgery
def keywords_changed(data: bytes) -> bytes:
    """What a search of the archive finds."""
    number, part = next((n, p) for n, p in objects(data).items() if b"/Creator (" in p)
    (metadata,) = (n for n, p in objects(data).items() if b"/Type /Metadata" in p)
    packet = objects(data)[metadata].replace(b"FC-2026-031, 0<", b"FC-2026-031, 9<")
    return forged(data, {number: part.replace(b"FC-2026-031, 0)", b"FC-2026-031, 9)"), metadata: packet})


@pytest.mark.parametrize("kind", ["as here", "another library", "first form"])
def test_genuine_certificate_is_not_called_forged(kind: str) -> None:
    """Nothing speaks against it, and where its pages cannot be compared that is said."""
    found = checks(genuine(kind))
    expected: Answer = "results verified" if kind == "first form" else "verified"
    assert (answer(found), [one for one in found if one.outcome == "differs"]) == (expected, [])


@pytest.mark.parametrize(
    "kind", ["as here", pytest.param("another library", marks=pytest.mark.slow), "first form"]
)
@pytest.mark.parametrize("name", FORGERIES)
def test_forgery_is_found(name: str, kind: str) -> None:
    """In every mode it does not hold, and what is wrong is named; the first form is not read aloud."""
    if kind == "first form" and name in NOT_OF_THE_FIRST:
        return
    found = checks(FORGERIES[name](genuine(kind)))
    assert answer(found) == "does not hold", found
    assert all(one.text for one in found if one.outcome == "differs")
