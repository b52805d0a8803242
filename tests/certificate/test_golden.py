"""The pages are those of their form, so that a certificate of today can be compared by a later certgen."""

from pathlib import Path

import pytest

from certgen.pdf.archive.print_record import PRINT_FORM
from tests.certificate import golden
from tests.certificate.golden import FOLDER, SAMPLES, drawn, first_difference, kept, kept_drawing


@pytest.mark.parametrize("name", SAMPLES)
def test_pages_are_those_of_their_form(name: str) -> None:
    """Every text and all that is drawn; where a page has to change, PRINT_FORM is raised with it."""
    assert kept()["form"] == PRINT_FORM
    text, found = drawn(name)
    assert text.splitlines() == (FOLDER / f"{name}.txt").read_text("utf-8").splitlines()
    assert first_difference(kept_drawing(name), found) is None


def test_kept_pages_are_compared_by_what_can_be_seen() -> None:
    """Another place, another stroke and one more of them are found; a last digit is a machine's own."""
    page = b"BT 1 0 0 1 72.004 500 Tm (a) Tj ET\n0 0 10.5 -.25 re S"
    assert first_difference(page, page.replace(b"72.004", b"72.009")) is None
    for other in (
        page.replace(b"72.004", b"72.04"),
        page.replace(b"-.25", b".25"),
        page.replace(b" S", b" f"),
        page.replace(b"(a)", b"(b)"),
        page + b"\nS",
    ):
        assert first_difference(page, other) is not None


def test_change_of_pages_needs_another_form(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    """What a released certgen printed is not written over under the same number."""
    monkeypatch.setattr(golden, "kept", lambda: {"form": PRINT_FORM, "certgen": "0.0.1"})
    monkeypatch.setattr(golden, "kept_drawing", lambda _: b"what it printed then")
    monkeypatch.setattr(golden, "SAMPLES", SAMPLES[:1])
    monkeypatch.setattr(golden, "FOLDER", tmp_path)
    assert golden.write() == 1
    assert list(tmp_path.iterdir()) == []
