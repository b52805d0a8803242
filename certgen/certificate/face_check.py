"""What is seen of a signature: nothing, what certgen draws for that signer and time, or something else.

A picture of a signature's own may say anything, over the name of anybody, and lies in no page compared.
"""

import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from io import BytesIO
from typing import Any

from pypdf import PageObject, PdfReader
from pypdf.generic import DictionaryObject, StreamObject

from certgen.certificate.canvas import SignaturePlace
from certgen.certificate.signature_face import signature_face
from certgen.certificate.verification import Check, differs, remark
from certgen.certificate.verify_objects import same
from certgen.certificate.wording import Wording

_LONGEST = 300  # letters of a picture that are told
_DRAWN = b"q q /BackgroundGS gs 1 0 0 1 0 0 cm /Face Do Q Q"  # around the face, as the library writes it
_PLAIN = {"/BackgroundGS": {"/CA": 1, "/ca": 1}}
_OUTER = {"/BBox", "/Resources", "/Type", "/Subtype", "/Length", "/Filter"}
_INNER = _OUTER
_MOMENT = re.compile(rb"\d{4}-\d\d-\d\d \d\d:\d\d UTC")
_LONGEST_RUN = timedelta(days=1)  # a face names the moment when the program was started


@dataclass(frozen=True, slots=True)
class Seen:
    """The field of a signature or time stamp as the page shows it, and where its signature stands."""

    field: DictionaryObject

    @classmethod
    def of(cls, data: bytes, byte_range: Sequence[int]) -> "Seen":
        """Return the field whose signature covers these bytes; ValueError where there is none."""
        form = PdfReader(BytesIO(data)).root_object["/AcroForm"].get_object()
        for each in form["/Fields"]:  # type: ignore[index]  # a dictionary
            field = each.get_object()
            value = field.get("/V", DictionaryObject()).get_object()
            if list(map(int, value.get("/ByteRange", ()))) == list(map(int, byte_range)):
                return cls(field)
        raise ValueError("its field is not in the form")

    @property
    def box(self) -> list[float]:
        """Its rectangle on the page, in points."""
        return [float(side) for side in self.field.get("/Rect", ())]

    @property
    def is_seen(self) -> bool:
        """Whether its rectangle covers anything."""
        box = self.box
        return len(box) != 4 or box[0] != box[2] or box[1] != box[3]

    def says(self) -> str:
        """Return the text of the picture, in one line; it may be a drawing without any."""
        picture = self._picture()
        if picture is None:
            return ""
        text = PageObject.create_blank_page(None, 1, 1).extract_xform_text(picture)  # type: ignore[arg-type]
        return " ".join(text.split())[:_LONGEST]

    def is_ours(self, name: str, wording: Wording | None) -> bool:
        """Tell whether it is what certgen draws for a signer of that name, with that moment."""
        outer = self._picture()
        if wording is None or outer is None or {*self.field["/AP"]} != {"/N"}:  # type: ignore[misc]  # a dictionary
            return False
        resources: Any = outer.get("/Resources", DictionaryObject()).get_object()
        drawn: Any = resources.get("/XObject", DictionaryObject()).get_object()
        if {*outer} - _OUTER or outer.get_data() != _DRAWN or {*drawn} != {"/Face"}:
            return False
        if {*resources} != {"/ExtGState", "/XObject"} or resources["/ExtGState"] != _PLAIN:
            return False
        inner, box = drawn["/Face"].get_object(), self.box
        moment = self._moment(inner.get_data())
        if {*inner} - _INNER or moment is None or not self._fills(outer, inner):
            return False
        place = SignaturePlace(1, (box[0], box[1], box[2], box[3]))
        page = PdfReader(BytesIO(signature_face(place, name, moment, wording))).pages[0]
        content = page.get_contents()
        alike = content is not None and content.get_data() == inner.get_data()
        return alike and same(inner["/Resources"], page["/Resources"])

    def _picture(self) -> StreamObject | None:
        looks = self.field.get("/AP", DictionaryObject()).get_object()
        found = looks.get("/N") if isinstance(looks, DictionaryObject) else None
        stream = None if found is None else found.get_object()
        return stream if isinstance(stream, StreamObject) else None

    def _fills(self, *pictures: StreamObject) -> bool:
        """Whether both are as large as the place, so that nothing is stretched or cut off."""
        left, bottom, right, top = self.box
        wanted = [0.0, 0.0, right - left, top - bottom]
        corners = [[float(side) for side in one["/BBox"]] for one in pictures]  # type: ignore[attr-defined]
        return all(
            [*map(min, each[:2], each[2:]), *map(max, each[:2], each[2:])] == wanted for each in corners
        )

    def _moment(self, content: bytes) -> datetime | None:
        """The moment in the face, where it is that of the signature."""
        told = _MOMENT.search(content)
        value: Any = self.field["/V"].get_object()
        said = re.fullmatch(r"D:(\d{14})(Z|\+00'00'?)?", str(value.get("/M", "")))
        if told is None or said is None:
            return None
        moment = datetime.strptime(told[0].decode(), "%Y-%m-%d %H:%M UTC").replace(tzinfo=UTC)
        signed = datetime.strptime(said[1], "%Y%m%d%H%M%S").replace(tzinfo=UTC)
        return moment if moment <= signed <= moment + _LONGEST_RUN else None


def face(seen: Seen, name: str, wording: Wording | None, trusting: bool) -> Iterator[Check]:
    """Yield what is wrong with the picture of a signature; with authorities to trust it is a fault."""
    if seen.is_seen and not seen.is_ours(name, wording):
        text = f"The signature's own picture says: {seen.says() or 'nothing that can be read as text'}"
        told = f"certgen draws another for {name}; only what the checks say of a signature counts"
        yield differs("face", text, (told,)) if trusting else remark("face", text, (told,))


def stamp_face(seen: Seen) -> Iterator[Check]:
    """Yield a fault where a time stamp of the document is seen on a page: none that belongs here is."""
    if seen.is_seen:
        said = seen.says() or "nothing that can be read as text"
        yield differs("face", f"A time stamp shows itself on a page, and says: {said}")
