"""Every certificate is a PDF/A-3b file that carries its survey and its results."""

import json
import re
from dataclasses import replace
from functools import cache
from hashlib import md5, sha256
from io import BytesIO
from pathlib import Path
from typing import Any

import pytest
from PIL import Image, ImageCms
from pypdf import PdfReader

from certgen import resources
from certgen.errors import NoSuchLetter, SurveyRefused
from certgen.figures.logo import logo_of
from certgen.pdf.archive.pdf_a import srgb_profile
from certgen.pdf.canvas import SignaturePlace
from certgen.pdf.pdf_document import certificate, certificate_pdf
from certgen.resources import LANGUAGES
from certgen.results.survey_results import survey_results
from certgen.survey.survey import Paper
from certgen.wording.wording import HouseLook, Logo, Wording
from tests.certificate.forge import forged, objects, stream
from tests.certificate.pdfa import broken_rules
from tests.certificate.samples import WORDING, changed, sample

SAMPLES = sorted(path.stem for path in resources.sample_surveys().glob("*.yaml"))
LARGEST = 400_000  # bytes, for twelve rolls


@cache
def pdf(name: str) -> bytes:
    """Return a sample's certificate."""
    return certificate_pdf(sample(name), WORDING, sample(name).survey.certificate.paper)


def reader(name: str) -> PdfReader:
    """Return a sample's certificate, opened."""
    return PdfReader(BytesIO(pdf(name)), strict=True)


def assert_valid(tmp_path: Path, pdfs: dict[str, bytes]) -> None:
    """Hold certificates against the standard, all in one go: the validator takes a while to start."""
    files = [tmp_path / f"{name}.pdf" for name in pdfs]
    for file in files:
        file.write_bytes(pdfs[file.stem])
    assert broken_rules(*files) == {file.name: [] for file in files}


def test_every_sample_is_valid(tmp_path: Path) -> None:
    """The independent validator finds nothing against ISO 19005-3, level A, and ISO 14289-1."""
    papers: tuple[Paper, ...] = ("A4", "letter")
    pdfs = {
        f"{name} {paper}": certificate_pdf(sample(name), WORDING, paper)
        for name in SAMPLES
        for paper in papers
    }
    assert_valid(tmp_path, pdfs)


def test_other_pages_are_valid(tmp_path: Path) -> None:
    """Small and large paper; a draft, no annexes and some of them."""
    line = sample("tutorial")
    pdfs = {paper: certificate_pdf(line, WORDING, paper) for paper in ("A3", "A5")}
    pdfs["draft"] = certificate(line, WORDING, "A4", draft=True).pdf
    pdfs |= {f"annexes {some}": certificate_pdf(line, WORDING, "A4", annexes=some) for some in ("", "AEH")}
    assert_valid(tmp_path, pdfs)


def test_validator_finds_what_breaks_the_standard(tmp_path: Path) -> None:
    """The check itself works: fonts not embedded, no output intent, figures without words, all are seen."""
    data, spoiled = pdf("tutorial"), {}
    for number, part in objects(data).items():
        if stream(part) is None:
            other = part.replace(b"/FontFile2", b"/FontFileX").replace(b"/OutputIntents", b"/OutputIntentX")
            spoiled[number] = other.replace(b"/Alt(", b"/Old(")
    (tmp_path / "broken.pdf").write_bytes(forged(data, spoiled))
    clauses = {rule.split(":")[0] for rule in broken_rules(tmp_path / "broken.pdf")["broken.pdf"]}
    assert {"3a 6.2.11.4.1-1", "3a 6.2.4.3-2", "ua1 7.3-1"} <= clauses


def test_every_language_is_valid(tmp_path: Path) -> None:
    """Other words, other letters."""
    pdfs = {
        language: certificate_pdf(sample("tutorial"), Wording(resources.templates(), language), "A4")
        for language in LANGUAGES
    }
    assert_valid(tmp_path, pdfs)
    for language, data in pdfs.items():
        assert PdfReader(BytesIO(data)).root_object["/Lang"] == language


def test_house_style_is_valid(tmp_path: Path) -> None:
    """Letterhead and a logo: one half transparent, one in printers' colours, one half seen through."""
    kinds = ("png", "jpeg", "svg")
    pdfs = {kind: certificate_pdf(sample("tutorial"), styled(logo(kind)), "A4") for kind in kinds}
    assert_valid(tmp_path, pdfs)


