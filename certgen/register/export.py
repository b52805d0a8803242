"""The certificates of a register as a table: CSV (RFC 4180), JSON, or a workbook for a spreadsheet."""

import csv
import json
from collections.abc import Mapping, Sequence
from datetime import datetime
from io import BytesIO, StringIO
from typing import Any

from certgen.errors import WrongUsage
from certgen.register.chain import Head
from certgen.register.entry import PDF, Json

FORMAT = "certgen-register/1"
COLUMNS = (
    "sequence", "recorded", "number", "revision", "supersedes", "reason", "issued", "started", "finished",
    "line", "asset", "location", "customer", "order", "contractor", "decision", "as_found", "as_left",
    "instruments", "pdf_sha256",
)  # fmt: skip
# a spreadsheet would read a text that begins so as a formula
# a workbook states when it was made; the same entries give the same bytes
_MADE = datetime(2000, 1, 1)
_FORMULA = ("=", "+", "-", "@", "\t", "\r")


def as_json(bodies: Sequence[Json], head: Head) -> bytes:
    """Return the entries as the chain covers them, and where the register ended."""
    report = {"format": FORMAT, "head": str(head), "entries": list(bodies)}
    return f"{json.dumps(report, indent=1, ensure_ascii=False)}\n".encode()


def as_csv(bodies: Sequence[Json]) -> bytes:
    """Return one line for each certificate, with a byte order mark so that spreadsheets read it as UTF-8."""
    stream = StringIO(newline="")
    writer = csv.writer(stream)
    writer.writerow(COLUMNS)
    writer.writerows([_harmless(value) for value in row(body)] for body in bodies)
    return stream.getvalue().encode("utf-8-sig")


def as_xlsx(bodies: Sequence[Json]) -> bytes:
    """Return one line for each certificate as a workbook (ISO/IEC 29500)."""
    try:
        from xlsxwriter import Workbook
    except ImportError:
        raise WrongUsage("A workbook needs XlsxWriter: pip install 'certgen[xlsx]'.") from None
    buffer = BytesIO()
    book = Workbook(buffer, {"in_memory": True})
    book.set_properties({"created": _MADE})
    sheet = book.add_worksheet("certificates")
    sheet.freeze_panes(1, 0)
    for line, values in enumerate([COLUMNS, *(row(body) for body in bodies)]):
        for column, value in enumerate(values):  # a text is never a formula
            (sheet.write_number if isinstance(value, int) else sheet.write_string)(line, column, value)
    book.close()
    return buffer.getvalue()


def row(body: Json) -> list[Any]:
    """Return an entry as the values of the columns."""
    said, digests = body["certificate"], body["sha256"]
    assert isinstance(said, Mapping)  # noqa: S101  # entries of certificates only
    assert isinstance(digests, Mapping)  # noqa: S101
    values = {**said, **body, "instruments": _instruments(said["instruments"]), "pdf_sha256": digests[PDF]}
    return ["" if values[name] is None else values[name] for name in COLUMNS]


def _instruments(used: Sequence[Mapping[str, str]]) -> str:
    return "; ".join(f"{one['kind']} {one['serial']}, due {one['due']}" for one in used)


def _harmless(value: Any) -> Any:
    return f"'{value}" if isinstance(value, str) and value.startswith(_FORMULA) else value
