"""The pages of the site: what they say, where they lead, and that nothing comes from elsewhere."""

import re
from base64 import b64encode
from dataclasses import replace
from hashlib import sha256
from html import unescape
from pathlib import Path
from posixpath import dirname, join, normpath

import pytest

from certgen import resources
from certgen.document.compose import compose
from certgen.document.content import Table
from certgen.document.trend_section import trend_conclusion
from certgen.register.entries import PDF, RESULTS
from certgen.register.find import Wanted
from certgen.register.intake import identified
from certgen.register.register import Register
from certgen.register.site.page import standing_verdict
from certgen.register.site.site import ABOUT
from certgen.resources import LANGUAGES
from certgen.visits.trend import trend
from certgen.wording.values import numbers_for
from certgen.wording.wording import Wording
from tests.certificate.samples import WORDING, sample
from tests.certificate.test_html import Page
from tests.register.fakes import WHEN, signed
from tests.register.site.held import (
    SAMPLES,
    WINDER,
    WISH,
    Files,
    held,
    held_as,
    register_of,
    sample_path,
    site_of,
)
from tests.survey.sound import survey as sound_survey


def pages(files: Files) -> dict[str, str]:
    """Return the pages of a site as text."""
    return {name: data.decode() for name, data in files.items() if name.endswith(".html")}


def page_of(files: Files, part: str) -> str:
    """Return the one page whose name has this part."""
    (text,) = (text for name, text in pages(files).items() if part in name)
    return text


def texts(page: str) -> str:
    """Return what a reader sees, in one line."""
    return " ".join(" ".join(Page(page).texts).split())


def row_of(page: str, text: str) -> str:
    """Return the one row of the overview's tables that has this text, its marks taken away."""
    rows = [row for row in re.findall(r"<tr[^>]* data-words.*?</tr>", page) if text in row]
    (row,) = rows
    return unescape(re.sub(r"<[^>]*>", " ", row))


def test_every_link_leads_to_a_file_of_the_site(files: Files) -> None:
    """From every page, and every file but the overview and the site's own record is led to."""
    led: set[str] = set()
    for name, text in pages(files).items():
        links = {unescape(link) for link in re.findall(r'href="([^"]*)"', text)}
        targets = {normpath(join(dirname(name), link)) for link in links if not link.startswith("#")}
        assert targets <= files.keys(), name
        led |= targets
    assert led == files.keys() - {ABOUT}
    assert {name for name in files if name.startswith("lines/")} <= led


def test_pages_are_well_formed_and_have_their_places(files: Files) -> None:
    """One heading of the first order, one main part, ids that stand once, a way past the head."""
    for text in pages(files).values():
        page = Page(text)
        assert [len(page.of(tag)) for tag in ("title", "h1", "main", "header", "footer")] == [1] * 5
        ids = [attributes["id"] for _, attributes in page.elements if "id" in attributes]
        assert len(ids) == len(set(ids))
        assert page.of("a")[0]["href"] == "#main"


def test_pages_need_nothing_from_elsewhere(files: Files) -> None:
    """One script, in the overview, which the page allows by its digest and nothing else."""
    for name, text in pages(files).items():
        assert re.findall(r"https?://(?!www\.w3\.org/2000/svg)", text) == []
        assert re.findall(r'src="(?!data:)', text) == []
        assert "default-src 'none'" in text
        assert ("<script" in text) == (name == "index.html")
    script = re.search(r"<script>(.*?)</script>", files["index.html"].decode(), re.DOTALL)
    assert script is not None
    digest = b64encode(sha256(script[1].encode()).digest()).decode()
    assert f"script-src 'sha256-{digest}'" in unescape(files["index.html"].decode())


def test_line_says_what_its_trend_says(files: Files) -> None:
    """The sentences of the trend, the numbers of its tables, every roll in a drawing."""
    found = trend([sample(name).solution for name in WINDER])
    page = page_of(files, "lines/ln3-wnd")
    shown = texts(page)
    for text in trend_conclusion(found, numbers_for(found.surveys[-1], WORDING.digits), WORDING):
        assert text in shown
    drawn = "".join(re.findall(r"<svg.*?</svg>", page))
    titles = re.findall(r">([^<>]+), level<", drawn)
    assert sorted(titles) == ["R1 – R7, R9 – R12", "R3", "R8"]


