"""The certificates of a register as a folder: the PDFs, an index for any browser, and digests to check by."""

import re
from collections.abc import Iterator, Mapping, Sequence
from hashlib import sha256
from html import escape

from certgen.register.bodies import DISPOSED, NOTE, WITHDRAWN
from certgen.register.chain import Head
from certgen.register.export import as_csv, as_json
from certgen.register.find import Kept
from certgen.register.register import Register

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
    yield INDEX, _page(found, head).encode()


def pdf_name(one: Kept) -> str:
    """Return the file name of a certificate: its place in the register keeps any two apart."""
    number = re.sub(r"[^A-Za-z0-9._-]+", "_", f"{one.said['number']}").strip(".")[:80]
    return f"{one.body['sequence']:06d}_{number}_{one.said['revision']}.pdf"


def _page(found: Sequence[Kept], head: Head) -> str:
    heads = "".join(f'<th scope="col">{text}</th>' for text in _HEADS)
    rows = "\n".join(_row(one) for one in found)
    count = f"{len(found)} certificate{'' if len(found) == 1 else 's'}"
    entries = f"{head.count} entr{'y' if head.count == 1 else 'ies'}"
    return _PAGE.format(count=count, entries=entries, head=head, heads=heads, rows=rows)


def _row(one: Kept) -> str:
    said = one.said
    number = _parted(said["number"])
    link = number if one.marked(DISPOSED) else f'<a href="{escape(pdf_name(one))}">{number}</a>'
    plain = [_parted(f"{said[name]}") for name in _SHOWN]
    used = "<br>".join(_parted(_instrument(each)) for each in said["instruments"])
    cells = (link, *plain, _parted(_standing(one)), used, f"<code>{one.pdf}</code>")
    return f"<tr>{''.join(f'<td>{cell}</td>' for cell in cells)}</tr>"


def _standing(one: Kept) -> str:
    """What later entries say of a certificate, each with its reason."""
    told = {WITHDRAWN: "withdrawn", NOTE: "instrument found deviating", DISPOSED: "disposed of"}
    marks = [f"{told[str(each['kind'])]}: {each['reason']}" for each in one.marks]
    replaced = "not replaced" if one.replaced_by is None else f"replaced by {one.replaced_by}"
    return "; ".join([replaced, *marks])


def _instrument(used: Mapping[str, str]) -> str:
    return f"{used['kind']} {used['serial']}, calibrated {used['calibrated']}, due {used['due']}"


def _parted(text: str) -> str:
    """A text in which a word of ordinary length stays whole and a longer one may be broken anywhere."""
    return " ".join(_word(word) for word in text.split(" "))


def _word(word: str) -> str:
    if len(word) > _WHOLE:
        return f'<span class="long">{escape(word)}</span>'
    return f'<span class="whole">{escape(word)}</span>' if "-" in word or "/" in word else escape(word)
