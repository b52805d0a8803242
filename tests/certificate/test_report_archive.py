"""Every report beside the certificate is a PDF/A-3b file that carries what it is worked out from."""

import json
import re
from hashlib import sha256
from io import BytesIO
from itertools import product
from pathlib import Path
from typing import get_args

import pytest
from pypdf import PdfReader

from certgen import resources
from certgen.errors import NotVerified
from certgen.resources import LANGUAGES
from certgen.survey.survey import Paper
from certgen.verify.issued_file import carried, files_inside, opened
from certgen.wording.wording import HouseLook, Wording
from tests.certificate.reports import KINDS, SAMPLES, made, report, results_of
from tests.certificate.samples import WORDING
from tests.certificate.test_archive import assert_valid, logo, styled

FORMATS = {
    "study": "certgen-study/1",
    "comparison": "certgen-compare/1",
    "comparison within": "certgen-compare/1",
    "trend": "certgen-trend/1",
    "work sheet": "certgen-moves/1",
}


def reader(kind: str) -> PdfReader:
    """Return a report, opened."""
    return PdfReader(BytesIO(report(kind)), strict=True)


def text_of(kind: str) -> str:
    """Return the text of all its pages without white space: digests may be broken over lines."""
    return "".join("".join(page.extract_text().split()) for page in reader(kind).pages)


def test_every_report_is_valid_in_every_language(tmp_path: Path) -> None:
    """The independent validator finds nothing against ISO 19005-3, level B."""
    wordings = {language: Wording(resources.templates(), language) for language in LANGUAGES}
    pdfs = {
        f"{kind} {language}": made(kind, wording, "A4")
        for kind, (language, wording) in product(KINDS, wordings.items())
    }
    assert_valid(tmp_path, pdfs)
    for name, data in pdfs.items():
        assert name.endswith(f" {PdfReader(BytesIO(data)).root_object['/Lang']}")


def test_every_report_is_valid_in_house_style_on_every_paper(tmp_path: Path) -> None:
    """Letterhead, logo as a picture and drawn, own colours; small and large pages."""
    looks = {logo_kind: styled(logo(logo_kind)) for logo_kind in ("png", "svg")}
    look = HouseLook(("Fennel Creek",), logo("jpeg"), "#8a1c7c", "#0b5d1e")
    looks["colours"] = Wording(resources.templates(), "de", look=look)
    papers: dict[str, Paper] = dict(zip(looks, ("A5", "letter", "A3"), strict=True))
    pdfs = {f"{kind} {name}": made(kind, looks[name], papers[name]) for kind in KINDS for name in looks}
    assert set(papers.values()) | {"A4"} == set(get_args(Paper))
    assert_valid(tmp_path, pdfs)


@pytest.mark.parametrize("kind", KINDS)
def test_surveys_travel_inside_byte_for_byte(kind: str) -> None:
    """Under one name, or numbered in the order of time."""
    inside, _ = files_inside(report(kind))
    names = ["survey.yaml"] if len(SAMPLES[kind]) == 1 else [f"survey-{n + 1}.yaml" for n in range(9)]
    expected = {
        name: (resources.sample_surveys() / f"{one}.yaml").read_bytes()
        for name, one in zip(names, SAMPLES[kind], strict=False)
    }
    assert len(expected) == len(SAMPLES[kind])
    assert {name: data for name, data in inside.items() if name != "results.json"} == expected
    assert {name: data for name, (data,) in reader(kind).attachments.items()} == inside


@pytest.mark.parametrize("kind", KINDS)
def test_results_inside_are_those_of_the_command(kind: str) -> None:
    """With how the report was printed beside them."""
    found = json.loads(files_inside(report(kind))[0]["results.json"])
    how = found.pop("printed")
    assert found == json.loads(json.dumps(results_of(kind)))
    assert found["format"] == FORMATS[kind]
    assert (how["format"], how["kind"]) == ("certgen-report/1", kind.removesuffix(" within"))
    assert (how["language"], how["paper"]) == ("en", "A4")


