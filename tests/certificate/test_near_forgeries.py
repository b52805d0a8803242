"""Forgeries that lean on what verification lets differ: last digits, an older edition, another printer."""

import json
import re
from collections.abc import Callable
from functools import cache
from math import nextafter

import pytest
import reportlab

from certgen import resources
from certgen.assessment.assess import assess
from certgen.network.solution import solve_reading
from certgen.pdf.pdf_document import certificate_pdf
from certgen.survey import read_bytes
from certgen.verify.compare_contents import answer
from tests.certificate.forge import forged, measured, objects, recorded, stream
from tests.certificate.samples import WORDING
from tests.certificate.test_forgeries import (
    OTHER_LIBRARY,
    checks,
    drawn,
    genuine,
    letters_that_look_like_others,
)

SLOPE = re.compile(rb'"slope_mm_per_m": (-?0\.\d{10,})')
AT_NOTHING = re.compile(rb"BT 1 0 0 1 0 (\S+) Tm (/F\S+ \S+ Tf \S+ TL \(7 of 12 rolls outside)")


def results_object(data: bytes) -> tuple[int, bytes]:
    """Return number and content of the results inside."""
    ((number, content),) = (
        (n, found)
        for n, part in objects(data).items()
        if (found := stream(part)) and b'"certgen-results/1"' in found
    )
    return number, content


def with_results(data: bytes, content: bytes) -> bytes:
    """Return the certificate with other results inside, size and check sum put right."""
    number, _ = results_object(data)
    return forged(data, {number: measured(objects(data)[number], content)})


def of_another_machine(data: bytes) -> bytes:
    """Return the certificate with one result in another last digit: coordinates may differ then."""
    _, content = results_object(data)
    found = SLOPE.search(content)
    assert found is not None
    digits = repr(nextafter(float(found[1]), 1e9)).encode()
    return with_results(data, content[: found.start(1)] + digits + content[found.end(1) :])


def in_utf_16(content: bytes) -> bytes:
    """Return a page with texts written in another way that a reader may take for the same letters."""
    plain = re.compile(rb"\(([A-Za-z ]+)\) Tj")
    return plain.sub(
        lambda f: b"<" + (b"\xff\xfe" + f[1].decode().encode("utf-16-le")).hex().encode() + b"> Tj", content
    )


def with_first(old: bytes, new: bytes) -> Callable[[bytes], bytes]:
    """Return the change of a page that replaces the first of some bytes."""
    return lambda content: content.replace(old, new, 1)


def test_last_digit_of_another_machine_alone_is_no_forgery() -> None:
    """What the forgeries below start from."""
    assert answer(checks(of_another_machine(genuine("as here")))) == "verified"


@pytest.mark.parametrize(
    "change",
    [
        pytest.param(lambda c: AT_NOTHING.sub(rb"BT 1 0 0 1 260.0-0 \1 Tm \2", c), id="number of two signs"),
        pytest.param(lambda c: AT_NOTHING.sub(rb"BT 1 0 0 1 -9999.0-0 \1 Tm \2", c), id="off the page"),
        pytest.param(with_first(b"1 0 0 1 0 0 cm", b"1.004 0.0049 0.0049 1.0049 0 0 cm"), id="shear"),
        pytest.param(lambda c: re.sub(rb"([\d.]+) ([\d.]+) ([\d.]+) rg", rb"\1 \2 .0009 rg", c), id="colour"),
        pytest.param(in_utf_16, id="texts in other digits"),
        pytest.param(lambda c: c.replace(b"(fail)", b"(f\\141il)"), id="letters in other digits"),
        pytest.param(with_first(b" Tj", b" Tj % of no matter\n"), id="comment"),
    ],
)
def test_nothing_but_coordinates_may_differ_in_the_last_digit(change: Callable[[bytes], bytes]) -> None:
    """Numbers that programs read differently, turns, colours, texts in another way of writing."""
    data = drawn(genuine("as here"), change)
    assert answer(checks(of_another_machine(data))) == "does not hold"


