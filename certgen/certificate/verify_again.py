"""A certificate held against the one that its survey gives now: results, words on the pages, everything else.

Where another program or other templates printed it, the pages may look otherwise; then a number that stands
where another should is a fault all the same, and any other difference is a remark.
"""

from collections.abc import Iterator
from typing import Any

from certgen.certificate.again import Again
from certgen.certificate.archive_print import ROUNDING
from certgen.certificate.carried import Carried
from certgen.certificate.verification import Check, differs, held, remark
from certgen.certificate.verify_drawings import draws_the_same
from certgen.certificate.verify_objects import differences, exactly
from certgen.certificate.verify_results import ABSOLUTE, RELATIVE, differing, exact
from certgen.certificate.verify_words import by_page, pages, running

# what may be otherwise without anybody having changed the certificate -> how to say so
_PRINTER = {
    "wording_sha256": "with other words (templates)",
    "program_sha256": "by another certgen",
    "library": "with another version of the drawing library",
}


def against(certificate: Carried, found: dict[str, Any], again: Again) -> Iterator[Check]:
    """Yield the checks; `found` are the results inside, which say how the certificate was printed."""
    how, now = dict(found["printed"]), again.found["printed"]
    other = [text for key, text in _PRINTER.items() if how.get(key) != now[key]]
    if other:
        yield _printed_otherwise(other, how, now)
    else:
        yield _printed(how, now)
    if how.get(ROUNDING, now[ROUNDING]) != now[ROUNDING]:
        yield remark(
            "arithmetic", "It was computed on a machine that rounds the last digits otherwise than this one"
        )
    yield _results(found, again.found, other=bool(other))
    yield _pages(certificate, again, other=bool(other))
    yield _everything(certificate, again, other=bool(other))


def _printed_otherwise(other: list[str], how: dict[str, Any], now: dict[str, Any]) -> Check:
    """A remark, with what would compare to the letter."""
    wanted = {
        "wording_sha256": "--templates names the folder of templates that printed it",
        "program_sha256": f"it was printed by certgen {how.get('certgen')}",
        "library": f"it was drawn by {how.get('library')}",
    }
    hints = [hint for key, hint in wanted.items() if how.get(key) != now[key]]
    return remark("print", f"The certificate was printed {' and '.join(other)}", hints)


def _printed(how: dict[str, Any], now: dict[str, Any]) -> Check:
    odd = [
        f"{key}: {how.get(key)} against {now.get(key)}"
        for key in sorted({*how, *now} - {ROUNDING})
        if how.get(key) != now.get(key)
    ]
    if odd:
        return differs("print", "The record of how the certificate was printed is not sound", odd)
    return held("print", "This certgen, with these words, is the one that printed the certificate")


def _results(found: dict[str, Any], computed: dict[str, Any], *, other: bool) -> Check:
    """Bit for bit, or within the tolerance of another processor or library."""
    one, two = ({key: some[key] for key in some if key != "printed"} for some in (found, computed))
    if exact(one, two):
        return held("results", "All results, computed again, are those inside, to the last digit")
    odd = list(differing("", one, two, more_allowed=other))
    if odd:
        return differs("results", "Results, computed again, are not those inside", odd)
    text = f"All results, computed again, are those inside, within {RELATIVE:g} of their size or {ABSOLUTE:g}"
    return held("results", text)


def _pages(certificate: Carried, again: Again, *, other: bool) -> Check:
    printed, expected = pages(certificate.reader), again.words
    count = sum(map(len, printed))
    if printed == expected:
        return held("pages", f"All {count} words on {len(printed)} pages are those that the survey gives")
    if not other:
        lines = [one.line() for one in by_page(printed, expected)]
        return differs("pages", "The pages do not say what the survey gives", lines)
    odd = running(printed, expected)
    wrong = [one.line() for one in odd if one.of_numbers()]
    if wrong:
        return differs("pages", "Numbers on the pages are not those that the survey gives", wrong)
    text = f"Words on the pages are not those that these templates and this program print; of {count}, in"
    return remark("pages", f"{text} {len(odd)} places", [one.line() for one in odd])


def _everything(certificate: Carried, again: Again, *, other: bool) -> Check:
    if certificate.base == again.printed.pdf:
        text = "The file is, byte for byte, what certgen prints from the survey inside"
        return held("file", text if again.rounds_alike else f"{text}, with these last digits of the results")
    if other:
        return remark(
            "file", "Drawings and layout were not compared: they are another program's or other templates'"
        )
    rounded = not again.rounds_alike
    paths = differences(certificate.reader, again.reader, alike=draws_the_same if rounded else exactly)
    if paths:
        return differs("file", "Drawings, fonts or other objects are not those that the survey gives", paths)
    only = (
        "the last digits of coordinates, which nobody sees, or their packing" if rounded else "their packing"
    )
    text = f"Drawings, fonts and all other objects are those that the survey gives; only {only} differs"
    return remark("file", text)
