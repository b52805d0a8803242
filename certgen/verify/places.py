"""Pages that cannot be printed anew: what can be seen on them, held against the results at its places.

Whatever the form: nothing may be hidden, drawn over one another or set in letters that are not those of the
fonts; the outline may say only what the pages say; a signature may not lie over what is printed. Then, for
the first form, the tables of results and moves and the verdicts over them (`form_1`); for the present form in
other words or drawn by another library, every number and every verdict and side in the order of the pages.
"""

import re
from collections.abc import Iterator, Sequence
from difflib import SequenceMatcher
from io import BytesIO
from operator import eq
from typing import Any

from certgen.pdf.archive.print_record import PRINT_FORM, form_of
from certgen.verify.compare_contents import Check, differs, not_compared
from certgen.verify.form_1 import FORM, odd_places
from certgen.verify.issued_file import Carried
from certgen.verify.pdf_objects import Name, Revision, Stream
from certgen.verify.read_aloud import read_aloud
from certgen.verify.reissue import Again
from certgen.verify.visible_text import Text, letters_of, visible
from certgen.wording.rounding import MINUS

# a number by itself, or with its unit and what else is stated of it
_NUMBER = re.compile(
    rf"[<>]? ?[+{MINUS}-]?[0-9]+(?:[.,][0-9]+)?"
    r"(?: (?:(?:mm|in|thou|µm|um|m|ft|K)(?:/(?:m|ft|mm|in|K))?|%|°C)(?: .*)?)?"
)
_MOST = 20
_OVER = 0.25  # of their size, how near to each other the middles of two letters are that cannot both be read


def at_places(certificate: Carried, again: Again, other: Sequence[str]) -> Iterator[Check]:
    """Yield what pages say at their places, and that they were not compared; `other` says why."""
    file = certificate.raw[0]
    texts, odd = visible(file)
    seen = [one for one in texts if not one.hidden]
    odd += [f"page {one.page}: “{one.letters:.60}”: {one.hidden}" for one in texts if one.hidden]
    odd += _overprinted(seen)
    odd += _in_pieces(seen)
    odd += _outline(file, seen)
    odd += _signed_over(certificate, seen)
    odd += read_aloud(certificate, again)
    if odd:
        yield differs(
            "pages", "Not all that stands on the pages can be seen, or is what a certificate has", odd
        )
    yield from _fonts(file, again)
    found: dict[str, Any] = certificate.found() or {}
    form = form_of(found["printed"])
    wrong = list(_numbered(seen, len(certificate.raw[0].pages())))
    if form == FORM:
        wrong = [*_of_this_form(certificate.raw[0], again), *wrong, *odd_places(seen, found, again.units)]
    elif form == PRINT_FORM:
        wrong += _in_order(seen, again)
    if wrong:
        text = "Numbers, verdicts, sides or signs on the pages are not those that the survey gives"
        yield differs("places", text, wrong)
    yield not_compared("file", "The pages were not printed anew and compared", other)


def _of_this_form(file: Revision, again: Again) -> Iterator[str]:
    """Pages that are drawn as the present form draws them, whatever form is claimed."""
    drawn = [_drawing(again.raw, page) for page in again.raw.pages()]
    for number, page in enumerate(file.pages(), 1):
        if (content := _drawing(file, page)) and content in drawn:
            yield f"page {number} is one of form {PRINT_FORM}, and the record says form {FORM}"


def _drawing(file: Revision, page: dict[str, Any]) -> bytes:
    found = file.at(page.get("Contents"))
    return found.data if isinstance(found, Stream) else b""


def _numbered(seen: Sequence[Text], count: int) -> Iterator[str]:
    """Pages whose foot, drawn last, bears other numbers than their place and the count of all."""
    last = {one.page: one.letters for one in seen}
    for page in range(1, count + 1):
        numbers = [int(one) for one in re.findall(r"[0-9]{1,5}", last.get(page, ""))]
        if len(numbers) != 2 or sorted(numbers) != sorted((page, count)):
            yield f"page {page}: its foot says “{last.get(page, ''):.60}”, and it is page {page} of {count}"


def _in_order(seen: Sequence[Text], again: Again) -> Iterator[str]:
    """Every number that stands by itself, every verdict and side, in the order in which pages are drawn."""
    printed, _ = visible(again.raw)
    said, wanted = ([one for one in some if _counts(one, again)] for some in (seen, printed))
    one, two = ([_told(text) for text in some] for some in (said, wanted))
    for kind, i, j, k, m in SequenceMatcher(None, one, two, autojunk=False).get_opcodes():
        if kind != "equal":
            page = said[min(i, len(said) - 1)].page if said else 1
            yield f"page {page}: “{' '.join(one[i:j])}” should be “{' '.join(two[k:m])}”"


