"""Whatever the file holds, it ends in a survey or in findings, never in a traceback."""

from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from certgen.errors import SurveyRefused
from certgen.findings import Finding
from certgen.network.solution import untied
from certgen.survey import accept, read_bytes
from tests.survey.sound import SOUND

MARKS = [*":-,{}[]&*!|>'\"%@`#~", "<<", "---", "..."]
WORDS = [
    "0",
    "-1",
    "1e400",
    "nan",
    "9**9",
    "mm",
    "div",
    "1 arcsec",
    "1e-300 mm",
    "2026-03-16",
    "null",
    "true",
]
NAMES = ["R1", "R2", "M1", "laser", "[]", "{}", "\t", "\n", "é", "\u2028", "\ufeff"]
TOKENS = st.sampled_from([*MARKS, *WORDS, *NAMES])
RELAXED = settings(max_examples=150, deadline=None, suppress_health_check=[HealthCheck.too_slow])


def end(data: bytes) -> None:
    """Read some bytes as a command would; anything but findings or a survey is raised."""
    for finding in end_of(data):
        line = finding.line("f")
        assert line.isprintable()
        assert len(line) < 1000


def end_of(data: bytes) -> tuple[Finding, ...]:
    """Return the findings for which some bytes are refused, none where they are a survey."""
    try:
        found = read_bytes("f", data)
        more = untied(found.survey) if found.survey is not None else ()
        accept("f", found, more)
    except SurveyRefused as refused:
        return refused.findings
    return ()


@RELAXED
@given(st.binary(max_size=300))
def test_any_bytes_end_in_findings(data: bytes) -> None:
    """Bytes that are no text."""
    end(data)


@RELAXED
@given(st.text(max_size=300))
def test_any_text_ends_in_findings(text: str) -> None:
    """Text that is no YAML."""
    end(text.encode("utf-8", "replace"))


@RELAXED
@given(st.integers(0, len(SOUND) - 1), st.integers(0, 30), st.lists(TOKENS, max_size=3))
def test_any_change_of_a_survey_ends_in_findings(start: int, length: int, tokens: list[str]) -> None:
    """A sound survey with something cut out and something put in."""
    end((SOUND[:start] + "".join(tokens) + SOUND[start + length :]).encode())


@RELAXED
@given(st.data())
def test_any_value_of_a_survey_ends_in_findings(data: st.DataObject) -> None:
    """A sound survey with one of its values replaced by another token."""
    words = SOUND.split(" ")
    index = data.draw(st.integers(0, len(words) - 1))
    tail = words[index][len(words[index].rstrip(",}\n")) :]
    words[index] = data.draw(TOKENS) + tail
    end(" ".join(words).encode())


@RELAXED
@given(st.data())
def test_any_missing_line_ends_in_findings(data: st.DataObject) -> None:
    """A sound survey with some of its lines left out."""
    lines = SOUND.splitlines(keepends=True)
    dropped = data.draw(st.sets(st.integers(0, len(lines) - 1), max_size=6))
    end("".join(line for index, line in enumerate(lines) if index not in dropped).encode())
