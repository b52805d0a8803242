"""Certificates of a few bytes, for the tests that need many."""

from dataclasses import replace

from certgen.register.entry import PDF, RESULTS, SURVEY, Certificate, Held, Used

WHEN = "2026-11-25T08:00:00Z"
LASER = Used("sweeping laser", "SL-0417", "2026-02-11", "2027-02-11", "certificate 26-1187")
LEVEL = Used("precision level", "PL-22", "2026-01-20", "2027-01-20", "certificate 26-0904")
PLAIN = Certificate(
    number="FC-2026-001",
    revision=0,
    issued="2026-10-16",
    started="2026-10-14",
    finished="2026-10-15",
    line="Spunbond line 3",
    asset="LN3-WND",
    location="Hall B",
    customer="Larkfield Nonwovens",
    order="PO 77120",
    contractor="Fennel Creek Alignment",
    decision="guarded",
    as_found="fail",
    as_left="pass",
    instruments=(LASER, LEVEL),
)


def signed(held: Held, signature: str = "signed") -> Held:
    """Return a certificate with something appended to its PDF, as a signature is."""
    return Held(held.certificate, {**held.files, PDF: held.files[PDF] + f" {signature}".encode()})


def small(number: str, revision: int = 0, **said: object) -> Held:
    """Return a certificate of a few bytes, its files like no other's."""
    one = replace(PLAIN, number=number, revision=revision, **said)  # type: ignore[arg-type]
    names = {PDF: "pages", SURVEY: "survey", RESULTS: "results"}
    return Held(one, {name: f"{text} of {number}, {revision}".encode() for name, text in names.items()})
