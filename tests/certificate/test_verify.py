"""A certificate verifies; one in which a single character was changed does not, however well forged."""

import json
import re
from collections.abc import Callable
from functools import cache
from io import BytesIO
from random import Random

import pytest
from pypdf import PdfWriter

from certgen import resources
from certgen.certificate.again import Again, print_again
from certgen.certificate.archive_record import print_digest
from certgen.certificate.assemble import certificate_pdf
from certgen.certificate.carried import carried
from certgen.certificate.verification import Check
from certgen.certificate.verify import verify
from certgen.certificate.wording import Wording
from certgen.errors import NotVerified
from tests.certificate.forge import forged, objects, stream, with_stream
from tests.certificate.samples import WORDING, sample

SAMPLES = sorted(path.stem for path in resources.sample_surveys().glob("*.yaml"))
CHANGES, PARTS = 210, 7
LETTERS = b"abcdefghijklmnopqrstuvwxyzABCDEFGHIJKLMNOPQRSTUVWXYZ"
DIGITS = b"0123456789"


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
    return replaced(number, content, random.randrange(len(content)), random)


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
    """A comment after the end mark, or a second revision."""
    assert faults(pdf() + b"% more\n") == {"appended"}


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


def printed_otherwise(**others: object) -> bytes:
    """Return the certificate with another record of how it was printed."""
    number, content = of_kind(b'"certgen-results/1"')
    found = json.loads(content)
    found["printed"] |= others
    text = json.dumps(found, indent=1, ensure_ascii=False) + "\n"
    fitting = f"<certgen:printed>{print_digest(found['printed'])}<".encode()
    (metadata,) = (n for n, part in objects(pdf()).items() if b"/Type /Metadata" in part)
    packet = re.sub(rb"<certgen:printed>\w+<", fitting, objects(pdf())[metadata])
    changed = with_stream(objects(pdf())[number], text.encode())
    return forged(pdf(), {number: changed, metadata: packet})


@pytest.mark.parametrize("key", ["wording_sha256", "program_sha256", "library"])
def test_certificate_of_another_printer_verifies_with_a_remark(key: str) -> None:
    """Same words on the pages, so only drawings and layout are left out of the comparison."""
    found = checks(printed_otherwise(**{key: "0"}))
    assert {name for name, check in found.items() if check.outcome == "remark"} == {"print", "file"}
    assert not {name for name, check in found.items() if check.outcome == "differs"}


@pytest.mark.parametrize(
    "others",
    [{"paper": "letter"}, {"with_checklist": True}, {"certgen": "9"}, {"more": 1}, {"language": "../en"}],
)
def test_record_of_printing_cannot_be_changed(others: dict[str, object]) -> None:
    """It must be the one that printing again gives."""
    assert faults(printed_otherwise(**others))


def test_other_words_are_remarked_upon_but_other_numbers_are_not_let_pass() -> None:
    """With other templates a word may differ, a number in its place may not."""
    number, content = next(
        item for item in page_streams().items() if b"(0.050)" in item[1] or b"(0.0500)" in item[1]
    )
    base = printed_otherwise(wording_sha256="0")

    def with_change(old: bytes, new: bytes) -> set[str]:
        assert old in content
        part = with_stream(objects(pdf())[number], content.replace(old, new, 1))
        return faults(forged(base, {number: part}))

    assert with_change(b"Slope", b"Lean!") == set()
    assert with_change(b"(0.050", b"(0.060") == {"pages"}
