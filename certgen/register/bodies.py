"""The entries of a register as the chain covers them: what each kind of them says, and who wrote it."""

from collections.abc import Sequence
from dataclasses import asdict, dataclass
from datetime import date
from typing import Any

from certgen import __version__
from certgen.register.entry import PDF, Held, Json

CERTIFICATE, RESERVATION, SIGNATURE = "certificate", "reservation", "signature"
WITHDRAWN, NOTE, DISPOSED = "withdrawn", "note", "disposed"
MARKING = (WITHDRAWN, NOTE, DISPOSED)
KEPT_AT_LEAST = 365  # days from the day of issue and from that of recording, before bytes may go
UNPRINTED = "results verified, pages not compared"


@dataclass(frozen=True, slots=True)
class By:
    """Who writes into a register, as the machine they write from claims it."""

    user: str = "not known"
    host: str = "not known"
    certgen: str = __version__


@dataclass(frozen=True, slots=True)
class Frame:
    """What every entry begins with: its place, when it was recorded (UTC, to the second), by whom.

    `clock` is what the clock of the writer said, where it stood before the entry that came last.
    """

    sequence: int
    recorded: str
    by: By
    clock: str | None = None

    def of(self, kind: str) -> Json:
        """Return the beginning of an entry of that kind."""
        late: Json = {} if self.clock is None else {"clock": self.clock}
        return {
            "kind": kind,
            "sequence": self.sequence,
            "recorded": self.recorded,
            "by": asdict(self.by),
            **late,
        }


def certificate_body(frame: Frame, held: Held) -> Json:
    """Return the entry of a certificate."""
    said = asdict(held.certificate)
    said["instruments"] = list(said["instruments"])
    taken: Json = {"accepted": UNPRINTED} if held.unprinted else {}
    signed = {"signed_by": list(held.signed_by)}
    return {**frame.of(CERTIFICATE), "certificate": said, "sha256": held.digests(), **signed, **taken}


def reservation_body(frame: Frame, number: str) -> Json:
    """Return the entry of a number handed out."""
    return {**frame.of(RESERVATION), "number": number}


def signature_body(frame: Frame, of: Json, digest: str, signed_by: Sequence[str]) -> Json:
    """Return the entry of a certificate that was signed after it had been recorded.

    `of` names it by `sequence`, `number` and `revision`; the PDF begins with the bytes recorded before.
    """
    return {**frame.of(SIGNATURE), "of": of, "sha256": {PDF: digest}, "signed_by": list(signed_by)}


def withdrawn_body(frame: Frame, of: Json, reason: str) -> Json:
    """Return the entry that says of a certificate that it was recorded in error."""
    return {**frame.of(WITHDRAWN), "of": of, "reason": reason}


def note_body(frame: Frame, instrument: str, touched: Sequence[Json], reason: str) -> Json:
    """Return the entry that says that an instrument, named by its serial number, was found to deviate.

    `touched` are the certificates that rely on it, each by `sequence`, `number` and `revision`.
    """
    return {**frame.of(NOTE), "instrument": instrument, "touches": list(touched), "reason": reason}


def disposed_body(frame: Frame, of: Json, removed: Sequence[str], reason: str) -> Json:
    """Return the entry that says that a certificate was kept long enough and its bytes are gone.

    `removed` are the SHA-256 of the files removed: those that no certificate needs that is still kept.
    """
    return {**frame.of(DISPOSED), "of": of, "removed": sorted(removed), "reason": reason}


def kept_long_enough(issued: str, recorded: str, when: str) -> bool:
    """Tell whether a certificate issued and recorded then was kept for `KEPT_AT_LEAST` days at `when`.

    All begin with a day, YYYY-MM-DD. ValueError where one is none.
    """
    last = max(date.fromisoformat(issued[:10]), date.fromisoformat(recorded[:10]))
    return (date.fromisoformat(when[:10]) - last).days >= KEPT_AT_LEAST


def marked(body: Json) -> list[Any]:
    """Return the certificates that an entry of a marking kind speaks of, as they are named in it."""
    return list(body["touches"]) if body["kind"] == NOTE else [body["of"]]  # type: ignore[call-overload]  # JSON
