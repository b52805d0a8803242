"""Does a certificate say what its survey gives? All it carries and prints, computed and printed again.

Which edition computed a certificate stands in its results, and whoever writes a certificate writes them.
So an older edition is never taken as good as the present one: it could be chosen for what it lets pass.
"""

import json
import re
from collections.abc import Callable, Iterator, Mapping, Sequence
from hashlib import sha256
from typing import Any

from certgen.assessment.assess import assess
from certgen.errors import CannotCompute, NotVerified, SurveyRefused, WrongUsage
from certgen.network.solution import solve_reading
from certgen.pdf.archive.metadata import FORMAT, RESULTS, SURVEY, print_digest, results_bytes
from certgen.results.survey_results import survey_results
from certgen.survey import read_bytes
from certgen.survey.edition import EDITION, edition_of
from certgen.survey.survey import ROUNDS
from certgen.verify.compare_contents import Check, differs, held, not_compared, remark
from certgen.verify.compare_reissue import against
from certgen.verify.incremental_updates import appended
from certgen.verify.issued_file import Carried
from certgen.verify.reissue import Again
from certgen.wording.wording import Wording

_OBJECT = re.compile(rb"(?<=\n)(\d+) 0 obj\n")
_TRAILER = re.compile(
    rb"trailer\n<<\n/ID \[<\w{32}> <\w{32}>\] /Info \d+ 0 R /Root \d+ 0 R /Size (\d+)\n>>\n"
    rb"startxref\n(\d+)\n%%EOF\n"
)
_TRAILER_KEYS = {"ID", "Info", "Root", "Size"}
OTHERWISE = "edition"  # the name of a check that no signer can stand for
SAME = "edition alone"
_NONE = "nothing stated"
PrintAgain = Callable[[bytes, bytes], Again]


def inside(certificate: Carried, found: dict[str, Any]) -> Iterator[Check]:
    """Yield the checks; `found` are the results inside, empty where they cannot be read."""
    yield _format(certificate, found.get("printed"))
    yield _digest(certificate)
    yield _identifiers(certificate)
    yield _table(certificate)
    pairs = certificate.information()
    odd = [f"{name}: “{xmp}” against “{info}”" for name, (xmp, info) in pairs.items() if xmp != info]
    if odd:
        metadata = differs("metadata", "Metadata and document information do not agree", odd)
    else:
        metadata = held("metadata", "Metadata and document information agree")
    yield metadata
    yield _survey(certificate, found)
    # where a key stands twice, programs read different values; certgen writes results in one way only
    try:
        same = results_bytes(found) == certificate.results
    except ValueError:  # numbers that are none
        same = False
    if not same:
        text = f"{RESULTS} is not written as certgen writes it: a key may stand twice, or be spaced otherwise"
        yield differs("results", text)


def _format(certificate: Carried, how: Any) -> Check:
    """The version of the form, which the metadata and the results name."""
    named = certificate.metadata("certgen:format")
    recorded = how.get("format") if isinstance(how, dict) else None
    if named == recorded == FORMAT and certificate.metadata("certgen:printed") == print_digest(how):
        return held("format", f"The form of the certificate is {FORMAT}, printed as it records")
    says = (f"the metadata says {named or 'nothing'}", f"the results say {recorded or 'nothing'}")
    text = f"The form of the certificate is not {FORMAT}, or its record of printing was changed"
    return differs("format", text, says)


def _digest(certificate: Carried) -> Check:
    """The digest in the metadata is that of every byte that stands before it."""
    before = sha256(certificate.base[: certificate.packet_at]).hexdigest()
    if certificate.metadata("certgen:digest") == before:
        return held(
            "digest", "No byte of pages, fonts and attachments has changed since the file was written"
        )
    text = "Bytes of pages, fonts or attachments have changed since the file was written"
    return differs("digest", text, ("the digest in the metadata is another",))


def _identifiers(certificate: Carried) -> Check:
    """They are made from all that stands before the cross-reference table."""
    identifiers = [item.original_bytes.hex() for item in certificate.reader.trailer.get("/ID", ())]
    body = certificate.base[: _table_at(certificate)]
    if identifiers == [sha256(body).hexdigest()[:32]] * 2:
        return held("identifiers", "The file identifiers are those of its content")
    return differs("identifiers", "The file identifiers are not those of its content")


def _table(certificate: Carried) -> Check:
    """Every object is where the table says, and the trailer has nothing in it but what belongs there."""
    base, start, raw = certificate.base, _table_at(certificate), certificate.raw[0]
    if raw.inside:  # packed objects: the table is a stream, which was held against every place already
        count = len(raw.places) + len(raw.inside)
        sound = raw.trailer.keys() == _TRAILER_KEYS and raw.trailer["Size"] == count + 2
        return _placed(sound)
    places = {int(found[1]): found.start() for found in _OBJECT.finditer(base, 0, start)}
    entries = b"".join(b"%010d 00000 n \n" % places[number] for number in sorted(places))
    table = b"xref\n0 %d\n0000000000 65535 f \n%s" % (len(places) + 1, entries)
    end = _TRAILER.fullmatch(base, start + len(table))
    sound = base[start:].startswith(table) and end is not None
    return _placed(sound and end is not None and (int(end[1]), int(end[2])) == (len(places) + 1, start))


