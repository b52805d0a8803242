"""A certificate held against the one that its survey gives now: results, and all that stands on its pages.

It is printed anew and compared whole. Where another form of the pages, other templates or another version of
the drawing library printed it, the pages may look otherwise without anybody having changed them; then they
are not compared, and what they say is held against the results at its places only.
"""

import re
from collections.abc import Iterator
from typing import Any

from certgen.pdf.archive.metadata import DCC
from certgen.pdf.archive.print_record import PRINT_FORM, ROUNDING, form_of
from certgen.verify.allowed_objects import closed, differences, exactly
from certgen.verify.compare_contents import (
    ABSOLUTE,
    RELATIVE,
    Check,
    by_page,
    differing,
    differs,
    draws_the_same,
    exact,
    held,
    not_compared,
    pages,
    remark,
)
from certgen.verify.form_1 import FORM
from certgen.verify.issued_file import Carried
from certgen.verify.places import at_places
from certgen.verify.reissue import Again, of_another

# what may be recorded otherwise without anybody having changed the certificate
_MAY_DIFFER = {"certgen", "print_form", "program_sha256", "library", "wording_sha256", ROUNDING}
# what another form did not record, or laid elsewhere on its pages
_OF_OLDER_FORMS = {"rounding_rule", "signature_places"}
_OF_THE_FIRST = {"annexes", "with_checklist"}  # it recorded a page to check in place of the annexes
_VERSION = re.compile(r"[0-9]{1,4}(\.[0-9a-z]{1,8}){0,5}")


def against(certificate: Carried, found: dict[str, Any], again: Again) -> Iterator[Check]:
    """Yield the checks; `found` are the results inside, which say how the certificate was printed."""
    how, now = dict(found["printed"]), again.found["printed"]
    other = tuple(_printed_otherwise(how, now))
    yield _record(found, now, other)
    if how.get(ROUNDING, now[ROUNDING]) != now[ROUNDING]:
        yield remark(
            "arithmetic", "It was computed on a machine that rounds the last digits otherwise than this one"
        )
    yield _results(found, again.found)
    yield closed(certificate.raw[0], again.raw)
    yield from _dcc(certificate, found, again)
    yield from _pages(certificate, found, again, other)
    if found["printed"].get("draft") is True:
        yield remark("draft", "It is a draft: nobody has issued it")


def _printed_otherwise(how: dict[str, Any], now: dict[str, Any]) -> Iterator[str]:
    """Yield why the pages may be others than this program prints, with what would compare them."""
    version = how.get("certgen")
    if form_of(how) != PRINT_FORM:
        yield f"their form is {form_of(how)!s:.20}, and this certgen prints form {PRINT_FORM}"
        if isinstance(version, str) and _VERSION.fullmatch(version) and version != now["certgen"]:
            release = f"certgen=={version}"
            yield f"certgen {version} compares them: uvx {release} verify FILE, or pip install {release}"
    elif how.get("wording_sha256") != now["wording_sha256"]:
        yield "they were printed with other words or another look; --templates names the folder of those"
    if how.get("library") != now["library"]:
        yield f"they were drawn by {how.get('library')!s:.80}, and here is {now['library']}"


def _record(found: dict[str, Any], now: dict[str, Any], other: tuple[str, ...]) -> Check:
    """What is recorded of the printing is what printing it again records."""
    how = found["printed"]
    moved = form_of(how) == FORM or how.get("wording_sha256") != now["wording_sha256"]
    free = _MAY_DIFFER | (_OF_OLDER_FORMS if moved else set())
    free |= _OF_THE_FIRST if form_of(how) == FORM else set()
    odd = [
        f"{key}: {how.get(key)} against {now.get(key)}"
        for key in sorted({*how, *now} - free)
        if how.get(key) != now.get(key)
    ]
    version = how.get("certgen")
    if not isinstance(version, str) or not _VERSION.fullmatch(version):
        odd.append(f"certgen: {version!s:.40} is no version")
    if form_of(how) not in (FORM, PRINT_FORM):
        odd.append(
            f"print_form: {form_of(how)!s:.20} is no form that is known here; a newer certgen may know it"
        )
    if form_of(how) != FORM and "edition" not in found:
        odd.append("edition: the results of this form name the edition of the rules, and these name none")
    if odd:
        return differs("print", "The record of how the certificate was printed is not sound", odd)
    if other:
        return remark("print", f"It was printed otherwise than this certgen prints it, by certgen {version}")
    return held("print", f"Its pages are of form {PRINT_FORM}, which this certgen prints with these words")