@cache
def by_first_edition() -> bytes:
    """Return a certificate of a line whose last moved roll was not read again, by the rules of before."""
    text = (resources.sample_surveys() / "winder_inch.yaml").read_text("utf-8")
    at = text.index("  - {roll: R2, side: drive")
    moved = (
        f"{text[:at]}  - {{roll: R5, side: drive, up: 40 thou, downstream: 30 thou}}\n{text[at:]}".encode()
    )
    found = assess(solve_reading("survey.yaml", read_bytes("survey.yaml", moved, 1)))
    return certificate_pdf(found, WORDING, found.survey.certificate.paper)


def test_present_form_without_its_edition_does_not_hold() -> None:
    """It could only have been left out."""
    assert answer(checks(by_first_edition())) == "does not hold"


def test_first_form_is_not_believed_of_pages_of_the_present_one() -> None:
    """The record says what the pages do not show."""
    found = checks(recorded(by_first_edition(), print_form=None, certgen="0.1.0"))
    assert answer(found) == "does not hold"
    assert any(
        "is one of form 2, and the record says form 1" in detail for one in found for detail in one.details
    )


def test_verdicts_that_the_rules_of_before_gave_are_named() -> None:
    """What an older edition calls a pass and the present one does not is told with its place."""
    found = checks(recorded(by_first_edition(), print_form=None, certgen="0.1.0"))
    (told,) = (one for one in found if one.name == "edition")
    assert told.outcome == "not compared"
    assert any(line.startswith("the line as left: ") for line in told.details), told.details


def test_key_that_stands_twice_in_the_results_is_found() -> None:
    """Programs that take the first value read another verdict."""
    data = genuine("as here")
    _, content = results_object(data)
    twice = content.replace(b'"overall": {', b'"overall": {\n  "as_found": "pass",', 1)
    assert twice != content
    assert answer(checks(with_results(data, twice))) == "does not hold"
    assert answer(checks(with_results(data, json.dumps(json.loads(content)).encode()))) == "does not hold"


def zeros(content: bytes) -> bytes:
    """Return a page of which every verdict is another and every number nothing."""
    content = content.replace(b"(fail) Tj", b"(pass) Tj")
    return re.sub(
        rb"\(((?:\\00[12]|\+)?)(\d+)\.(\d+)\) Tj",
        lambda f: b"(" + f[1] + b"0." + b"0" * len(f[3]) + b") Tj",
        content,
    )


@pytest.mark.parametrize(
    "change",
    [
        pytest.param(lambda c: c.replace(b"(fail) Tj", b"(PASS) Tj"), id="words that are no verdicts"),
        pytest.param(
            lambda c: zeros(
                re.sub(rb"\((Level|Parallel|Adjacent)", lambda f: b"(" + f[1][:1] + b" " + f[1][1:], c)
            ),
            id="tables under other captions",
        ),
        pytest.param(
            lambda c: c.replace(b"positive where the drive side", b"positive where the operator side"),
            id="direction in a caption",
        ),
    ],
)
def test_first_form_has_its_tables_and_words(change: Callable[[bytes], bytes]) -> None:
    """What is not found at its place is not let pass."""
    assert answer(checks(drawn(genuine("first form"), change))) == "does not hold"


def over_the_verdict() -> list[object]:
    """Return a place to sign where the verdict stands."""
    return [1, 51.0, 598.0, 301.0, 665.0]


@pytest.mark.parametrize("other", [{"library": OTHER_LIBRARY}, {"wording_sha256": "0" * 64}])
def test_place_to_sign_never_lies_over_a_text(other: dict[str, object]) -> None:
    """A signature there would show what its signer likes in the place of the verdict."""
    same = recorded(genuine("as here"), signature_places=[over_the_verdict()], **other)
    assert answer(checks(same)) == "does not hold"
    reworded = drawn(
        same, lambda c: c.replace(b"(Roll alignment certificate )", b"(Rule alignment certificate )")
    )
    found = checks(reworded)
    assert answer(found) == "does not hold"
    assert other.keys() == {"library"} or any(
        "a place to sign lies over" in detail for one in found for detail in one.details
    )


