"""The certificates of a register as a table (CSV, JSON, workbook), or as a folder with its index."""

import csv
import json
import re
from collections.abc import Iterator, Mapping, Sequence
from datetime import datetime
from hashlib import sha256
from html import escape
from io import BytesIO, StringIO
from typing import Any

from certgen.errors import WrongUsage
from certgen.register.entries import DISPOSED, NOTE, WITHDRAWN, Head, Json
from certgen.register.find import Kept
from certgen.register.register import Register

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
INDEX, DIGESTS = "index.html", "SHA256SUMS"
_HEADS = (
    "Certificate", "Revision", "Issued", "Line", "Asset", "Customer", "As found", "As left", "Standing",
    "Instruments", "SHA-256 of the PDF",
)  # fmt: skip
_WHOLE = 20  # letters
_SHOWN = ("revision", "issued", "line", "asset", "customer", "as_found", "as_left")
_PAGE = """<!DOCTYPE html>
<html lang="en">
<head>
<meta charset="utf-8">
<meta name="viewport" content="width=device-width">
<title>Register of alignment certificates</title>
<style>
body {{ font: 1rem/1.4 sans-serif; margin: 2rem; color: #111; background: #fff; }}
table {{ border-collapse: collapse; font-size: .875em; }}
th, td {{ text-align: left; vertical-align: top; padding: .3rem .6rem .3rem 0; }}
td {{ min-width: 4rem; }}
td:nth-child(2), td:nth-child(7), td:nth-child(8) {{ min-width: 0; }}
td:nth-child(4), td:nth-child(6) {{ min-width: 7rem; }}
td:nth-child(10) {{ min-width: 11rem; }}
td:nth-child(3), td:nth-child(7), .whole {{ white-space: nowrap; }}
.long {{ display: inline-block; min-width: 9em; overflow-wrap: anywhere; }}
a .long {{ text-decoration: underline; }}
td code {{ display: inline-block; width: 16.2ch; font-size: .8em; line-height: 1.3; }}
tr {{ border-bottom: 1px solid #999; }}
code {{ overflow-wrap: anywhere; }}
.wide {{ overflow-x: auto; }}
@page {{ size: landscape; margin: 1cm; }}
@media print {{
  body {{ margin: 0; font-size: .55rem; }}
  .wide {{ overflow: visible; }}
  tr {{ break-inside: avoid; }}
  td {{ min-width: 2rem; }}
}}
</style>
</head>
<body>
<h1>Register of alignment certificates</h1>
<p>{count}, taken from a register of {entries}. The register ended at
<code>{head}</code>: its audit finds this again
as long as nothing before it was changed, removed or reordered.</p>
<p>Every PDF is the certificate byte for byte as it was recorded; where it was
signed and recorded again later, with that signature. <code>sha256sum -c SHA256SUMS</code>
compares
all of them, and the tables beside; each carries the survey and the results it was made from, and
<code>certgen verify</code> computes it again.</p>
<div class="wide" tabindex="0" role="region" aria-label="Certificates">
<table>
<thead><tr>{heads}</tr></thead>
<tbody>
{rows}
</tbody>
</table>
</div>
</body>
</html>
"""


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
    writer.writerows(
        [
            (f"'{value}" if isinstance(value, str) and value.startswith(_FORMULA) else value)
            for value in row(one, head)
        ]
        for one in found
    )
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


def folder_files(register: Register, found: Sequence[Kept], head: Head) -> Iterator[tuple[str, bytes]]:
    """Yield name and bytes of every file of the folder, the index last; none of what was disposed of."""
    digests = []
    for one in found:
        if one.marked(DISPOSED):
            continue
        digests.append(f"{one.pdf}  {pdf_name(one)}\n")
        yield pdf_name(one), register.file(one.pdf)
    for name, data in (("register.csv", as_csv(found, head)), ("register.json", as_json(found, head))):
        digests.append(f"{sha256(data).hexdigest()}  {name}\n")
        yield name, data
    yield DIGESTS, "".join(digests).encode()
    heads = "".join(f'<th scope="col">{text}</th>' for text in _HEADS)
    rows = "\n".join(_row(one) for one in found)
    count = f"{len(found)} certificate{'' if len(found) == 1 else 's'}"
    entries = f"{head.count} entr{'y' if head.count == 1 else 'ies'}"
    page = _PAGE.format(count=count, entries=entries, head=head, heads=heads, rows=rows)
    yield INDEX, page.encode()


def pdf_name(one: Kept) -> str:
    """Return the file name of a certificate: its place in the register keeps any two apart."""
    number = re.sub(r"[^A-Za-z0-9._-]+", "_", f"{one.said['number']}").strip(".")[:80]
    return f"{one.body['sequence']:06d}_{number}_{one.said['revision']}.pdf"


def _row(one: Kept) -> str:
    said = one.said
    number = _parted(said["number"])
    link = number if one.marked(DISPOSED) else f'<a href="{escape(pdf_name(one))}">{number}</a>'
    plain = [_parted(f"{said[name]}") for name in _SHOWN]
    used = "<br>".join(_parted(_instrument(each)) for each in said["instruments"])
    # what later entries say of a certificate, each with its reason
    told = {WITHDRAWN: "withdrawn", NOTE: "instrument found deviating", DISPOSED: "disposed of"}
    marks = [f"{told[str(each['kind'])]}: {each['reason']}" for each in one.marks]
    replaced = "not replaced" if one.replaced_by is None else f"replaced by {one.replaced_by}"
    cells = (link, *plain, _parted("; ".join([replaced, *marks])), used, f"<code>{one.pdf}</code>")
    return f"<tr>{''.join(f'<td>{cell}</td>' for cell in cells)}</tr>"


def _instrument(used: Mapping[str, str]) -> str:
    return f"{used['kind']} {used['serial']}, calibrated {used['calibrated']}, due {used['due']}"


def _parted(text: str) -> str:
    """A text in which a word of ordinary length stays whole and a longer one may be broken anywhere."""
    return " ".join(_word(word) for word in text.split(" "))


def _word(word: str) -> str:
    if len(word) > _WHOLE:
        return f'<span class="long">{escape(word)}</span>'
    return f'<span class="whole">{escape(word)}</span>' if "-" in word or "/" in word else escape(word)
