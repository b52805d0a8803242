"""What was appended to a certificate after it was issued: nothing, or signatures in the places for them.

A signature may bring with it what its check needs later: the store of certificates and their states (DSS) and
time stamps of the whole document (ETSI EN 319 142-1: PAdES B-LT and B-LTA). Nothing else may follow.
"""

from collections.abc import Iterator, Sequence
from importlib.util import find_spec
from io import BytesIO
from typing import Any
from xml.etree import ElementTree

from pypdf import PdfReader
from pypdf.generic import DictionaryObject, StreamObject

from certgen.verify.allowed_objects import LeaveOut, differences
from certgen.verify.compare_contents import Check, differs, held
from certgen.verify.issued_file import Carried
from certgen.verify.pdf_objects import Reference, Stream
from certgen.wording.wording import Wording

# what a signature adds to the catalog (ISO 32000-1:2008, 12.7.2, 7.12; ISO 32000-2:2020, 12.8.4.3); all else
# must stay as issued
_OF_A_SIGNATURE = ("/AcroForm", "/Extensions", "/DSS", "/Metadata")
_OF_AN_UPDATE = ("/ModDate", "/Producer")
_UPDATED = ("ModifyDate", "MetadataDate", "Producer", "schemas", "about")
_RDF = "{http://www.w3.org/1999/02/22-rdf-syntax-ns#}"
_LONGEST_PACKET = 100_000
_FORM_KEYS = {"/Fields", "/SigFlags"}
_WIDGET_KEYS = {"/StructParent"} | frozenset(
    (
        "/Type",
        "/Subtype",
        "/FT",
        "/T",
        "/F",
        "/Ff",
        "/Rect",
        "/P",
        "/AP",
        "/V",
        "/Lock",
        "/SV",
        "/TU",
        "/StructParent",
    )
)
# 12.8.1 of ISO 32000-1:2008, and those of PAdES
_SIGNATURE_KEYS = frozenset(
    [
        *("/Type", "/Filter", "/SubFilter", "/Contents", "/ByteRange", "/M", "/Name", "/Reason", "/Location"),
        *("/ContactInfo", "/Reference", "/Prop_Build", "/Cert"),
    ]
)
_PLACE = "/Div"  # the role of a place to sign
_STORE_KEYS = frozenset(("/Type", "/Certs", "/CRLs", "/OCSPs", "/VRI"))
_STORED_KEYS = frozenset(("/Type", "/Cert", "/CRL", "/OCSP", "/TU", "/TS"))
# nothing that a signature leads to acts, holds a file or leads elsewhere
_NEVER = frozenset(
    (
        "A",
        "AA",
        "JS",
        "OpenAction",
        "EF",
        "EmbeddedFiles",
        "URI",
        "Launch",
        "XFA",
        "OC",
        "OCProperties",
        "RichMedia",
    )
)


def appended(
    certificate: Carried, places: Sequence[Any], trust: Sequence[bytes], wording: Wording | None
) -> Iterator[Check]:
    """Yield the checks of what follows the certificate as issued.

    `places` are those to sign, each page, left, bottom, right, top in points; `trust` are the certificates of
    trusted authorities: where there are some, the certificate has to be signed, or its signature may have
    been cut off. `wording` are the words that certgen draws a signature with.
    """
    if not certificate.appended:
        yield held("appended", "Nothing was appended to the certificate; it is not signed")
        if trust:
            yield differs(
                "trust",
                "There is no signature, so none of anybody to whom a trusted authority gave a certificate",
            )
        return
    whole = PdfReader(BytesIO(certificate.data))
    if "/AcroForm" not in whole.root_object:
        text = (
            f"{len(certificate.appended)} bytes were appended to the certificate, and they are no signature"
        )
        yield differs("appended", text)
        return
    yield _beside(tuple(_beside_signatures(certificate, whole, places)))
    if find_spec("pyhanko") is None:
        text = "The certificate is signed, and that cannot be checked here: pip install 'certgen[sign]'"
        yield differs("signature", text)
        return
    from certgen.verify.signatures import signatures

    yield from signatures(certificate.data, trust, wording)


