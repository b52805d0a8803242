"""The tables of a register as queries see them; what creates them stands in the migrations.

`entries` is the register itself, `files` holds what it refers to. The rest repeats what the entries say in a
form that can be searched (`DERIVED`), and is worth nothing where it differs from them.
"""

from sqlalchemy import BigInteger, Column, Integer, LargeBinary, MetaData, Table, Text

METADATA = MetaData()


def _table(name: str, *columns: Column[int] | Column[str] | Column[bytes]) -> Table:
    return Table(name, METADATA, *columns)


def _texts(*names: str) -> list[Column[str]]:
    return [Column(name, Text) for name in names]


MIGRATIONS = _table("migrations", Column("place", Integer, primary_key=True), *_texts("name"))
# `form` says how the bytes are stored: as they are, packed, or removed because their time of keeping is over
FILES = _table(
    "files", Column("sha256", Text, primary_key=True), Column("data", LargeBinary), *_texts("form")
)
ENTRIES = _table(
    "entries", Column("sequence", BigInteger, primary_key=True), *_texts("previous", "body", "digest")
)
HEAD = _table(
    "head", Column("one", Integer, primary_key=True), Column("count", BigInteger), *_texts("digest")
)
CERTIFICATES = _table(
    "certificates",
    Column("sequence", BigInteger, primary_key=True),
    Column("number", Text),
    Column("revision", BigInteger),
    Column("prefix", Text),
    Column("value", BigInteger),
    *_texts("issued", "started", "finished", "line", "asset", "customer", "as_found", "as_left"),
    *_texts("line_key", "asset_key", "customer_key", "words"),
    *_texts("pdf_sha256", "survey_sha256", "results_sha256"),
)
INSTRUMENTS = _table(
    "instruments",
    Column("sequence", BigInteger, primary_key=True),
    Column("place", Integer, primary_key=True),
    *_texts("kind", "serial", "serial_key", "calibrated", "due", "traceable_to"),
)
RESERVATIONS = _table(
    "reservations",
    Column("sequence", BigInteger, primary_key=True),
    *_texts("number", "prefix"),
    Column("value", BigInteger),
)
SIGNATURES = _table(
    "signatures",
    Column("sequence", BigInteger, primary_key=True),
    Column("certificate", BigInteger),
    *_texts("pdf_sha256"),
)
# certificates that say they replace one of another number, and how they say it
REPLACING = _table("replacing", Column("sequence", BigInteger, primary_key=True), *_texts("said"))
# what later entries say of a certificate: withdrawn, its instrument deviated, its bytes are gone
MARKS = _table(
    "marks",
    Column("sequence", BigInteger, primary_key=True),
    Column("certificate", BigInteger, primary_key=True),
    *_texts("kind"),
)
REMOVED = _table("removed", Column("sha256", Text, primary_key=True), Column("sequence", BigInteger))
DERIVED = (CERTIFICATES, INSTRUMENTS, RESERVATIONS, SIGNATURES, REPLACING, MARKS, REMOVED)
KEPT = (FILES, ENTRIES, *DERIVED)
