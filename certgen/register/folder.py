"""The certificates of a register as a folder: the PDFs, an index for any browser, and digests to check by."""

import re
from collections.abc import Iterator, Mapping, Sequence
from html import escape

from certgen.register.chain import Head
from certgen.register.entry import PDF, Json, digest_of, said_of
from certgen.register.export import as_csv, as_json
from certgen.register.register import Register

INDEX, DIGESTS = "index.html", "SHA256SUMS"
_HEADS = (
    "Certificate", "Revision", "Issued", "Line", "Asset", "Customer", "As found", "As left", "Instruments",
    "SHA-256 of the PDF",
)  # fmt: skip
_SHOWN = ("revision", "issued", "line", "asset", "customer", "as_found", "as_left")
_PAGE = """<!DOCTYPE html>
<html lang="en">
<head>
<meta charset="utf-8">
<meta name="viewport" content="width=device-width">
<title>Register of alignment certificates</title>
<style>
body {{ font: 1rem/1.4 sans-serif; margin: 2rem; color: #111; background: #fff; }}
table {{ border-collapse: collapse; }}
th, td {{ text-align: left; vertical-align: top; padding: .3rem .8rem .3rem 0; }}
tr {{ border-bottom: 1px solid #999; }}
code {{ overflow-wrap: anywhere; }}
</style>
</head>
<body>
<h1>Register of alignment certificates</h1>
<p>{count} certificates, taken from a register of {entries} entries. The register ended at
<code>{head}</code>: its audit finds this again
as long as nothing before it was changed, removed or reordered.</p>
<p>Every PDF is the certificate byte for byte as it was recorded. <code>sha256sum -c SHA256SUMS</code>
compares all of them; each carries the survey and the results it was made from, and
<code>certgen verify</code> computes it again.</p>
<table>
<thead><tr>{heads}</tr></thead>
<tbody>
{rows}
</tbody>
</table>
</body>
</html>
"""


def folder_files(register: Register, bodies: Sequence[Json], head: Head) -> Iterator[tuple[str, bytes]]:
    """Yield name and bytes of every file of the folder, the index last."""
    digests = []
    for body in bodies:
        name, digest = pdf_name(body), digest_of(body, PDF)
        digests.append(f"{digest}  {name}\n")
        yield name, register.file(digest)
    yield DIGESTS, "".join(digests).encode()
    yield "register.csv", as_csv(bodies)
    yield "register.json", as_json(bodies, head)
    yield INDEX, _page(bodies, head).encode()


def pdf_name(body: Json) -> str:
    """Return the file name of a certificate: its place in the register keeps any two apart."""
    said = said_of(body)
    number = re.sub(r"[^A-Za-z0-9._-]+", "_", f"{said['number']}").strip(".")[:80]
    return f"{body['sequence']:06d}_{number}_{said['revision']}.pdf"


def _page(bodies: Sequence[Json], head: Head) -> str:
    heads = "".join(f'<th scope="col">{text}</th>' for text in _HEADS)
    rows = "\n".join(_row(body) for body in bodies)
    return _PAGE.format(count=len(bodies), entries=head.count, head=head, heads=heads, rows=rows)


def _row(body: Json) -> str:
    said = said_of(body)
    link = f'<a href="{escape(pdf_name(body))}">{escape(said["number"])}</a>'
    plain = [escape(f"{said[name]}") for name in _SHOWN]
    used = "<br>".join(escape(_instrument(one)) for one in said["instruments"])
    cells = (link, *plain, used, f"<code>{digest_of(body, PDF)}</code>")
    return f"<tr>{''.join(f'<td>{cell}</td>' for cell in cells)}</tr>"


def _instrument(used: Mapping[str, str]) -> str:
    return f"{used['kind']} {used['serial']}, calibrated {used['calibrated']}, due {used['due']}"
