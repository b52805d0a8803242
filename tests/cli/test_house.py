"""A contractor's own style: certgen.toml beside the surveys, house.toml in a folder, faults by line."""

import os
import re
from io import BytesIO
from pathlib import Path
from shutil import copytree

import pytest
from PIL import Image
from pypdf import PdfReader

from certgen import resources
from certgen.cli.house import house_of
from certgen.errors import WrongUsage
from certgen.wording.wording import contrast
from tests.cli.run import ROOT, run

TUTORIAL = resources.sample_surveys() / "tutorial.yaml"
SVG = '<svg xmlns="http://www.w3.org/2000/svg" width="40" height="20">{}</svg>'
OUTWARDS = '<image href="file:///etc/hostname" width="9" height="9"/>'


def png(mode: str = "RGB", size: tuple[int, int] = (40, 20)) -> bytes:
    """Return a small picture."""
    buffer = BytesIO()
    Image.new(mode, size).save(buffer, "PNG")
    return buffer.getvalue()


@pytest.fixture
def survey(tmp_path: Path) -> Path:
    """A survey in a folder of its own."""
    (tmp_path / "surveys").mkdir()
    path = tmp_path / "surveys" / "line.yaml"
    path.write_bytes(TUTORIAL.read_bytes())
    return path


@pytest.fixture
def house(tmp_path: Path) -> Path:
    """An empty house folder."""
    folder = tmp_path / "house"
    (folder / "en").mkdir(parents=True)
    return folder


def refused(survey: Path, folder: Path) -> str:
    """Return the message that the style is refused with."""
    with pytest.raises(WrongUsage) as told:
        house_of(survey, folder).wording(None)
    return str(told.value)


def text_of(pdf: Path) -> str:
    """Return the text of the first page."""
    return " ".join(PdfReader(pdf).pages[0].extract_text().split())


