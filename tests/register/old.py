"""Registers as earlier versions left them: `python -m tests.register.old` makes one in tests/old_registers.

A file is named after the last step it was made with, and never made anew: it is what a firm has on its disk.
"""

import sys
from itertools import islice
from pathlib import Path
from tempfile import TemporaryDirectory
from unittest.mock import patch

from certgen.register import database, embedded, migrations
from certgen.register.register import Register
from tests.register.fakes import WHEN, small
from tests.register.records import real

FOLDER = Path(__file__).parent.parent / "old_registers"


def made_with(where: str, steps: int) -> Register:
    """Return a register at `where`, made with the first steps only."""
    some = dict(islice(migrations.STEPS.items(), steps))

    def migrate(connection: object) -> None:
        migrations.migrate(connection, some)  # type: ignore[arg-type]  # a connection

    with patch.object(database, "migrate", migrate), patch.object(embedded, "migrate", migrate):
        return Register.open(where, create=True)


def fill(register: Register) -> None:
    """Add what every old register holds: a real certificate, two small ones, a number handed out."""
    register.add(real("tutorial"), WHEN)
    register.add(small("A-001"), WHEN)
    register.reserve("A-", WHEN)
    register.add(small("A-001", 1, supersedes="A-001, revision 0", reason="Order number"), WHEN)


if __name__ == "__main__":
    count = int(sys.argv[1]) if len(sys.argv) > 1 else len(migrations.STEPS)
    target = FOLDER / f"{list(migrations.STEPS)[count - 1].replace(' ', '_')}.sqlite"
    with TemporaryDirectory() as folder:
        fill(made_with(folder, count))
        target.write_bytes((Path(folder) / database.FILE_NAME).read_bytes())