@pytest.mark.parametrize("name", ["winder_inch", "tutorial", "dryer_mixed"])
def test_certificate_says_the_numbers_it_was_issued_with(name: str, files: Files) -> None:
    """Every cell of the tables of results, in the units of the certificate; verdicts and counts."""
    number = sample(name).survey.certificate.number
    shown = Page(page_of(files, f"_{number}_")).texts
    (results,) = (
        s for s in compose(sample(name), WORDING).sections if s.title == WORDING.word("section_results")
    )
    tables = [block for block in results.blocks if isinstance(block, Table)][:2]
    cells = {line for table in tables for row in table.rows for cell in row for line in cell.split("\n")}
    assert cells - {""} <= set(shown)
    assert sample(name).overall["as_found"] in shown


def test_recorded_results_are_shown_and_not_computed_again(tmp_path: Path) -> None:
    """Of a certificate whose survey would give others, what was recorded stands on its page."""
    register = register_of(tmp_path, [held_as(sample("tutorial"), sample_path("winder_inch").read_bytes())])
    page = page_of(site_of(register), "certificates/")
    assert "Inspection rewinder" in page
    assert all(f">{roll.id}<" in page for roll in sample("tutorial").rolls)
    assert ">R12<" not in page


def test_overview_tells_each_line_in_a_row(files: Files) -> None:
    """When it was surveyed, how it was left, when it is due, whether it drifts."""
    index = files["index.html"].decode()
    lines = index[: index.index('id="certificates"')]
    winder, rewinder = row_of(lines, "Spunbond line 3 winder section"), row_of(lines, "Inspection rewinder")
    assert "by 2029-08-03 (trend)" in " ".join(winder.split())
    assert "drift: R8 level, R2 parallel; not steady: R7 parallel" in winder
    assert "overdue since 2027-03-04" in " ".join(rewinder.split())
    assert "One visit so far" in rewinder


def test_overview_links_calibrations_to_what_relied_on_them(files: Files) -> None:
    """With the day on which they ran out."""
    index = files["index.html"].decode()
    row = next(row for row in re.findall(r"<tr[^>]* data-words.*?</tr>", index) if "TL-0188" in row)
    assert "2026-09-15" in row
    assert re.search(r'href="certificates/\d+_TB-2026-014_0\.html"', row)


def test_certificate_that_was_revised_is_said_to_be_replaced(tmp_path: Path) -> None:
    """The revision is the latest; the line counts one visit."""
    text = sample_path("tutorial").read_text("utf-8")
    path = tmp_path / "revised.yaml"
    revised = text.replace(
        "revision: 0", 'revision: 1, supersedes: "TB-2026-014, revision 0", reason: a slip'
    )
    assert revised != text
    path.write_text(revised, "utf-8")
    files = site_of(register_of(tmp_path / "kept", [held(sample_path("tutorial")), held(path)]))
    assert "replaced" in texts(page_of(files, "TB-2026-014_0"))
    revision = texts(page_of(files, "TB-2026-014_1"))
    assert "latest of its line" in revision
    assert "a slip" in revision
    assert "One visit so far" in files["index.html"].decode()
    assert "2, of which 1 not replaced" in files["index.html"].decode()


def test_site_of_one_customer_names_no_other(kept: Register) -> None:
    """In no file: neither lines nor certificates nor instruments."""
    wish = replace(WISH, wanted=Wanted(customer="ashmoor films"))
    files = site_of(kept, wish)
    assert len(pages(files)) == 3
    others = (b"Larkfield", b"Stillwater", b"FC-2026", b"CR-0457", b"SL-0417", b"CR-PL-5")
    assert not [other for data in files.values() for other in others if other in data]
    assert b"TL-0188" in files["index.html"]


def test_site_may_leave_the_files_out(kept: Register, files: Files) -> None:
    """Else they are there byte for byte; without them pages name their digests and link to nothing."""
    light = site_of(kept, replace(WISH, linked=False))
    assert not [name for name in light if name.startswith("files/")]
    assert 'href="../files' not in "".join(pages(light).values())
    for name in ("yaml", "pdf", "json"):
        data = files[f"files/000001_FC-2026-031_0.{name}"]
        assert sha256(data).hexdigest() in page_of(light, "certificates/000001")
    assert files["files/000001_FC-2026-031_0.yaml"] == sample_path("winder_inch").read_bytes()


def test_line_without_an_answer_says_why_and_stops_no_other(tmp_path: Path) -> None:
    """A survey that today's certgen refuses, in one visit of two."""
    found = [held(sample_path(name)) for name in (*WINDER[:1], "tutorial")]
    found.append(held_as(sample(WINDER[1]), b"survey: 99\n"))
    files = site_of(register_of(tmp_path, found))
    assert "No trend: certificate FC-2027-044" in texts(page_of(files, "lines/ln3-wnd"))
    assert "T10" in page_of(files, "FC-2027-044")
    assert "One visit so far" in texts(page_of(files, "lines/rew-2"))


