"""Forgeries that lean on what verification lets differ: last digits, an older edition, another printer."""

import re
from collections.abc import Callable
from math import nextafter

import pytest

from certgen.certificate.verification import answer
from tests.certificate.forge import forged, measured, objects, stream
from tests.certificate.test_forgeries import checks, drawn, genuine

SLOPE = re.compile(rb'"slope_mm_per_m": (-?0\.\d{10,})')
AT_NOTHING = re.compile(rb"BT 1 0 0 1 0 (\S+) Tm (/F\S+ \S+ Tf \S+ TL \(fail\))")


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
