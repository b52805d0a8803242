"""A certificate verifies; one in which a single character was changed does not, however well forged."""

import json
import re
from collections.abc import Callable
from functools import cache
from io import BytesIO
from math import nextafter
from pathlib import Path
from random import Random

import pytest
import reportlab
from pypdf import PdfWriter

from certgen import resources
from certgen.errors import NotVerified
from certgen.pdf.pdf_document import certificate_pdf
from certgen.verify.checks import verify
from certgen.verify.compare_contents import Answer, Check, answer
from certgen.verify.issued_file import carried
from certgen.verify.reissue import Again, print_again
from certgen.wording.wording import Wording
from tests.certificate.forge import forged, measured, objects, recorded, stream, with_stream
from tests.certificate.samples import WORDING, sample

SAMPLES = sorted(path.stem for path in resources.sample_surveys().glob("*.yaml"))
CHANGES, PARTS = 210, 7
LETTERS = b"abcdefghijklmnopqrstuvwxyzABCDEFGHIJKLMNOPQRSTUVWXYZ"
DIGITS = b"0123456789"
# within the tolerance of another machine
LAST_DIGITS = re.compile(rb"(?<=\.\d{8})\d+(?:e-\d+)?|\d\.\d*e-\d+")
ARCHIVED = Path(__file__).parent.parent / "archived_certificates"


@cache
def pdf(name: str = "tutorial") -> bytes:
    """Return a sample's certificate."""
    return certificate_pdf(sample(name), WORDING, sample(name).survey.certificate.paper)


@cache
def again(survey: bytes, results: bytes) -> Again:
    """Print again; the same survey printed in the same way only once."""
    return print_again(survey, results, lambda language: Wording(resources.templates(), language))


def checks(data: bytes) -> dict[str, Check]:
    """Return the checks of a certificate by name."""
    found = carried(data)
    return {check.name: check for check in verify(found, again)}


def faults(data: bytes) -> set[str]:
    """Return the names of the checks that did not hold; "unreadable" where it could not be read."""
    try:
        return {name for name, check in checks(data).items() if check.outcome == "differs"}
    except NotVerified:
        return {"unreadable"}


@pytest.mark.parametrize("name", SAMPLES)
def test_certificate_of_every_sample_verifies(name: str) -> None:
    """Nothing differs, nothing is remarked upon."""
    assert {check.outcome for check in checks(pdf(name)).values()} == {"held"}


@pytest.mark.parametrize("name", SAMPLES)
def test_forging_nothing_changes_nothing(name: str) -> None:
    """The forger's tools themselves leave no trace."""
    assert forged(pdf(name), {}) == pdf(name)


def of_kind(*signs: bytes) -> tuple[int, bytes]:
    """Return number and content of the one stream that holds these signs."""
    streams = {number: stream(part) for number, part in objects(pdf()).items()}
    ((number, content),) = ((n, s) for n, s in streams.items() if s and all(sign in s for sign in signs))
    return number, content


def page_streams() -> dict[int, bytes]:
    """Return the content of every page."""
    streams = {number: stream(part) for number, part in objects(pdf()).items()}
    return {number: content for number, content in streams.items() if content and b" Tj" in content}


def other_letter(letter: int, random: Random) -> int:
    """Return another digit for a digit, another letter for a letter, a letter for anything else."""
    kind = DIGITS if letter in DIGITS else LETTERS
    return random.choice([one for one in kind if one != letter])


def changed_page(random: Random) -> bytes:
    """Change a letter or digit that is printed on a page."""
    number, content = random.choice(list(page_streams().items()))
    texts = [found.span(1) for found in re.finditer(rb"\(((?:[^()\\]|\\.)*)\) Tj", content)]
    places = [at for start, end in texts for at in range(start, end) if content[at : at + 1].isalnum()]
    at = random.choice([at for at in places if b"\\" not in content[at - 3 : at]])
    return replaced(number, content, at, random)


def changed_survey(random: Random) -> bytes:
    """Change any character of the survey, those of its comments among them."""
    number, content = of_kind(b"survey: 1", b"certificate:")
    return replaced(number, content, random.randrange(len(content)), random)