def test_letterhead_without_glyphs_is_refused() -> None:
    """As any other text."""
    with pytest.raises(NoSuchLetter, match=r"場 \(U\+5834\), 工 \(U\+5DE5\), 紙 \(U\+7D19\)"):
        certificate_pdf(sample("tutorial"), styled(None, "紙工場"), "A4")


def styled(own: Logo | None, line: str = "Fennel Creek") -> Wording:
    """Return the wording in a contractor's style."""
    look = HouseLook(letterhead=(line,), logo=own)
    return Wording(resources.templates(), "en", look=look)


def logo(kind: str) -> Logo:
    """Return a logo as a contractor might have it."""
    if kind == "svg":
        drawn = '<rect width="40" height="20" fill="#1d4e89" fill-opacity="0.5"/>'
        return logo_of(
            f'<svg xmlns="http://www.w3.org/2000/svg" width="40" height="20">{drawn}</svg>'.encode()
        )
    buffer = BytesIO()
    Image.new("RGBA" if kind == "png" else "CMYK", (40, 20), (20, 40, 60, 128)).save(buffer, kind)
    return logo_of(buffer.getvalue())


def test_letters_of_many_scripts_are_valid(tmp_path: Path) -> None:
    """More than one subset of a font, and texts outside PDFDocEncoding in the metadata."""
    name = "Ελληνική Фабрика Żółw"
    line = changed(tmp_path, "tutorial", (sample("tutorial").survey.contractor.name, name))
    assert_valid(tmp_path, {"scripts": certificate_pdf(line, WORDING, "A4")})


def test_letter_without_a_glyph_is_refused(tmp_path: Path) -> None:
    """An empty box says nothing, and the standard forbids it (6.2.11.8)."""
    with pytest.raises(SurveyRefused, match=r"customer.name: no font of the certificate has 紙 \(U\+7D19\)"):
        changed(tmp_path, "tutorial", (sample("tutorial").survey.customer.name, "紙工場"))


def test_twelve_rolls_stay_small() -> None:
    """Fonts are subsets, streams are compressed."""
    assert len(sample("winder_inch").survey.rolls) == 12
    assert len(pdf("winder_inch")) < LARGEST


def test_same_survey_gives_the_same_bytes() -> None:
    """No clock, no chance."""
    first, second = (certificate_pdf(sample("coater_mm"), WORDING, "letter") for _ in range(2))
    assert first == second


@pytest.mark.parametrize("name", SAMPLES)
def test_survey_and_results_travel_inside(name: str) -> None:
    """The exact bytes of the survey; the results with how the certificate was printed."""
    attached = reader(name).attachments
    assert set(attached) == {"survey.yaml", "results.json"}
    assert attached["survey.yaml"][0] == (resources.sample_surveys() / f"{name}.yaml").read_bytes()
    found = json.loads(attached["results.json"][0])
    how = found.pop("printed")
    assert found == json.loads(json.dumps(survey_results(sample(name))))
    assert how["format"] == "certgen-certificate/1"
    assert how["language"] == "en"


def associated(name: str) -> list[dict[str, Any]]:
    """Return the file specifications in the catalog's list of associated files."""
    return [item.get_object() for item in reader(name).root_object["/AF"]]


def test_attachments_say_what_they_are() -> None:
    """Names, relationship, media type, size, date and check sum (ISO 19005-3:2012, 6.8)."""
    survey, found = associated("tutorial")
    assert (survey["/AFRelationship"], found["/AFRelationship"]) == ("/Source", "/Data")
    for item, name, kind in ((survey, "survey.yaml", "yaml"), (found, "results.json", "json")):
        stream = item["/EF"]["/F"].get_object()
        assert (item["/F"], item["/UF"], stream["/Subtype"]) == (name, name, f"/application/{kind}")
        assert item["/Desc"]
        data, about = stream.get_data(), stream["/Params"]
        assert about["/Size"] == len(data)
        assert about["/ModDate"] == "D:20260306000000Z"
        assert about["/CheckSum"].original_bytes == md5(data, usedforsecurity=False).digest()