def _beside(faults: Sequence[str]) -> Check:
    if faults:
        return differs("appended", "More than a signature was added to the certificate", faults)
    return held("appended", "Nothing but signatures in their places was added to the certificate")


def _beside_signatures(certificate: Carried, whole: PdfReader, places: Sequence[Any]) -> Iterator[str]:
    yield from differences(certificate.reader, whole, _may_differ(certificate.reader))
    yield from _tags(whole)
    form = whole.root_object.get("/AcroForm", DictionaryObject()).get_object()
    yield from (f"a form with {key}" for key in sorted({*form} - _FORM_KEYS))
    yield from _metadata(certificate, whole)
    yield from _fields(form)
    yield from _store(whole.root_object.get("/DSS", DictionaryObject()).get_object())
    for number, page in enumerate(whole.pages, 1):
        for annotation in page.get("/Annots", ()):
            yield from _odd(number, annotation.get_object(), places)
    yield from _raw(certificate)


def _may_differ(issued: PdfReader) -> LeaveOut:
    """What a signature changes: the form, its page, and its place in the tree of the document."""
    empty = {
        f"/Root/StructTreeRoot/K/K/{index}"
        for index, one in enumerate(_elements(issued))
        if one.get("/S") == _PLACE and "/K" not in one
    }

    def leaves_out(path: str, key: str) -> bool:
        if path == "/Info":
            return key in _OF_AN_UPDATE
        if key == "/K" and path in empty:
            return True
        if key == "/Nums" and path == "/Root/StructTreeRoot/ParentTree/Kids/1":
            return True
        return (path == "/Root" and key in _OF_A_SIGNATURE) or key == "/Annots"

    return leaves_out


def _elements(file: PdfReader) -> list[DictionaryObject]:
    """The elements of a tagged document, those of the first level; none of a document without tags."""
    tree = file.root_object.get("/StructTreeRoot", DictionaryObject()).get_object()
    document = tree.get("/K", DictionaryObject()).get_object()
    return [kid.get_object() for kid in document.get("/K", ())]


def _tags(whole: PdfReader) -> Iterator[str]:
    """What stands in the place to sign beside the field of a signature, and where its entry leads."""
    forms = [one.raw_get("/K") for one in _elements(whole) if one.get("/S") == _PLACE and "/K" in one]
    for form in forms:
        one: Any = form.get_object()
        content: Any = one.get("/K", {}) if isinstance(one, DictionaryObject) else {}
        if {*one} != {"/S", "/P", "/K"} or one.get("/S") != "/Form" or {*content} != {"/Type", "/Obj", "/Pg"}:
            yield "a place to sign that holds more than the field of a signature"
            continue
        field = content["/Obj"].get_object()
        if content.get("/Type") != "/OBJR" or field.get("/FT") != "/Sig":
            yield "a place to sign that leads to something else than the field of a signature"
    if not forms:
        return
    tree: Any = whole.root_object["/StructTreeRoot"].get_object()
    entry = tree["/ParentTree"]["/Kids"][-1].get_object()["/Nums"].get_object()
    if [one.idnum for one in entry[1::2]] != [form.idnum for form in forms]:
        yield "an entry of the tree of the document that leads elsewhere than to the place to sign"


def _metadata(certificate: Carried, whole: PdfReader) -> Iterator[str]:
    """What signing programs leave as it is; they write only when and by what the file was updated."""
    stream = whole.root_object.get("/Metadata", DictionaryObject()).get_object()
    packet = stream.get_data() if isinstance(stream, StreamObject) else b""
    if packet != certificate.packet:
        one, other = _properties(certificate.packet), _properties(packet)
        yield from (
            f"other metadata, {name.rpartition('}')[2]}"
            for name in sorted({*one, *other})
            if one.get(name) != other.get(name)
        )


