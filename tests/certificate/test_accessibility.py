"""The page for a browser passes an accessibility check in a browser, on a telephone and on a desk."""

import json
import os
import re
import shutil
import subprocess
from html import unescape
from pathlib import Path

import pytest

from tests.certificate.samples import sample
from tests.certificate.test_html import html

BROWSER = shutil.which("chromium") or shutil.which("chromium-browser")
# the checker is a script; npm puts it here where CERTGEN_AXE does not name it
AXE = Path(os.environ.get("CERTGEN_AXE", "node_modules/axe-core/axe.min.js"))
_REPORT = """
axe.run().then(found => {
  const says = document.createElement("pre");
  says.id = "found";
  says.textContent = JSON.stringify({
    rules: found.passes.length,
    violations: found.violations.map(one => [one.id, one.nodes[0].html.slice(0, 120)]),
    wide: document.documentElement.scrollWidth - document.documentElement.clientWidth});
  document.body.append(says)})
"""

pytestmark = [
    pytest.mark.skipif(BROWSER is None, reason="no chromium to open the page in"),
    pytest.mark.skipif(not AXE.is_file(), reason="no axe-core to check the page with (npm install axe-core)"),
]


def checked(text: str, folder: Path, width: int) -> dict[str, object]:
    """Return what the checker finds on a page in a window of that width."""
    script = f"<script>{AXE.read_text('utf-8')}</script><script>{_REPORT}</script></body>"
    file = folder / "page.html"
    open_page = re.sub(r"<meta http-equiv.*?>", "", text, flags=re.DOTALL)
    file.write_text(open_page.replace("</body>", script), "utf-8")
    options = ("--headless", "--no-sandbox", "--disable-gpu", f"--user-data-dir={folder / 'profile'}")
    more = (f"--window-size={width},900", "--virtual-time-budget=30000", "--dump-dom", file.as_uri())
    run = subprocess.run(
        [str(BROWSER), *options, *more], capture_output=True, text=True, check=True, timeout=120
    )
    says = re.search(r'<pre id="found">(.*?)</pre>', run.stdout, re.DOTALL)
    assert says is not None, run.stderr
    found: dict[str, object] = json.loads(unescape(says[1]))
    return found


@pytest.mark.parametrize("width", [500, 1280])
@pytest.mark.parametrize("name", ["tutorial", "dryer_mixed", "coater_mm"])
def test_page_has_no_barrier_that_the_checker_knows(name: str, width: int, tmp_path: Path) -> None:
    """No rule of the checker is broken, many are met, and the page does not scroll sideways as a whole."""
    found = checked(html(sample(name)), tmp_path, width)
    assert found["violations"] == []
    assert isinstance(found["rules"], int)
    assert found["rules"] > 20
    assert found["wide"] == 0


def test_checker_finds_a_barrier(tmp_path: Path) -> None:
    """The measurement itself works: a page without language is found out."""
    broken = html(sample("tutorial")).replace('<html lang="en">', "<html>")
    violations = checked(broken, tmp_path, 1280)["violations"]
    assert isinstance(violations, list)
    assert "html-has-lang" in [rule for rule, _ in violations]