def test_certificate_signed_later_is_shown_as_signed(tmp_path: Path) -> None:
    """The file is the signed form, and the page says when it was recorded."""
    plain = held(sample_path("tutorial"))
    files = site_of(register_of(tmp_path, [plain, signed(plain)]))
    assert files["files/000001_TB-2026-014_0.pdf"] == signed(plain).files[PDF]
    page = texts(page_of(files, "certificates/"))
    assert f"Signed form recorded {WHEN}" in page
    assert sha256(signed(plain).files[PDF]).hexdigest() in page


def test_results_of_an_unknown_form_are_left_to_the_certificate(tmp_path: Path) -> None:
    """The page says so, with everything else in its place."""
    found = held(sample_path("tutorial"))
    other = replace(found, files={**found.files, RESULTS: b'{"format": "certgen-results/99"}'})
    page = texts(page_of(site_of(register_of(tmp_path, [other])), "certificates/"))
    assert "in a form that this program does not know" in page
    assert "TL-0188" in page


def test_text_of_a_certificate_is_never_markup(tmp_path: Path) -> None:
    """Neither in a page nor in an attribute nor in a file name."""
    name, number = "A & B <script>alert(1)</script> \"x'", "TB <b>7"
    text = sample_path("tutorial").read_text("utf-8")
    path = tmp_path / "survey.yaml"
    for old, new in ((sample("tutorial").survey.customer.name, f"'{name.replace(chr(39), chr(39) * 2)}'"),
                     ("TB-2026-014", f"'{number}'"), ("Inspection rewinder", "'<i>line'")):  # fmt: skip
        assert old in text
        text = text.replace(old, new)
    path.write_text(text, "utf-8")
    files = site_of(register_of(tmp_path / "kept", [held(path)]))
    assert not [page for page in pages(files).values() if "<script>alert" in page or "<i>line" in page]
    assert any(name in Page(page).texts for page in pages(files).values())
    assert not [file for file in files if ".." in file or "<" in file]


def test_long_number_may_be_parted_and_an_ordinary_one_not(tmp_path: Path) -> None:
    """Else it pushes the verdicts of all certificates out of the window."""
    long, path = "N" * 60, tmp_path / "survey.yaml"
    path.write_text(sample_path("tutorial").read_text("utf-8").replace("TB-2026-014", long), "utf-8")
    files = site_of(register_of(tmp_path / "kept", [held(path), held(sample_path("dryer_mixed"))]))
    page = page_of(files, "index.html")
    assert f'<span class="long">{long}</span></a>' in page
    assert 'class="whole">CR-0457</a>' in page


@pytest.mark.parametrize("language", LANGUAGES)
def test_site_speaks_its_language(language: str, kept: Register) -> None:
    """On every page, with the days in its form."""
    files = site_of(kept, language=language)
    wording = Wording(resources.templates(), language)
    for text in pages(files).values():
        assert Page(text).of("html") == [{"lang": language}]
        assert wording.word("site_title") in unescape(text)
    assert wording.date(WISH.on) in files["index.html"].decode()


def test_site_is_the_same_again(kept: Register, files: Files) -> None:
    """For the same register and the same day."""
    assert site_of(kept) == files


def test_site_is_the_same_from_either_database(register: Register, kept: Register) -> None:
    """The same entries, the same bytes."""
    for name in SAMPLES:
        register.add(held(sample_path(name)), WHEN)
    assert register.head() == kept.head()
    assert site_of(register) == site_of(kept)


def test_site_of_an_empty_register_says_so(tmp_path: Path) -> None:
    """A page, and no table without rows."""
    files = site_of(register_of(tmp_path, []))
    assert files.keys() == {"index.html", ABOUT}
    assert "<table" not in files["index.html"].decode()


def test_line_keeps_its_page_when_the_register_grows(tmp_path: Path, files: Files) -> None:
    """A link that somebody kept goes on to lead there."""
    alone = site_of(register_of(tmp_path, [held(sample_path("tutorial"))]))
    (page,) = (name for name in alone if name.startswith("lines/"))
    assert page in files


@pytest.mark.parametrize(
    ("found", "left", "told"),
    [
        ("fail", "not measured", "fail (as found)"),
        ("not shown", "not measured", "not shown to pass (as found)"),
        ("fail", "not shown", "not shown to pass"),
        ("not measured", "pass", "pass"),
    ],
)
def test_line_surveyed_once_stands_as_it_was_found(found: str, left: str, told: str) -> None:
    """Where nothing was read as left, the list of lines says how it was found, and that it says so."""
    said = identified(sound_survey(), {"as_found": found, "as_left": left})
    assert standing_verdict(said, Wording(resources.templates(), "en")) == told
