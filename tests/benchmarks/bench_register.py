"""What a large register costs: `python -m tests.benchmarks.bench_register [ENTRIES] [WHERE]`.

The entries are small certificates of some hundred lines, put there in one transaction by the functions that
add one, and among them one line that was surveyed often; the times are medians inside this process.
"""

import sys
import tempfile
from functools import partial
from statistics import median

from sqlalchemy import Connection, bindparam, insert, update

from certgen.assessment.trend import trend
from certgen.cli.visits import Kept, solved
from certgen.register.audit import audit
from certgen.register.chain import Head, canonical, chained
from certgen.register.database import writing
from certgen.register.entry import Held, Json, certificate_body, certificate_row, instrument_rows
from certgen.register.find import Wanted, find
from certgen.register.register import Register
from certgen.register.tables import CERTIFICATES, ENTRIES, FILES, HEAD, INSTRUMENTS
from certgen.register.visits import LineWanted, line_surveys
from tests.benchmarks.bench_issue import seconds
from tests.benchmarks.yearly import LINE, visits
from tests.register.fakes import WHEN, small

LINES = 400
VISITS = (20, 80)
TIMES = 7
_PORTION = 5000


def filled(where: str, entries: int) -> Register:
    """Return a register of so many certificates, of which every line has its share."""
    register = Register.open(where, create=True)
    for held in visits(max(VISITS)):
        register.add(held, WHEN)
    head = register.head()
    with writing(register.engine) as connection:
        while head.count < entries:
            head = _put(connection, head, min(_PORTION, entries - head.count))
    return register


def _put(connection: Connection, head: Head, count: int) -> Head:
    rows: dict[str, list[Json]] = {"files": [], "entries": [], "certificates": [], "instruments": []}
    for sequence in range(head.count + 1, head.count + count + 1):
        held = _certificate(sequence)
        body, digests = canonical(certificate_body(sequence, WHEN, held)), held.digests()
        digest = chained(head.digest, body)
        rows["entries"].append(
            {"sequence": sequence, "previous": head.digest, "body": body, "digest": digest}
        )
        rows["files"] += [{"sha256": digests[name], "data": data} for name, data in held.files.items()]
        rows["certificates"].append(certificate_row(sequence, held.certificate, digests))
        rows["instruments"] += instrument_rows(sequence, held.certificate)
        head = Head(sequence, digest)
    heads = [{"at": row["sequence"], "new": row["digest"]} for row in rows["entries"]]
    for table in (FILES, ENTRIES, CERTIFICATES, INSTRUMENTS):
        connection.execute(insert(table), rows[table.name])
    connection.execute(update(HEAD).values(count=bindparam("at"), digest=bindparam("new")), heads)
    return head


def _certificate(sequence: int) -> Held:
    """A certificate of one of the lines; of every twenty the last is a revision of the one before."""
    line = sequence % LINES
    said = {"line": f"Line {line}", "asset": f"LN-{line}", "customer": f"Firm {line % 40}"}
    if sequence % 20:
        return small(f"N-{sequence:06d}", **said)
    number = f"N-{sequence - 1:06d}"
    return small(number, 1, **said, supersedes=f"{number}, revision 0", reason="a slip of the pen")


def times(register: Register, where: str) -> dict[str, float]:
    """Return what it takes to find, to add one, and to audit."""
    found = {
        "list, one line": Wanted(line="line 7"),
        "list, one customer since a day": Wanted(customer="firm 7", since="2026-01-01"),
        "list, words anywhere": Wanted(words="line 77"),
    }
    taken = {
        name: median(seconds(lambda one=wanted: find(register, one)) for _ in range(TIMES))
        for name, wanted in found.items()
    }
    for count in VISITS:
        since = _since(count)
        name = f"trend of one line, {count} visits of 12 rolls"
        taken[name] = median(seconds(partial(_trend, where, since)) for _ in range(TIMES))
    more = iter([small(f"Z-{number}") for number in range(TIMES)])
    taken["add one more"] = median(seconds(lambda: register.add(next(more), WHEN)) for _ in range(TIMES))
    return {**taken, "audit": seconds(lambda: audit(register))}


def _since(count: int) -> str:
    """The day from which on so many visits follow."""
    return [one.certificate.started for one in visits(max(VISITS))][-count]


def _trend(where: str, since: str) -> None:
    """From the name of the register to the trend, as `certgen trend LINE` does it."""
    wanted = LineWanted(LINE, since=since)
    trend(solved([LINE], Kept("line", where, lambda opened, _: line_surveys(opened, wanted))))


def report(entries: int, where: str) -> str:
    """Return the times as a table in Markdown."""
    taken = times(filled(where, entries), where)
    rows = "\n".join(f"| {name} | {value * 1000:,.0f} ms |" for name, value in taken.items())
    return f"| register of {entries:,} certificates | time |\n|---|---|\n{rows}"


if __name__ == "__main__":
    count = int(sys.argv[1]) if len(sys.argv) > 1 else 100_000
    if len(sys.argv) > 2:
        sys.stdout.write(report(count, sys.argv[2]) + "\n")
    else:
        with tempfile.TemporaryDirectory() as folder:
            sys.stdout.write(report(count, folder) + "\n")