@pytest.mark.parametrize("kind", KINDS)
def test_pages_name_every_file_inside_with_its_digest(kind: str) -> None:
    """So that paper and file can be held against each other."""
    text = text_of(kind)
    for name, data in files_inside(report(kind))[0].items():
        assert re.search(rf"{re.escape(name)}:?\w.*?SHA-256{sha256(data).hexdigest()}", text), name


@pytest.mark.parametrize("kind", KINDS)
def test_metadata_says_what_the_report_is(kind: str) -> None:
    """Form and kind; the same as the document information; a digest of all before it."""
    found = opened(report(kind))
    assert found.metadata("certgen:format") == "certgen-report/1"
    assert found.metadata("certgen:kind") == kind.removesuffix(" within")
    assert [one for one in found.information().values() if one[0] != one[1] or not one[0]] == []
    assert found.metadata("certgen:digest") == sha256(found.base[: found.packet_at]).hexdigest()
    assert found.appended == b""


@pytest.mark.parametrize("kind", KINDS)
def test_date_of_a_report_is_the_latest_day_of_issue(kind: str) -> None:
    """The surveys' date, never the clock's."""
    days = {
        "study": "2026-05-22",
        "comparison": "2027-10-15",
        "trend": "2028-10-13",
        "work sheet": "2026-08-14",
        "comparison within": "2026-08-14",
    }
    assert opened(report(kind)).metadata("xmp:CreateDate") == f"{days[kind]}T00:00:00Z"


@pytest.mark.parametrize("kind", KINDS)
def test_report_has_a_bookmark_for_every_section(kind: str) -> None:
    """On the page where its head stands, in reading order."""
    found = reader(kind)
    entries = [(str(one.title), found.get_destination_page_number(one)) for one in found.outline]
    assert len(entries) >= 2
    for title, page in entries:
        assert title in " ".join(found.pages[page].extract_text().split())
    assert [page for _, page in entries] == sorted(page for _, page in entries)


@pytest.mark.parametrize("kind", KINDS)
def test_same_report_gives_the_same_bytes(kind: str) -> None:
    """No clock, no chance."""
    assert made(kind, WORDING, "A4") == report(kind)


@pytest.mark.parametrize("kind", KINDS)
def test_report_is_no_certificate(kind: str) -> None:
    """Whoever takes it for one is told what it is."""
    names = {
        "study": "a reference study",
        "trend": "a trend over several visits",
        "work sheet": "a work sheet for the moves",
    }
    with pytest.raises(NotVerified) as told:
        carried(report(kind))
    name = names.get(kind, "a comparison of surveys")
    assert str(told.value).startswith(f"this is {name}, not a certificate, and certgen verify is for cert")


def test_report_of_a_kind_to_come_is_no_certificate_either() -> None:
    """What the metadata says is not repeated, only known kinds are named."""
    data = report("trend").replace(b"<certgen:kind>trend<", b"<certgen:kind>other<")
    with pytest.raises(NotVerified, match="this is a report, not a certificate"):
        carried(data)


@pytest.mark.parametrize("name", [b"../vey-1.yaml", b"survey-0.yaml", b"survey-1.yamx"])
def test_file_of_another_name_is_not_given_back(name: bytes) -> None:
    """A name that leads out of the folder, or that no report has."""
    data = report("trend").replace(b"(survey-1.yaml)", b"(%s)" % name)
    assert data != report("trend")
    with pytest.raises(NotVerified, match="not those of a report"):
        files_inside(data)


def test_report_cut_off_is_told() -> None:
    """Any place may break the reader; the message is one of ours."""
    data = report("work sheet")
    for tenths in range(10):
        with pytest.raises(NotVerified):
            files_inside(data[: tenths * len(data) // 10])