def _properties(packet: bytes) -> dict[str, str]:
    """The text of every property of the metadata (ISO 16684-1:2012), but those that every update changes."""
    if b"<!" in packet or len(packet) > _LONGEST_PACKET:
        return {"declarations, or too much": ""}
    try:
        described = ElementTree.fromstring(packet.strip()).findall(f"{_RDF}RDF/{_RDF}Description")  # noqa: S314
    except (ElementTree.ParseError, ValueError):
        return {"no XML": ""}
    found: dict[str, str] = {}
    for one in described:  # a short property may as well stand as an attribute
        found |= one.attrib
        found |= {item.tag: " ".join(" ".join(item.itertext()).split()) for item in one}
    return {name: text for name, text in found.items() if name.rpartition("}")[2] not in _UPDATED}


def _fields(form: DictionaryObject) -> Iterator[str]:
    for field in form.get("/Fields", ()):
        one = field.get_object()
        if one.get("/FT") != "/Sig" or "/Kids" in one:
            yield f"a form field that is no signature ({one.get('/FT')})"
        value = one.get("/V", DictionaryObject()).get_object()
        yield from (f"a signature with {key}" for key in sorted({*value} - _SIGNATURE_KEYS))


def _store(store: DictionaryObject) -> Iterator[str]:
    yield from (f"a store of certificates with {key}" for key in sorted({*store} - _STORE_KEYS))
    for one in store.get("/VRI", DictionaryObject()).get_object().values():
        item = one.get_object()
        if isinstance(item, DictionaryObject):
            yield from (f"a store of certificates with {key}" for key in sorted({*item} - _STORED_KEYS))


def _odd(page: int, annotation: DictionaryObject, places: Sequence[Any]) -> Iterator[str]:
    """What about an annotation is not that of a signature in its place."""
    if annotation.get("/Subtype") != "/Widget" or annotation.get("/FT") != "/Sig":
        yield f"page {page}: an annotation {annotation.get('/Subtype')}"
        return
    yield from (f"page {page}: a signature with {key}" for key in sorted({*annotation} - _WIDGET_KEYS))
    box: Any = annotation["/Rect"]
    unseen = box[0] == box[2] and box[1] == box[3]  # of a time stamp: nothing of it is shown
    if not unseen and not any(_lies_in(page, box, place) for place in places):
        yield f"page {page}: a signature that is not in a place for it"


def _raw(certificate: Carried) -> Iterator[str]:
    """What of all objects that were appended never belongs to a signature, whatever leads to it."""
    objects: dict[int, Any] = {}
    for revision in certificate.raw:
        objects |= revision.objects
    reached: set[int] = set()
    for revision in certificate.raw:
        _reach(objects, list(revision.trailer.values()), reached)
    issued = certificate.raw[0].objects.keys()
    for number in objects:
        if number not in issued and number not in reached:
            yield f"object {number}, to which nothing leads"
    for revision in certificate.raw[1:]:
        for number, value in revision.objects.items():
            yield from (f"object {number} with /{key}" for key in sorted(_keys(value) & _NEVER))


def _reach(objects: dict[int, Any], values: list[Any], reached: set[int]) -> None:
    """Add the numbers of all objects that values lead to."""
    while values:
        value = values.pop()
        if isinstance(value, Reference):
            if value.number not in reached:
                reached.add(value.number)
                values.append(objects.get(value.number))
        else:
            values += _below(value)


def _below(value: Any) -> list[Any]:
    value = value.keys if isinstance(value, Stream) else value
    return list(value.values()) if isinstance(value, dict) else value if isinstance(value, list) else []


def _keys(value: Any) -> set[str]:
    """Every key of a value, at any depth."""
    found: set[str] = set()
    values = [value]
    while values:
        one = values.pop()
        one = one.keys if isinstance(one, Stream) else one
        found |= one.keys() if isinstance(one, dict) else set()
        values += _below(one)
    return found


def _lies_in(page: int, box: Any, place: Any) -> bool:
    """Tell whether a rectangle lies in a place, up to rounding to whole points."""
    number, left, bottom, right, top = place
    return bool(
        page == number
        and left - 1 <= box[0] <= box[2] <= right + 1
        and bottom - 1 <= box[1] <= box[3] <= top + 1
    )