def changed_results(random: Random) -> bytes:
    """Change any character of the results."""
    number, content = of_kind(b'"certgen-results/1"')
    at = random.randrange(len(content))
    if any(found.start() <= at < found.end() for found in LAST_DIGITS.finditer(content)):
        return changed_results(random)
    return replaced(number, content, at, random)


def replaced(number: int, content: bytes, at: int, random: Random) -> bytes:
    """Return the certificate with one character of one stream replaced, and the traces covered."""
    content = content[:at] + bytes([other_letter(content[at], random)]) + content[at + 1 :]
    return forged(pdf(), {number: with_stream(objects(pdf())[number], content)})


KINDS: tuple[tuple[Callable[[Random], bytes], set[str]], ...] = (
    (changed_page, {"pages"}),
    (changed_survey, {"survey", "unreadable"}),
    (changed_results, {"results", "format", "file", "print", "survey", "unreadable"}),
)


@pytest.mark.parametrize("part", range(PARTS))
def test_every_single_change_is_found(part: int) -> None:
    """Of 210 random changes to pages, survey and results none passes, although the digests fit."""
    for seed in range(part, CHANGES, PARTS):
        random = Random(seed)  # noqa: S311  # repeatable chance
        change, expected = KINDS[seed % len(KINDS)]
        found = faults(change(random))
        assert found & expected, f"seed {seed}: {change.__name__} found as {found or 'nothing'}"
        assert "digest" not in found, "the forger's tools do not work"


def test_change_without_forging_is_found_by_the_digest() -> None:
    """The simple forger is found before anything is computed."""
    number, content = of_kind(b"survey: 1")
    data = pdf().replace(objects(pdf())[number], with_stream(objects(pdf())[number], content + b"\n"))
    assert faults(data) & {"digest", "unreadable"}


def test_changed_drawing_is_found() -> None:
    """A bar drawn longer, with no word changed."""
    number, content = next(
        item for item in page_streams().items() if b" re f" in item[1] or b" l S" in item[1]
    )
    lines = content.split(b"\n")
    at = next(i for i, line in enumerate(lines) if re.search(rb"^n? ?[\d.]+ [\d.]+ m ", line))
    lines[at] = re.sub(rb"[\d.]+ l\b", b"99 l", lines[at], count=1)
    data = forged(pdf(), {number: with_stream(objects(pdf())[number], b"\n".join(lines))})
    assert faults(data) == {"file"}


@pytest.mark.parametrize("old", [b"TB-2026-014", b"Tarnbrook"])
def test_changed_information_is_found(old: bytes) -> None:
    """Number and contractor in the document information."""
    number, part = next((n, p) for n, p in objects(pdf()).items() if b"/Creator (" in p)
    new = bytes([old[0] + 1]) + old[1:]
    assert faults(forged(pdf(), {number: part.replace(old, new)})) >= {"metadata", "file"}


def test_changed_metadata_is_found() -> None:
    """The title in the metadata alone."""
    number, part = next((n, p) for n, p in objects(pdf()).items() if b"/Type /Metadata" in p)
    data = forged(pdf(), {number: part.replace(b"TB-2026-014", b"TB-2026-015")})
    assert faults(data) >= {"metadata", "file"}


def test_appended_bytes_are_found() -> None:
    """A comment after the end mark is nothing that a certificate may hold."""
    assert faults(pdf() + b"% more\n") == {"unreadable"}


@pytest.mark.parametrize("data", [b"", b"%PDF-1.7\n", b"no PDF at all", b"%PDF-1.7\nstartxref\n0\n%%EOF\n"])
def test_what_is_no_certificate_is_said_to_be_none(data: bytes) -> None:
    """Nothing, half of one, something else."""
    with pytest.raises(NotVerified):
        carried(data)


def test_pdf_of_another_program_is_no_certificate() -> None:
    """A valid PDF without the metadata."""
    writer, buffer = PdfWriter(), BytesIO()
    writer.add_blank_page(100, 100)
    writer.write(buffer)
    with pytest.raises(NotVerified):
        carried(buffer.getvalue())


@pytest.mark.parametrize("seed", range(40))
def test_damaged_bytes_never_end_in_a_traceback(seed: int) -> None:
    """Whatever byte is changed, the answer is a fault."""
    random = Random(seed)  # noqa: S311  # repeatable chance
    data = bytearray(pdf())
    at = random.randrange(len(data))
    data[at] ^= 1 << random.randrange(8)
    assert faults(bytes(data))


