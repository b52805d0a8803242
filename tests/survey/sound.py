"""The sound survey that tests change in one place."""

from pathlib import Path

from certgen.findings import Finding
from certgen.survey import Reading, read_bytes
from certgen.survey.survey import Survey

SOUND = (Path(__file__).parent.parent / "faulty_surveys" / "sound.yaml").read_text(encoding="utf-8")


def changed(*edits: tuple[str, str]) -> str:
    """Return the sound survey with every (old, new) replaced; each old text must stand there once."""
    text = SOUND
    for old, new in edits:
        assert text.count(old) == 1, old
        text = text.replace(old, new)
    return text


def reading(*edits: tuple[str, str]) -> Reading:
    """Return what reading the changed survey gives."""
    return read_bytes("survey.yaml", changed(*edits).encode())


def survey(*edits: tuple[str, str]) -> Survey:
    """Return the changed survey, which must be without faults."""
    found = reading(*edits)
    assert found.survey is not None
    assert not [finding for finding in found.findings if finding.severity == "error"]
    return found.survey


def findings(*edits: tuple[str, str]) -> tuple[Finding, ...]:
    """Return the findings of the changed survey."""
    return reading(*edits).findings