def test_house_is_used_from_certgen_toml_beside_the_survey(
    survey: Path, house: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """Words, letterhead, language and paper, without an option."""
    (house / "house.toml").write_text('letterhead = ["Our house", "Our street 1"]\npaper = "A5"\n', "utf-8")
    (house / "de").mkdir()
    (house / "de" / "words.yaml").write_text("title: Unser Prüfbericht\n", "utf-8")
    copytree(house, survey.with_name("house"))
    beside = survey.with_name("certgen.toml")
    beside.write_text('[house]\ntemplates = "house"\nlanguage = "de"\n', "utf-8")
    assert run(capsys, "issue", survey).status == 0
    text = text_of(survey.with_suffix(".pdf"))
    assert "Our house Our street 1" in text
    assert "Unser Prüfbericht" in text
    assert "nicht bestanden" in text
    box = PdfReader(survey.with_suffix(".pdf")).pages[0].mediabox
    assert (round(box.width), round(box.height)) == (420, 595)


def test_options_stand_over_the_house(survey: Path, house: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """--lang and --paper are asked for here and now."""
    (house / "house.toml").write_text('language = "de"\npaper = "A5"\n', "utf-8")
    asked = ("--templates", house, "--lang", "fr", "--paper", "A3")
    assert run(capsys, "issue", survey, *asked).status == 0
    assert "non conforme" in text_of(survey.with_suffix(".pdf"))
    assert round(PdfReader(survey.with_suffix(".pdf")).pages[0].mediabox.width) == 842


def test_certgen_toml_stands_over_the_folder(survey: Path, house: Path) -> None:
    """What both state, the nearer one decides."""
    (house / "house.toml").write_text('language = "de"\ncolours = {left = "#0b5d1e"}\n', "utf-8")
    survey.with_name("certgen.toml").write_text('[house]\nlanguage = "es"\n', "utf-8")
    found = house_of(survey, house)
    assert (found.language, found.look.left) == ("es", "#0b5d1e")


@pytest.mark.parametrize("kind", ["PNG", "JPEG", "SVG"])
def test_logo_stands_on_the_first_page(
    kind: str, survey: Path, house: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """As a picture, or drawn; the same bytes again."""
    if kind == "SVG":
        pytest.importorskip("svglib", reason="no svglib to draw an SVG logo")
        data = SVG.format('<path d="M0 0L40 0L20 20Z" fill="#123456"/>').encode()
    else:
        buffer = BytesIO()
        Image.new("RGB", (400, 100), "#123456").save(buffer, kind)
        data = buffer.getvalue()
    (house / "logo.bin").write_bytes(data)
    (house / "house.toml").write_text('logo = "logo.bin"\n', "utf-8")
    outputs = [survey.with_name(f"{number}.pdf") for number in (1, 2)]
    for output in outputs:
        assert run(capsys, "issue", survey, "--templates", house, "-o", output).status == 0
    assert outputs[0].read_bytes() == outputs[1].read_bytes()
    page = PdfReader(outputs[0]).pages[0]
    drawn = b".070588 .203922 .337255 rg" in page.get_contents().get_data()
    assert drawn if kind == "SVG" else len(page.images) == 1


def test_own_colours_are_those_of_the_pages(
    survey: Path, house: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """The project's two colours are gone."""
    (house / "house.toml").write_text('colours = {found = "#8A1C7C", left = "#0b5d1e"}\n', "utf-8")
    assert run(capsys, "issue", survey, "--templates", house).status == 0
    pages = b"".join(p.get_contents().get_data() for p in PdfReader(survey.with_suffix(".pdf")).pages)
    assert b".113725 .305882 .537255 rg" not in pages
    assert b".043137 .364706 .117647 rg" in pages
    assert b".541176 .109804 .486275 RG" in pages


@pytest.mark.parametrize(
    ("text", "message"),
    [
        ('paper = "A4"\nlanguge = "de"\n', "house.toml:2: languge: unknown key. Did you mean language?"),
        ('\n\nlanguage = "xx"\n', "house.toml:3: language: this is not one of en, de, fr, es."),
        ('paper = "A9"\n', "house.toml:1: paper: "),
        ('letterhead = "x"\n', "house.toml:1: letterhead: write a list"),
        ('\nletterhead = ["All rolls PASS"]\n', "house.toml:2: letterhead: no verdict belongs here, PASS"),
        ('letterhead = ["a\\nb"]\n', "house.toml:1: letterhead: a line"),
        ('[colours]\nleft = "blue"\n', "house.toml:1: colours: left is not a colour"),
        ('colours = {left = "#ffee88"}\n', "house.toml:1: colours: left is too pale"),
        ('colours = {other = "#000000"}\n', "house.toml:1: colours: write"),
        ("logo = 7\n", "house.toml:1: logo: write a text."),
        ('logo = "none.png"\n', "house.toml:1: logo: "),
        ('logo = "../surveys/line.yaml"\n', "house.toml:1: logo: "),
        ('paper = "A4"\nlogo = "A4\n', "house.toml:2: "),
        ('templates = "x"\n', "house.toml:1: templates: unknown key"),
    ],
)
def test_faulty_house_is_told_with_file_and_line(text: str, message: str, survey: Path, house: Path) -> None:
    """And with what would be right."""
    (house / "house.toml").write_text(text, "utf-8")
    told = refused(survey, house)
    assert told.startswith(f"{house}{os.sep}{message}"), told


@pytest.mark.parametrize(
    "data",
    [
        SVG.format(OUTWARDS).encode(),
        SVG.format('<use href="#a"/>').encode(),
        SVG.format("<script>1</script>").encode(),
        SVG.format("<text>x</text>").encode(),
        SVG.format("<style>@import 'x'</style>").encode(),
        SVG.format('<rect fill="url(http://x.example)"/>').encode(),
        SVG.format('<rect onload="x"/>').encode(),
        SVG.format("<g/>" * 3000).encode(),
        SVG.format('<rect width="x5" height="5"/>').encode(),
        SVG.format('<circle r="1e400"/>').encode(),
        SVG.format('<polygon points="1 2 3"/>').encode(),
        SVG.format('<path d="M 0 0 L foo"/>').encode(),
        SVG.format('<g transform="rotate(x)"/>').encode(),
        SVG.replace('width="40"', 'width="abc"').format("").encode(),
        b'<!DOCTYPE svg [<!ENTITY a SYSTEM "file:///etc/hostname">]>' + SVG.format("&a;").encode(),
        b'<?xml version="1.0" encoding="utf-7"?>' + SVG.format("").encode(),
        b"<html/>",
        b"GIF89a",
        b"\x89PNG broken",
        b"\xff\xd8 broken",
        b"\xff\xfe",
        b"x" * 3_000_000,
    ],
)
def test_logo_that_could_do_harm_is_refused(data: bytes, survey: Path, house: Path) -> None:
    """Whatever reads, runs, grows, or is no picture."""
    (house / "logo.svg").write_bytes(data)
    (house / "house.toml").write_text('logo = "logo.svg"\n', "utf-8")
    assert refused(survey, house).startswith(f"{house / 'house.toml'}:1: logo: ")


def test_logo_covers_nothing_beyond_its_place(
    survey: Path, house: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """A shape larger than the page is clipped to where the logo stands."""
    (house / "logo.svg").write_text(
        SVG.format('<rect x="-900" y="-900" width="5000" height="5000"/>'), "utf-8"
    )
    (house / "house.toml").write_text('logo = "logo.svg"\n', "utf-8")
    assert run(capsys, "issue", survey, "--templates", house).status == 0
    contents = PdfReader(survey.with_suffix(".pdf")).pages[0].get_contents()
    assert contents is not None
    assert b" W* n " in b" ".join(contents.get_data().split())
    assert run(capsys, "verify", survey.with_suffix(".pdf"), "--templates", house).status == 0
    assert run(capsys, "verify", survey.with_suffix(".pdf")).status == 6


def test_logo_of_too_many_pixels_is_refused(survey: Path, house: Path) -> None:
    """A small file that would fill the memory."""
    (house / "logo.png").write_bytes(png("1", (9000, 9000)))
    (house / "house.toml").write_text('logo = "logo.png"\n', "utf-8")
    assert "million pixels" in refused(survey, house)


def test_logo_linked_from_elsewhere_is_refused(survey: Path, house: Path, tmp_path: Path) -> None:
    """Also where the link is a picture."""
    (tmp_path / "other.png").write_bytes(png())
    (house / "logo.png").symlink_to(tmp_path / "other.png")
    (house / "house.toml").write_text('logo = "logo.png"\n', "utf-8")
    assert "not a file within" in refused(survey, house)


def test_folder_that_is_not_there_is_exit_2(survey: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Wrong usage, and nothing written."""
    ended = run(capsys, "issue", survey, "--templates", survey.with_name("none"))
    assert (ended.status, "no such folder" in ended.err) == (2, True)
    assert list(survey.parent.iterdir()) == [survey]


def test_faulty_template_is_exit_2_and_writes_nothing(
    survey: Path, house: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """The message names file and line."""
    (house / "en" / "safety.j2").write_text("- one\n- {{ two }}\n", "utf-8")
    ended = run(capsys, "issue", survey, "--templates", house)
    assert ended.status == 2
    assert f"{house / 'en' / 'safety.j2'}:2: two is not known here." in ended.err
    assert list(survey.parent.iterdir()) == [survey]


@pytest.mark.parametrize("name", ["../house", "/usr", "in/../../house", "link"])
def test_paths_of_certgen_toml_stay_in_its_folder(name: str, survey: Path, house: Path) -> None:
    """A file that came with a survey chooses among what came with it."""
    survey.with_name("link").symlink_to(house)
    survey.with_name("in").mkdir()
    survey.with_name("certgen.toml").write_text(f'[house]\ntemplates = "{name}"\n', "utf-8")
    with pytest.raises(WrongUsage, match=r"certgen.toml:2: templates: name a folder within"):
        house_of(survey, None)


@pytest.mark.parametrize("text", ["[hose]\n", "paper = 'A4'\n", "house = 3\n", "[house]\ncolors = 1\n"])
def test_faulty_certgen_toml_is_told(text: str, survey: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """It is read for every survey beside it, so nothing in it may be passed over."""
    survey.with_name("certgen.toml").write_text(text, "utf-8")
    ended = run(capsys, "issue", survey)
    assert ended.status == 2
    assert "certgen.toml:" in ended.err


def test_contrast_is_that_of_the_guidelines() -> None:
    """WCAG 2.2: black on white is 21, white on white 1, #767676 just 4.54."""
    shown = [round(contrast(colour), 2) for colour in ("#000000", "#ffffff", "#767676")]
    assert shown == [21.0, 1.0, 4.54]


def test_example_in_the_docs_works(survey: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Every file of docs/house.md, as it stands there, beside a survey."""
    pytest.importorskip("svglib", reason="no svglib to draw an SVG logo")
    text = (ROOT / "docs" / "house.md").read_text("utf-8")
    files = re.findall(r"^```\w+ (\S+)\n(.*?)^```$", text, re.MULTILINE | re.DOTALL)
    assert len(files) == 4
    for name, content in files:
        path = survey.parent / name
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_text(content, "utf-8")
    (survey.parent / "our_house" / "logo.svg").write_text(SVG.format("<circle r='9'/>"), "utf-8")
    ended = run(capsys, "issue", survey, "--lang", "en")
    assert (ended.status, ended.err) == (0, "")
    pages = PdfReader(survey.with_suffix(".pdf")).pages
    text = " ".join(" ".join(page.extract_text() for page in pages).split())
    for said in ("Fennel Creek Alignment 14 Quarry", "Report on the alignment", "ten years", "Crew leader"):
        assert said in text
    assert "relate only to the items surveyed" in text
