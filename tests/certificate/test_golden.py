"""The pages are those of their form, so that a certificate of today can be compared by a later certgen."""

import pytest

from certgen.certificate.archive_print import PRINT_FORM
from tests.certificate.golden import FOLDER, SAMPLES, drawn, kept


@pytest.mark.parametrize("name", SAMPLES)
def test_pages_are_those_of_their_form(name: str) -> None:
    """Every text and all that is drawn; where a page has to change, PRINT_FORM is raised with it."""
    index = kept()
    if index.get("form") != PRINT_FORM:
        pytest.skip(f"pages of form {PRINT_FORM} are not kept yet: python -m tests.certificate.golden")
    text, digest = drawn(name)
    assert text.splitlines() == (FOLDER / f"{name}.txt").read_text("utf-8").splitlines()
    found = index["drawn"]
    assert isinstance(found, dict)
    assert digest == found[name], "something is drawn otherwise; raise PRINT_FORM if that is meant"


def test_change_of_pages_needs_another_form(monkeypatch: pytest.MonkeyPatch, tmp_path: object) -> None:
    """What a released certgen printed is not written over under the same number."""
    from tests.certificate import golden

    other = {"form": PRINT_FORM, "certgen": "0.0.1", "drawn": {}}
    monkeypatch.setattr(golden, "kept", lambda: other)
    monkeypatch.setattr(golden, "SAMPLES", SAMPLES[:1])
    monkeypatch.setattr(golden, "FOLDER", tmp_path)
    assert golden.write() == 1