def _told(text: Text) -> str:
    """What a text says, and whether it is left out where the page is read aloud."""
    return text.letters.strip().replace(",", ".") + (" (not read aloud)" if text.aside else "")


def _counts(text: Text, again: Again) -> bool:
    return (
        text.letters.strip().casefold() in again.fixed_words
        or text.letters in again.fixed_words
        or _NUMBER.fullmatch(text.letters.strip()) is not None
    )


def _in_pieces(seen: Sequence[Text]) -> Iterator[str]:
    """Words and numbers that are put together from texts which none of the comparisons knows."""
    begins = {(one.page, round(one.x), round(one.y)): one for one in seen}
    for one in seen:
        around = ((one.page, round(one.end) + i, round(one.y) + j) for i in (-1, 0, 1) for j in (-1, 0, 1))
        for after in (begins[key] for key in around if key in begins):
            near = abs(after.x - one.end) < 0.1 * one.size and abs(after.y - one.y) < 0.5
            if near and after is not one and one.letters[-1].isalnum() and after.letters[0].isalnum():
                yield f"page {one.page}: “{one.letters:.60}” and “{after.letters:.60}” are pieces of one word"


def _overprinted(seen: Sequence[Text]) -> Iterator[str]:
    """Letters of two texts at one place."""
    taken: dict[tuple[int, int, int], list[tuple[float, float, Text]]] = {}
    for one in seen:
        for letter, (x, y) in zip(one.letters, one.middles, strict=True):
            if letter.isspace():
                continue
            near = _OVER * one.size
            around = [(one.page, int(x // 4) + i, int(y // 4) + j) for i in (-1, 0, 1) for j in (-1, 0, 1)]
            others = (item for key in around for item in taken.get(key, ()))
            if any(text is not one and abs(u - x) < near and abs(v - y) < near for u, v, text in others):
                yield f"page {one.page}: “{one.letters:.60}” stands over another text"
                break
        for x, y in one.middles:
            taken.setdefault((one.page, int(x // 4), int(y // 4)), []).append((x, y, one))


def _outline(file: Revision, seen: Sequence[Text]) -> Iterator[str]:
    """Titles of the outline that no page shows; a title may go on in the next line."""
    whole = "".join("".join(one.letters.split()) for one in seen)
    root = file.at(file.root().get("Outlines"))
    item, count = (file.at(root.get("First")) if isinstance(root, dict) else None), 0
    while isinstance(item, dict) and count < 1000:
        # a text of the file: UTF-16 where it says so, else as good as Latin-1 (ISO 32000-1:2008, 7.9.2.2)
        value = item.get("Title")
        if not isinstance(value, bytes):
            title = ""
        else:
            plain = re.sub(rb"\\([0-7]{3}|.)", lambda one: _sign(one[1]), value, flags=re.DOTALL)
            if plain.startswith(b"\xfe\xff"):
                title = plain[2:].decode("utf-16-be", "replace")
            else:
                title = plain.decode("latin-1")
        if "".join(title.split()) not in whole:
            yield f"the outline: “{title:.60}” stands on no page"
        item, count = file.at(item.get("Next")), count + 1


def _sign(escaped: bytes) -> bytes:
    if escaped.isdigit() and len(escaped) == 3:
        return bytes([int(escaped, 8) & 255])
    return {b"n": b"\n", b"r": b"\r", b"t": b"\t", b"b": b"\b", b"f": b"\f"}.get(escaped, escaped)


def _signed_over(certificate: Carried, seen: Sequence[Text]) -> Iterator[str]:
    """Texts that a signature, or a place for one, lies over: what it shows could be read as theirs."""
    inside: dict[str, Any] = certificate.found() or {}
    places = inside["printed"].get("signature_places")
    boxes = [("a place to sign", one[0], one[1:]) for one in places or () if isinstance(one, list) and one]
    boxes += [("a signature", page, box) for page, box in _annotations(certificate.raw)]
    for called, page, found in boxes:
        box = [one for one in found if isinstance(one, int | float)]
        if len(box) != 4 or len(found) != 4:
            yield f"page {page}: {called} says no place"
            continue
        left, right, bottom, top = *sorted(box[::2]), *sorted(box[1::2])
        yield from (
            f"page {page}: {called} lies over “{one.letters:.60}”"
            for one in seen
            if one.page == page and any(_in((left, bottom, right, top), middle) for middle in one.middles)
        )


def _annotations(revisions: Sequence[Revision]) -> Iterator[tuple[int, list[Any]]]:
    """Yield page and rectangle of everything that lies on a page, as the file stands after every update."""
    latest = Revision(trailer=revisions[0].trailer)
    for revision in revisions:
        latest.objects.update(revision.objects)
    for number, page in enumerate(latest.pages(), 1):
        annotations = latest.at(page.get("Annots"))
        for one in annotations if isinstance(annotations, list) else ():
            item = latest.at(one)
            rectangle = latest.at(item.get("Rect")) if isinstance(item, dict) else None
            yield number, rectangle if isinstance(rectangle, list) else []


def _in(box: Sequence[float], point: tuple[float, float]) -> bool:
    return box[0] < point[0] < box[2] and box[1] < point[1] < box[3]


def _fonts(file: Revision, again: Again) -> Iterator[Check]:
    """Whether letters look like what the fonts' tables call them: made anew, they have the same outlines."""
    odd = [name for name, sound in _made_anew(file, same_bytes=again.same_library) if not sound]
    if odd:
        yield differs(
            "fonts", "Letters of the fonts are not those of the fonts that certgen prints with", odd
        )


def _made_anew(file: Revision, *, same_bytes: bool) -> Iterator[tuple[str, bool]]:
    from reportlab.pdfbase import pdfmetrics

    from certgen.figures.look import BODY, SLANTED, STRONG, load_fonts

    load_fonts()
    faces = {
        (face.name.decode() if isinstance(face.name, bytes) else str(face.name)): face
        for face in (pdfmetrics.getFont(one).face for one in (BODY, STRONG, SLANTED))
    }
    for value in file.objects.values():
        if isinstance(value, dict) and value.get("Type") == "Font":
            name = value.get("BaseFont")
            whole = name if isinstance(name, Name) else ""
            face = faces.get(whole.partition("+")[2])
            yield whole, face is not None and _is_of(face, file, value, same_bytes=same_bytes)


def _is_of(face: Any, file: Revision, font: dict[str, Any], *, same_bytes: bool) -> bool:
    letters = letters_of(file, font)
    descriptor = file.at(font.get("FontDescriptor"))
    data = file.at(descriptor.get("FontFile2")) if isinstance(descriptor, dict) else None
    if not letters or not isinstance(data, Stream):
        return False
    codes = [ord(letters.get(code, "\0")[:1] or "\0") for code in range(max(letters) + 1)]
    widths = file.at(font.get("Widths"))
    # codes without a letter stand for nothing or, as the library fills them, for a space
    idle = {face.charWidths.get(code, face.defaultWidth) for code in (0, ord(" "))}
    known = isinstance(widths, list) and all(
        isinstance(width, int | float)
        and any(
            abs(width - one) < 0.01
            for one in ({face.charWidths.get(code, face.defaultWidth)} if code else idle)
        )
        for code, width in zip(codes, widths, strict=False)
    )
    made = face.makeSubset(codes), face.whole_subset(codes)
    alike = data.data in made or (not same_bytes and any(_look_the_same(one, data.data) for one in made))
    return bool(known and alike)


def _look_the_same(made: bytes, embedded: bytes) -> bool:
    """Whether two fonts draw every code alike, whatever library packed them (ISO/IEC 14496-22:2019, glyf)."""
    try:
        return all(map(eq, *(_outlines(data) for data in (made, embedded))))
    except Exception:  # a font that was changed may break its reader anywhere
        return False


def _outlines(data: bytes) -> list[Any]:
    """What a font draws for each code: points, ends of contours, advance, programs that move points."""
    from fontTools.ttLib import TTFont

    font = TTFont(BytesIO(data))
    glyphs, (table,) = font["glyf"], font["cmap"].tables
    found: list[Any] = [(table.platformID, table.platEncID), font["head"].unitsPerEm]
    found += [font.getTableData(tag) if tag in font else b"" for tag in ("fpgm", "prep", "cvt ")]
    for code in range(256):
        name = table.cmap.get(code, ".notdef")
        points, ends, flags = glyphs[name].getCoordinates(glyphs)
        program = getattr(glyphs[name], "program", None)
        moves = b"" if program is None else bytes(program.getBytecode())
        found.append(
            (code, list(points), list(ends), [flag & 1 for flag in flags], font["hmtx"][name], moves)
        )
    return found
