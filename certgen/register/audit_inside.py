"""The part of an audit that holds the entry of a certificate against the certificate itself."""

import json
from collections.abc import Iterator, Mapping
from typing import Any

from certgen.certificate.carried import carried
from certgen.certificate.signature_claim import claim
from certgen.certificate.written import Written, written
from certgen.errors import CertgenError
from certgen.register.entry import PDF, RESULTS, SURVEY
from certgen.register.take import take

_IDENTITY = ("number", "revision", "issued", "supersedes", "reason")


def against_pdf(body: Mapping[str, Any], files: Mapping[str, bytes]) -> Iterator[str]:
    """Yield what an entry says otherwise than the PDF recorded with it; `files` are its files by name.

    The files inside are those recorded beside it, number, revision, day of issue and verdicts are those of
    the results inside, and what follows the certificate as issued is a signature. That the results are those
    of the survey takes computing them again.
    """
    try:
        inside = _inside(files[PDF])
    except CertgenError as error:
        yield f"{PDF} is no certificate: {error}"
        return
    for name in (SURVEY, RESULTS):
        if inside.files.get(name) != files[name]:
            yield f"{name} is not the one that {PDF} carries"
    yield from _signed(body, files[PDF], inside.length)
    try:
        yield from _identity(body, files)
    except (ValueError, KeyError, TypeError, AttributeError, CertgenError):
        yield f"what {RESULTS} says cannot be read"


def appended(body: Mapping[str, Any], pdf: bytes) -> Iterator[str]:
    """Yield what is wrong with the signed form of a certificate, for the entry by which it was added."""
    try:
        length = _inside(pdf).length
    except CertgenError as error:
        yield f"{PDF} is no certificate: {error}"
        return
    if length == len(pdf):
        yield "nothing was appended to what was recorded"
    yield from _signed(body, pdf, length)


def _inside(pdf: bytes) -> Written:
    """What a PDF carries, quickly where it is written as certgen writes it."""
    quickly = written(pdf)
    if quickly is not None:
        return quickly
    found = carried(pdf)
    return Written({SURVEY: found.survey, RESULTS: found.results}, len(found.base))


def _signed(body: Mapping[str, Any], pdf: bytes, length: int) -> Iterator[str]:
    found = claim(pdf, length)
    if found.fault:
        yield found.fault
    elif found.signed_by and tuple(body.get("signed_by", found.signed_by)) != found.signed_by:
        yield f"it is signed by {', '.join(found.signed_by)}, and the entry names others"


def _identity(body: Mapping[str, Any], files: Mapping[str, bytes]) -> Iterator[str]:
    said, found = body["certificate"], json.loads(files[RESULTS])
    if found["survey_sha256"] != body["sha256"][SURVEY]:
        yield f"{RESULTS} was made from another survey"
    inside = found.get("certificate") or {}
    if not set(_IDENTITY) <= inside.keys():
        inside = {**_by_survey(files[PDF]), **inside}
    told = {**{name: inside[name] for name in _IDENTITY}, "decision": found["decision"]}
    told |= {which: found["overall"][which] for which in ("as_found", "as_left")}
    for name, value in told.items():
        if said[name] != value or type(said[name]) is not type(value):
            yield f"says {name.replace('_', ' ')} {said[name]!r}, and the certificate {value!r}"


def _by_survey(pdf: bytes) -> dict[str, Any]:
    """What identifies a certificate whose results do not say all of it, as those of the first ones."""
    one = take(PDF, pdf).certificate
    return {name: getattr(one, name) for name in _IDENTITY}
