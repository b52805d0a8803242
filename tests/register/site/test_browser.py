"""The site in a browser: no barrier that a checker knows, a search that finds, all of it without scripts."""

import json
import re
import subprocess
import threading
from collections.abc import Iterator
from functools import partial
from hashlib import sha256
from html import unescape
from http.server import SimpleHTTPRequestHandler, ThreadingHTTPServer
from pathlib import Path
from typing import Any

import pytest

from tests.certificate.test_accessibility import BROWSER, checked
from tests.certificate.test_accessibility import pytestmark as pytestmark  # skipped where these cannot be
from tests.register.site.held import Files

# A page around the overview, which stays under its own policy: it does something and says what it sees.
_AROUND = """<!DOCTYPE html><meta charset="utf-8"><iframe ATTRIBUTES src="site/index.html"></iframe>
<script>
document.querySelector("iframe").onload = event => {
  const page = event.target.contentDocument, box = page.getElementById("search");
  const shown = name => [...page.querySelectorAll("#" + name + " ~ * tbody tr:not([hidden]) th")]
    .map(head => head.textContent);
  const says = document.createElement("pre");
  says.id = "found";
  says.textContent = JSON.stringify(SEEN);
  document.body.append(says);
};
</script>"""
_SEARCHED = """WORDS.map(words => {
    box.value = words;
    box.dispatchEvent(new Event("input", {bubbles: true}));
    return [shown("lines"), shown("certificates"), page.getElementById("told").textContent];
  })"""


@pytest.fixture(scope="module")
def folder(files: Files, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The site on a disk, in a folder of its own."""
    top = tmp_path_factory.mktemp("served")
    for name, data in files.items():
        path = top / "site" / name
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_bytes(data)
    return top


class _Quiet(SimpleHTTPRequestHandler):
    """A server of files that does not talk."""

    def log_message(self, *_arguments: object) -> None:
        """Say nothing."""


@pytest.fixture
def served(folder: Path) -> Iterator[str]:
    """The address under which the folder is served."""
    server = ThreadingHTTPServer(("127.0.0.1", 0), partial(_Quiet, directory=str(folder)))
    threading.Thread(target=server.serve_forever, daemon=True).start()
    try:
        yield f"http://127.0.0.1:{server.server_port}"
    finally:
        server.shutdown()
        server.server_close()


def opened(address: str, profile: Path, *options: str) -> str:
    """Return the page as the browser has it after its scripts."""
    always = ("--headless", "--no-sandbox", "--disable-gpu", f"--user-data-dir={profile}")
    command = (str(BROWSER), *always, *options, "--virtual-time-budget=20000", "--dump-dom", address)
    run = subprocess.run(command, capture_output=True, text=True, check=True, timeout=120)
    return run.stdout


@pytest.mark.parametrize("width", [500, 1280])
@pytest.mark.parametrize("part", ["index.html", "lines/ln3-wnd", "certificates/000005"])
def test_page_has_no_barrier_that_the_checker_knows(
    part: str, width: int, files: Files, tmp_path: Path
) -> None:
    """On a telephone and on a desk; no page scrolls sideways as a whole."""
    (text,) = (data.decode() for name, data in files.items() if name.startswith(part))
    found = checked(text, tmp_path, width)
    assert found["violations"] == []
    assert isinstance(found["rules"], int)
    assert found["rules"] > 15
    assert found["wide"] == 0


def seen(folder: Path, address: str, profile: Path, expression: str, attributes: str = "") -> Any:
    """Return what an expression sees of the overview in a frame with these attributes."""
    text = _AROUND.replace("ATTRIBUTES", attributes).replace("SEEN", expression)
    around = folder / f"{sha256(text.encode()).hexdigest()}.html"  # another page, whatever the browser keeps
    around.write_text(text, "utf-8")
    page = opened(f"{address}/{around.name}", profile)
    says = re.search(r'<pre id="found">(.*?)</pre>', page, re.DOTALL)
    assert says is not None, page
    return json.loads(unescape(says[1]))


def test_search_finds_lines_and_certificates(folder: Path, served: str, tmp_path: Path) -> None:
    """By any words, in any order and any capitals, instruments among them; nothing asked for shows all."""
    words = ["fc-2027", "WINDER larkfield", "CR-PL-5", "no such thing", ""]
    expression = _SEARCHED.replace("WORDS", json.dumps(words))
    by_number, by_words, by_instrument, nothing, everything = seen(folder, served, tmp_path, expression)
    assert by_number == [[], ["FC-2027-044"], "Lines 0, Certificates 1, Calibrations that ran out 0"]
    winder = "Spunbond line 3 winder section"
    assert by_words == [
        [winder],
        ["FC-2028-039", "FC-2027-044", "FC-2026-031"],
        "Lines 1, Certificates 3, Calibrations that ran out 0",
    ]
    assert by_instrument[1] == ["CR-0457"]
    assert nothing == [[], [], "Lines 0, Certificates 0, Calibrations that ran out 0"]
    assert [len(part) for part in everything[:2]] == [3, 5]
    assert everything[2] == ""


def test_search_runs_from_a_disk(folder: Path, tmp_path: Path) -> None:
    """Its policy allows the script where no server is: the search is there."""
    page = opened((folder / "site" / "index.html").as_uri(), tmp_path)
    form = re.search(r"<form[^>]*>", page)
    assert form is not None
    assert "hidden" not in form[0]


def test_everything_is_there_without_a_script(folder: Path, served: str, tmp_path: Path) -> None:
    """Only the search is not, which could not work."""
    expression = '[box.closest("form").hidden, shown("lines").length, shown("certificates").length]'
    sandbox = 'sandbox="allow-same-origin"'  # as a browser is that runs no scripts
    assert seen(folder, served, tmp_path, expression, sandbox) == [True, 3, 5]
    assert seen(folder, served, tmp_path, expression) == [False, 3, 5]


def test_overview_prints_without_its_search(folder: Path, tmp_path: Path) -> None:
    """What cannot be used on paper is not on it; the lines are."""
    pdf = tmp_path / "overview.pdf"
    address = (folder / "site" / "index.html").as_uri()
    opened_once = (str(BROWSER), "--headless", "--no-sandbox", "--disable-gpu", "--no-pdf-header-footer")
    profile = f"--user-data-dir={tmp_path / 'profile'}"
    command = (*opened_once, profile, f"--print-to-pdf={pdf}", address)
    subprocess.run(command, capture_output=True, check=True, timeout=120)
    run = subprocess.run(["pdftotext", str(pdf), "-"], capture_output=True, text=True, check=True)
    assert "Inspection rewinder" in run.stdout
    assert "Search lines" not in run.stdout
