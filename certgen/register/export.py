"""The certificates of a register as a table: CSV (RFC 4180), JSON, or a workbook for a spreadsheet."""

import csv
import json
from collections.abc import Mapping, Sequence
from datetime import datetime
from io import BytesIO, StringIO
from typing import Any

from certgen.errors import WrongUsage
from certgen.register.bodies import DISPOSED, NOTE, WITHDRAWN
from certgen.register.chain import Head
from certgen.register.entry import Json
from certgen.register.find import Kept

FORMAT = "certgen-register/1"
COLUMNS = (
    "sequence", "recorded", "number", "revision", "supersedes", "reason", "issued", "started", "finished",
    "line", "asset", "location", "customer", "order", "contractor", "decision", "as_found", "as_left",
    "instruments", "pdf_sha256", "replaced_by", "signed", "surveyed_by", "approved_by", "signed_by",
    "recorded_by", "withdrawn", "notes", "disposed", "register_head",
)  # fmt: skip
# a workbook states when it was made; the same entries give the same bytes
_MADE = datetime(2000, 1, 1)
# a spreadsheet would read a text that begins so as a formula
_FORMULA = ("=", "+", "-", "@", "\t", "\r")


def as_json(found: Sequence[Kept], head: Head) -> bytes:
    """Return the entries as the chain covers them, where the register ended, and by what some are replaced.

    A certificate that was signed after it had been recorded has an entry for that, too. `replaced_by` has the
    place of an entry as its key. What later entries say of a certificate stands among the entries.
    """
    replaced = {f"{one.body['sequence']}": one.replaced_by for one in found if one.replaced_by}
    every = {_place(each): each for one in found for each in (one.body, *one.signatures, *one.marks)}
    entries = [every[place] for place in sorted(every)]
    report = {"format": FORMAT, "head": str(head), "entries": entries, "replaced_by": replaced}
    return f"{json.dumps(report, indent=1, ensure_ascii=False)}\n".encode()


def as_csv(found: Sequence[Kept], head: Head) -> bytes:
    """Return one line for each certificate, with a byte order mark so that spreadsheets read it as UTF-8."""
    stream = StringIO(newline="")
    writer = csv.writer(stream)
    writer.writerow(COLUMNS)
    writer.writerows([_harmless(value) for value in row(one, head)] for one in found)
    return stream.getvalue().encode("utf-8-sig")


def as_xlsx(found: Sequence[Kept], head: Head) -> bytes:
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
    for line, values in enumerate([COLUMNS, *(row(one, head) for one in found)]):
        for column, value in enumerate(values):  # a text is never a formula
            (sheet.write_number if isinstance(value, int) else sheet.write_string)(line, column, value)
    book.close()
    return buffer.getvalue()


def row(one: Kept, head: Head) -> list[Any]:
    """Return a certificate as the values of the columns.

    `signed` is when the signed form was recorded, `recorded_by` who claims to have recorded it; `withdrawn`,
    `notes` and `disposed` are the reasons that later entries give. `head` is where the register ended.
    """
    by: Any = one.body.get("by")
    made = {
        "instruments": _instruments(one.said["instruments"]),
        "pdf_sha256": one.pdf,
        "replaced_by": one.replaced_by,
        "signed": one.signatures[-1]["recorded"] if one.signatures else None,
        "signed_by": ", ".join(one.signed_by),
        "recorded_by": f"{by['user']} at {by['host']}" if by else None,
        "withdrawn": _reasons(one, WITHDRAWN),
        "notes": _reasons(one, NOTE),
        "disposed": _reasons(one, DISPOSED),
        "register_head": f"{head}",
    }
    values = {**one.said, **one.body, **made}
    return ["" if values.get(name) is None else values[name] for name in COLUMNS]


def _reasons(one: Kept, kind: str) -> str:
    return "; ".join(f"{each['recorded']}: {each['reason']}" for each in one.marked(kind))


def _place(body: Json) -> int:
    return int(f"{body['sequence']}")


def _instruments(used: Sequence[Mapping[str, str]]) -> str:
    return "; ".join(f"{one['kind']} {one['serial']}, due {one['due']}" for one in used)


def _harmless(value: Any) -> Any:
    return f"'{value}" if isinstance(value, str) and value.startswith(_FORMULA) else value