def outcome(data: bytes) -> Answer:
    """Return what the verification comes to; "does not hold" where it could not be read."""
    try:
        return answer(checks(data).values())
    except NotVerified:
        return "does not hold"


@pytest.mark.parametrize("key", ["wording_sha256", "library"])
def test_certificate_of_another_printer_verifies_where_it_looks_the_same(key: str) -> None:
    """Other words or another library are no fault, and all of it was printed anew and compared."""
    other = {"wording_sha256": "0", "library": f"ReportLab {reportlab.__version__}, matplotlib 0"}[key]
    found = checks(recorded(pdf(), **{key: other}))
    assert {name for name, check in found.items() if check.outcome != "held"} == {"print"}
    assert answer(found.values()) == "verified"


@pytest.mark.parametrize(
    "others",
    [
        {"paper": "letter"},
        {"with_checklist": True},
        {"certgen": "9"},
        {"certgen": "9\x1b[2J"},
        {"more": 1},
        {"language": "../en"},
        {"signature_places": [[1, 0, 0, 600, 800]]},
        {"rounding_rule": None},
    ],
)
def test_record_of_printing_cannot_be_changed(others: dict[str, object]) -> None:
    """It must be the one that printing again gives."""
    assert outcome(recorded(pdf(), **others)) == "does not hold"


def test_form_that_is_not_known_is_never_verified() -> None:
    """A form to come, or none: its pages cannot be printed, and those of this form are not its."""
    for form in (99, "2", None, 0):
        assert outcome(changed_word(recorded(pdf(), print_form=form))) != "verified"


def changed_word(data: bytes) -> bytes:
    """Return the certificate with another title on its pages."""
    content = next(
        s for part in objects(data).values() if (s := stream(part)) and b"(Roll alignment certif" in s
    )
    number = next(n for n, part in objects(data).items() if stream(part) == content)
    other = content.replace(b"(Roll alignment certificate )", b"(Rule alignment certificate )")
    return forged(data, {number: with_stream(objects(data)[number], other)})


def test_other_words_are_not_compared_but_other_numbers_are_not_let_pass() -> None:
    """With other templates a word may differ, a number in its place may not."""
    base = changed_word(recorded(pdf(), wording_sha256="0"))
    assert outcome(base) == "results verified"
    number, content = next(
        (n, s) for n, part in objects(base).items() if (s := stream(part)) and b" Tj" in s and b"(0.05" in s
    )
    part = with_stream(objects(base)[number], content.replace(b"(0.05", b"(0.06", 1))
    assert faults(forged(base, {number: part})) == {"places"}


def test_other_packing_is_no_forgery() -> None:
    """Streams that another compressor packs: inflated they are the same."""
    packed = {
        number: with_stream(part, content, level=1)
        for number, part in objects(pdf()).items()
        if (content := stream(part)) is not None
    }
    other = forged(pdf(), packed)
    assert len(other) != len(pdf())
    assert outcome(other) == "verified"


def test_last_digits_of_another_machine_are_no_forgery() -> None:
    """Whatever the record of its rounding says, while all that is printed agrees."""
    number, content = of_kind(b'"certgen-results/1"')
    found = json.loads(content)
    state = found["rolls"][1]["parallel"]["as_found"]
    state["slope_mm_per_m"] = nextafter(state["slope_mm_per_m"], 1.0)
    digits = f"{json.dumps(found, indent=1, ensure_ascii=False)}\n".encode()
    assert digits != content
    assert outcome(forged(pdf(), {number: measured(objects(pdf())[number], digits)})) == "verified"


@pytest.mark.slow
@pytest.mark.parametrize("kind", ["unsigned", "signed"])
def test_no_changed_byte_is_accepted(kind: str) -> None:
    """Of 2,000 changed bytes of a certificate none passes, and none ends in a traceback."""
    data = pdf() if kind == "unsigned" else (ARCHIVED / "format_1_signed.pdf").read_bytes()
    random = Random(kind)  # noqa: S311  # repeatable chance
    for _ in range(2000):
        changed = bytearray(data)
        changed[random.randrange(len(data))] ^= random.randrange(1, 256)
        assert outcome(bytes(changed)) == "does not hold"