def _placed(sound: bool) -> Check:
    if sound:
        return held("table", "Every object is where the table of the file says")
    return differs("table", "The table of the objects or the end of the file was changed")


def _table_at(certificate: Carried) -> int:
    return certificate.raw[0].table


def _survey(certificate: Carried, found: dict[str, Any]) -> Check:
    digest = sha256(certificate.survey).hexdigest()
    if found.get("survey_sha256") == digest:
        return held("survey", f"The survey inside is the one that was computed ({SURVEY}, SHA-256 {digest})")
    details = (f"its SHA-256 is {digest}", f"the results name {found.get('survey_sha256')}")
    return differs("survey", "The survey inside is not the one that was computed", details)


def older_edition(survey: bytes, found: Mapping[str, Any]) -> Iterator[Check]:
    """Yield what the newest edition says of a survey whose results an older one computed."""
    edition = edition_of(found)
    if edition == EDITION:
        return
    told = f"The results were computed by edition {edition} of the rules"
    try:
        now = _now(survey)
    except (SurveyRefused, CannotCompute) as error:
        yield not_compared(
            OTHERWISE, f"{told}; by edition {EDITION} this survey is refused", str(error).splitlines()
        )
        return
    was, is_now = dict(_verdicts(found)), dict(_verdicts(now))
    odd = [
        f"{place}: {was.get(place, _NONE)}, by edition {EDITION} {is_now.get(place, _NONE)}"
        for place in {**is_now, **was}
        if was.get(place) != is_now.get(place)
    ]
    if odd:
        yield not_compared(OTHERWISE, f"{told}; by edition {EDITION} these verdicts are others", odd)
    else:
        yield not_compared(SAME, f"{told}; by edition {EDITION} every verdict is the same")


def _now(survey: bytes) -> Mapping[str, Any]:
    found: Mapping[str, Any] = json.loads(
        json.dumps(survey_results(assess(solve_reading(SURVEY, read_bytes(SURVEY, survey)))))
    )
    return found


def _verdicts(found: Mapping[str, Any]) -> Iterator[tuple[str, str]]:
    """Yield where a verdict stands, and the verdict."""
    for which in ROUNDS:
        called = which.replace("_", " ")
        yield f"the line {called}", str(found["overall"][which])
        for one in (*found["adjacent"], *found["rolls"]):
            name = one["id"] if "id" in one else f"{one['from']} and {one['to']}"
            for aspect in ("level", "parallel"):
                state = (one.get(aspect) or {}).get(which)
                if state:
                    yield f"{name} {aspect} {called}", str(state["verdict"])


def verify(certificate: Carried, print_again: PrintAgain, trust: Sequence[bytes] = ()) -> tuple[Check, ...]:
    """Return what was checked of a certificate, and how each came out.

    `trust` are the certificates of authorities whose signers are trusted. Raises NotVerified where a changed
    byte keeps the file from being read at all.
    """
    try:
        checks, wording = _as_issued(certificate, print_again)
        found = (*checks, *appended(certificate, _places(certificate), trust, wording))
        return _vouched_for(found) if trust else found
    except (WrongUsage, NotVerified):
        raise
    except (SurveyRefused, CannotCompute) as error:
        raise NotVerified(f"the survey inside gives no certificate: {error}") from None
    except Exception as error:  # as in `carried`: a changed byte may break the reader anywhere
        raise NotVerified(f"the file cannot be read: {type(error).__name__}: {error}.") from None


def _as_issued(certificate: Carried, print_again: PrintAgain) -> tuple[tuple[Check, ...], Wording | None]:
    """What was checked of the certificate as issued, and the words that it was printed with."""
    found = certificate.found() or {}
    checks = tuple(inside(certificate, found))
    how = found.get("printed")
    if not isinstance(how, dict):
        return (*checks, differs("results", "The results inside are not those of a certificate")), None
    again = print_again(certificate.survey, certificate.results)
    older = older_edition(certificate.survey, found)
    return (*checks, *against(certificate, found, again), *older), again.wording


def _vouched_for(checks: tuple[Check, ...]) -> tuple[Check, ...]:
    """Where somebody trusted has signed the whole file, the signer stands for what cannot be compared.

    Not for verdicts that today's rules give otherwise: the signer may be who chose the rules of before.
    """
    signed = [check.outcome for check in checks if check.name in ("signature", "trust")]
    if not signed or set(signed) != {"held"}:
        return checks
    return tuple(
        remark(one.name, f"{one.text}; the signer stands for it", one.details)
        if one.outcome == "not compared" and one.name != OTHERWISE
        else one
        for one in checks
    )


def _places(certificate: Carried) -> Sequence[Any]:
    """The places to sign, none where the record of printing does not say."""
    how = (certificate.found() or {}).get("printed")
    places = how.get("signature_places") if isinstance(how, dict) else None
    return places if isinstance(places, list) else ()
