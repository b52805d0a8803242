"""How a document was printed: what it takes to print it again, and how this machine rounds.

The last digits of a result are those of the machine that computed it. Which machine that was cannot be told
from its name; whether two round alike can, by what both make of the same systems of equations.
"""

from collections.abc import Collection, Iterator
from functools import cache
from hashlib import sha256
from typing import Any

import matplotlib
import numpy as np
import reportlab

from certgen import __version__, resources
from certgen.network.least_squares import Array
from certgen.pdf.archive.metadata import FORMAT, REPORT, Kind
from certgen.results.survey_results import Json
from certgen.survey.survey import Paper
from certgen.wording.rounding import RULE
from certgen.wording.wording import Wording

_SIZES = (2, 3, 5, 8, 13, 21, 34, 55, 89)
# The form of the pages: raised where the same survey, printed in the same way, gives other pages than before.
# tests/certificate/golden/ holds what the pages of this form are. Certificates that record none are form 1.
PRINT_FORM = 2
ROUNDING = "arithmetic_sha256"  # how the machine rounds that computed the results


@cache
def arithmetic_digest() -> str:
    """Return a SHA-256 over what this machine makes of fixed least-squares problems, to the last bit."""
    digest = sha256()
    for size in _SIZES:
        for part in _solved(_rows(2 * size, size)):
            digest.update(np.ascontiguousarray(part).tobytes())
    return digest.hexdigest()


def _rows(count: int, size: int) -> Array:
    """A matrix (count, size) of fixed numbers that are no binary fractions."""
    i, j = np.ogrid[1 : count + 1, 1 : size + 1]
    return np.asarray((i * i * 7919 + j * 104729 + i * j * j) % 9973 / 997.0 - 5.0, dtype=np.float64)


def _solved(rows: Array) -> Iterator[Any]:
    """Yield what the routines that the networks use give for the rows."""
    normal = rows.T @ rows + 100.0 * np.eye(rows.shape[1])
    lower = np.linalg.cholesky(normal)
    yield np.linalg.qr(rows, mode="r")
    yield normal
    yield np.linalg.solve(lower, rows.T)
    yield np.linalg.inv(lower)
    yield rows.sum(axis=0)


def wording_digest(wording: Wording) -> str:
    """Return the SHA-256, in hexadecimal, of every text of a wording under its name."""
    digest = sha256()
    for pair in sorted(_texts(wording)):
        for part in pair:
            data = part.encode()
            digest.update(len(data).to_bytes(8, "big") + data)
    return digest.hexdigest()


def _texts(wording: Wording) -> Iterator[tuple[str, str]]:
    """Words by key, paragraphs by file; where the contractor has one of his own, that one."""
    own = getattr(wording, "_house", None)
    words = {**wording._texts, **({key: one.text for key, one in own.words.items()} if own else {})}
    yield from words.items()
    yield "look", wording.look.digest()
    paragraphs = wording._paragraphs
    assert paragraphs.loader is not None  # noqa: S101  # a wording always has one
    for name in paragraphs.list_templates():
        yield name, paragraphs.loader.get_source(paragraphs, name)[0]


def printed(
    wording: Wording, paper: Paper, *, annexes: Collection[str], draft: bool = False, dcc: bool = False
) -> Json:
    """Return how the certificate was printed, as far as it takes that to print it again."""
    return {
        "format": FORMAT,
        "certgen": __version__,
        "print_form": PRINT_FORM,
        "library": library(),
        "language": wording.language,
        "paper": paper,
        "annexes": "".join(sorted(annexes)),
        **({"draft": True} if draft else {}),
        **({"dcc": True} if dcc else {}),
        "rounding_rule": RULE,
        ROUNDING: arithmetic_digest(),
        "wording_sha256": wording_digest(wording),
    }


def printed_report(wording: Wording, paper: Paper, kind: Kind) -> Json:
    """Return how a report of that kind was printed."""
    return {
        "format": REPORT.format,
        "kind": kind,
        "certgen": __version__,
        "program_sha256": resources.program_digest(),
        "library": library(),
        "language": wording.language,
        "paper": paper,
        "wording_sha256": wording_digest(wording),
    }


def form_of(how: Json) -> object:
    """Return the form of the pages that a record of printing names, 1 where it names none."""
    return how.get("print_form", 1)


def library() -> str:
    """Return what draws the pages, with its version; the first one writes the file."""
    return f"ReportLab {reportlab.__version__}, matplotlib {matplotlib.__version__}"
