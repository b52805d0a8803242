"""What a large register costs: `python -m tests.benchmarks.bench_register [ENTRIES] [WHERE]`.

The entries are small certificates of some hundred lines, put there in one transaction by the functions that
add one, and among them one line that was surveyed often; the times are medians inside this process.
"""

import subprocess
import sys
import tempfile
from functools import partial
from statistics import median

from sqlalchemy import Connection, bindparam, insert, update

from certgen.cli.visits import Kept, solved
from certgen.register.audit import audit
from certgen.register.database import writing
from certgen.register.entries import By, Frame, Head, Held, Json, canonical, certificate_body, chained
from certgen.register.find import Wanted, find
from certgen.register.line_visits import LineWanted, line_surveys
from certgen.register.register import Register
from certgen.register.tables import ENTRIES, FILES, HEAD, file_row, put_rows, rows_of
from certgen.visits.trend import trend
from tests.benchmarks.bench_issue import seconds
from tests.benchmarks.yearly import LINE, visits
from tests.register.fakes import WHEN, small

BY = By("clerk", "desk-2")
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
    files: list[Json] = []
    entries: list[Json] = []
    derived = []
    for sequence in range(head.count + 1, head.count + count + 1):
        held = _certificate(sequence)
        body, digests = certificate_body(Frame(sequence, WHEN, BY), held), held.digests()
        digest = chained(head.digest, canonical(body))
        entries.append(
            {"sequence": sequence, "previous": head.digest, "body": canonical(body), "digest": digest}
        )
        files += [dict(file_row(digests[name], data)) for name, data in held.files.items()]
        derived.append(rows_of(sequence, body))
        head = Head(sequence, digest)
    heads = [{"at": row["sequence"], "new": row["digest"]} for row in entries]
    connection.execute(insert(FILES), files)
    connection.execute(insert(ENTRIES), entries)
    put_rows(connection, derived)
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
        "list, one page of 50, the first": Wanted(limit=50),
        "list, one page of 50, in the middle": Wanted(limit=50, offset=50_000),
        "list of all": Wanted(),
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
    taken["list of all, as `certgen register list` prints it"] = seconds(lambda: _command(where, "list"))
    taken["audit on one core"] = seconds(lambda: audit(register))
    return {**taken, "audit, as `certgen register audit` does it": seconds(lambda: _command(where, "audit"))}


def _command(where: str, which: str) -> None:
    """The command from its start, in a process of its own."""
    command = [sys.executable, "-m", "certgen", "register", which, "--register", where]
    subprocess.run(command, stdout=subprocess.DEVNULL, check=True)


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