def _results(found: dict[str, Any], computed: dict[str, Any]) -> Check:
    """Bit for bit, or within the tolerance of another processor or library."""
    one, two = ({key: some[key] for key in some if key != "printed"} for some in (found, computed))
    if exact(one, two):
        return held("results", "All results, computed again, are those inside, to the last digit")
    odd = list(differing("", one, two, more_allowed=of_another(found["printed"], computed["printed"])))
    if odd:
        return differs("results", "Results, computed again, are not those inside", odd)
    text = f"All results, computed again, are those inside, within {RELATIVE:g} of their size or {ABSOLUTE:g}"
    return held("results", text)


def _dcc(certificate: Carried, found: dict[str, Any], again: Again) -> Iterator[Check]:
    """The results in the form of a DCC are those that the survey gives; they name the program they are of."""
    carried = certificate.files().get(DCC, b"")
    if not carried and not again.dcc:
        return
    if carried == again.dcc:
        yield held("dcc", f"The results in the form of a DCC are those that the survey gives ({DCC})")
    elif found["printed"].get("certgen") != again.found["printed"]["certgen"] or not again.rounds_alike:
        text = f"The results in the form of a DCC ({DCC}) were written by another program, and not compared"
        yield not_compared("dcc", text)
    else:
        yield differs("dcc", f"The results in the form of a DCC ({DCC}) are not those that the survey gives")


def _pages(
    certificate: Carried, found: dict[str, Any], again: Again, other: tuple[str, ...]
) -> Iterator[Check]:
    """What the pages say, and everything else in the file."""
    if certificate.base == again.printed.pdf:
        text = "The file is, byte for byte, what certgen prints from the survey inside"
        yield held("pages", f"All that {_count(certificate)} say is what the survey gives")
        yield held("file", text if again.rounds_alike else f"{text}, with these last digits of the results")
        yield from _recorded_alike(found, again)
        return
    if form_of(found["printed"]) != PRINT_FORM:  # its pages are others in any case
        yield from at_places(certificate, again, other)
        return
    alike = exactly if again.rounds_alike else draws_the_same
    paths = differences(certificate.reader, again.reader, alike=alike)
    if not paths:
        yield held("pages", f"All that {_count(certificate)} say is what the survey gives")
        yield _packed_otherwise(again)
        yield from _recorded_alike(found, again)
    elif other:
        yield from at_places(certificate, again, other)
    else:
        odd = by_page(pages(certificate.reader), again.words)
        if odd:
            text = "The pages do not say what the survey gives"
            yield differs("pages", text, [one.line() for one in odd])
        text = "Drawings, fonts or other objects are not those that the survey gives"
        yield differs("file", text, paths)


def _recorded_alike(found: dict[str, Any], again: Again) -> Iterator[Check]:
    """Pages that are those of here leave no room for another record of them."""
    odd = [
        f"{key}: {found['printed'].get(key)} against {again.found['printed'].get(key)}"
        for key in sorted(_OF_OLDER_FORMS)
        if found["printed"].get(key) != again.found["printed"].get(key)
    ]
    if odd:
        yield differs("print", "The pages are those of this certgen, and the record of printing is not", odd)


def _count(certificate: Carried) -> str:
    count = len(certificate.reader.pages)
    return f"{count} pages" if count > 1 else "the page"


def _packed_otherwise(again: Again) -> Check:
    only = (
        "their packing"
        if again.rounds_alike
        else "the last digits of coordinates, which nobody sees, or packing"
    )
    text = f"Drawings, fonts and all other objects are those that the survey gives; only {only} differs"
    return held("file", text)