PLACE = b"BT 1 0 0 1 0 2.6 Tm 79.76055 0 Td /F1+0 8.2 Tf 10.8 TL "
VERDICT = PLACE + b"(Verdict: fail ) Tj T* -79.76055 0 Td ET\n"
ASIDE = b"BT 1 0 0 1 90 4 Tm /F1+0 8.2 Tf 10.8 TL (Verdict: fail ) Tj T* ET\n"
FALSE = PLACE + b"(Verdict: pa) Tj (ss ) Tj T* -79.76055 0 Td ET\n"
LINES = b" ".join(b"85 %.1f m 140 %.1f l S" % (1.2 * at - 4.0, 1.2 * at - 4.0) for at in range(22))
HIDING = {
    "clip of two rectangles": b"q 0 0 1 1 re 400 60 1 1 re W n " + ASIDE + b" Q\n",
    "path that winds twice": ASIDE
    + b"q 1 1 1 rg 87 -3 m 150 -3 l 150 20 l 87 20 l 87 -3 l 150 -3 l 150 20 l 87 20 l h f Q\n",
    "the same, filled as certgen fills": ASIDE
    + b"q 1 1 1 rg 87 -3 m 150 -3 l 150 20 l 87 20 l h 87 -3 m 88 -3 l 88 -2 l h f* Q\n",
    "many pale lines": ASIDE + b"q 1 1 1 RG 1.5 w " + LINES + b" Q\n",
    "dot of a round end": ASIDE + b"q 1 J 1 1 1 RG 40 w 105 8 m 105 8 l S Q\n",
    "edge that closes": ASIDE + b"q 1 1 1 RG 40 w 85 8 m 120 300 l 145 8 l h S Q\n",
    "hole in a dark ground": b"q 0 0 0 rg 84 -5 60 25 re 84 -5 60 25 re f* 1 1 1 rg " + ASIDE + b" Q\n",
    "curve around it": ASIDE + b"q 1 1 1 rg 80 8 m 80 60 150 60 150 8 c 150 -40 80 -40 80 8 c h f* Q\n",
    "nothing but pieces": ASIDE.replace(b"1 90 4 Tm", b"1 140 4 Tm"),
}


@pytest.mark.parametrize("how", HIDING)
def test_verdict_hidden_in_ways_that_certgen_never_draws(how: str) -> None:
    """The true word is drawn, and what hides it is none of the shapes of a certificate."""
    change = with_first(VERDICT, HIDING[how] + FALSE)
    data = recorded(genuine("as here"), library=OTHER_LIBRARY)
    found = checks(drawn(data, change))
    assert any(one.name == "pages" and one.outcome == "differs" for one in found), found


def of_another_reportlab(data: bytes) -> bytes:
    """Return the certificate as another release of the library that embeds fonts would write it."""
    here = f"ReportLab {reportlab.__version__}".encode()
    other = here[:-1] + (b"8" if here.endswith(b"9") else b"9")
    named = {n: part.replace(here, other) for n, part in objects(data).items() if here in part}
    return recorded(forged(data, named), library=f"{other.decode()}, matplotlib 0")


def test_outlines_of_letters_are_compared_whatever_library_embedded_them() -> None:
    """Fonts exchanged in a certificate that another library is said to have written."""
    data = of_another_reportlab(genuine("as here"))
    assert [one for one in checks(data) if one.name == "fonts"] == []
    (found,) = (one for one in checks(letters_that_look_like_others(data)) if one.name == "fonts")
    assert found.outcome == "differs"