def test_metadata_says_the_same_as_the_information() -> None:
    """Title, author, subject, keywords, creator, producer and both dates (ISO 19005-3:2012, 6.6.2)."""
    opened = reader("tutorial")
    info, xmp = opened.metadata, opened.xmp_metadata
    assert info is not None
    assert xmp is not None
    assert xmp.dc_title == {"x-default": info.title}
    assert xmp.dc_creator == [info.author]
    assert xmp.dc_description == {"x-default": info.subject}
    assert (xmp.pdf_keywords, xmp.pdf_producer) == (info["/Keywords"], info.producer)
    assert xmp.xmp_creator_tool == info.creator
    assert (xmp.xmp_create_date, xmp.xmp_modify_date) == (
        info.creation_date.replace(tzinfo=None) if info.creation_date else None,
        info.modification_date.replace(tzinfo=None) if info.modification_date else None,
    )


def test_metadata_holds_a_digest_of_all_before_it() -> None:
    """Pages, fonts, attachments and information: a changed byte in any of them is found."""
    data = pdf("tutorial")
    start = data.rindex(b" 0 obj\n<< /Type /Metadata")
    start = data.rindex(b"\n", 0, start) + 1
    (found,) = re.findall(rb"<certgen:digest>(\w+)</certgen:digest>", data)
    assert sha256(data[:start]).hexdigest() == found.decode()


def test_file_ends_once_and_names_itself() -> None:
    """One end mark, two equal identifiers, no script, nothing encrypted."""
    data, trailer = pdf("winder_inch"), reader("winder_inch").trailer
    assert data.count(b"%%EOF") == 1
    assert trailer["/ID"][0] == trailer["/ID"][1]
    assert "/Encrypt" not in trailer
    assert b"JavaScript" not in data


def test_document_opens_with_title_and_bookmarks() -> None:
    """A bookmark for every section, on the page where its head stands."""
    opened = reader("winder_inch")
    assert opened.root_object["/ViewerPreferences"]["/DisplayDocTitle"] is not None
    entries = [(str(one.title), opened.get_destination_page_number(one)) for one in opened.outline]
    assert len(entries) > 10
    for title, page in entries:
        assert title in opened.pages[page].extract_text()
    assert [page for _, page in entries] == sorted(page for _, page in entries)


def test_places_to_sign_stand_above_their_names() -> None:
    """On the page of the signatures, side by side, in reading order."""
    printed = certificate(sample("winder_inch"), WORDING, "A4")
    first, second = printed.places
    assert isinstance(first, SignaturePlace)
    text = PdfReader(BytesIO(printed.pdf)).pages[first.page - 1].extract_text()
    assert sample("winder_inch").survey.contractor.approved_by in text
    assert first.box[2] <= second.box[0]
    assert second.box[3] - second.box[1] >= 30


def test_text_of_the_metadata_is_escaped(tmp_path: Path) -> None:
    """A name that looks like mark-up stays a name."""
    name = "A & B <Rolls>"
    line = changed(tmp_path, "tutorial", (sample("tutorial").survey.contractor.name, f'"{name}"'))
    xmp = PdfReader(BytesIO(certificate_pdf(line, WORDING, "A4"))).xmp_metadata
    assert xmp is not None
    assert xmp.dc_creator == [name]


def test_colour_profile_is_that_of_srgb() -> None:
    """Against the colour engine's own: no colour differs by more than one step in 255."""
    ours = ImageCms.ImageCmsProfile(BytesIO(srgb_profile()))
    grid = bytes(
        v for r in range(0, 256, 17) for g in range(0, 256, 17) for b in range(0, 256, 17) for v in (r, g, b)
    )
    image = Image.frombytes("RGB", (len(grid) // 3, 1), grid)
    turned = ImageCms.profileToProfile(image, ours, ImageCms.createProfile("sRGB"))
    assert turned is not None
    assert max(abs(a - b) for a, b in zip(grid, turned.tobytes(), strict=True)) <= 1


def test_day_of_issue_is_the_date_of_the_file() -> None:
    """The survey's date, never the clock's."""
    later = sample("tutorial")
    head = replace(later.survey.certificate, issued=later.survey.certificate.issued.replace(year=2031))
    moved = replace(later, survey=replace(later.survey, certificate=head))
    info = PdfReader(BytesIO(certificate_pdf(moved, WORDING, "A4"))).metadata
    assert info is not None
    assert info["/ModDate"] == "D:20310306000000Z"
