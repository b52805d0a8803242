"""The audit finds every kind of tampering, and nothing in a register that was only added to."""

import json
from dataclasses import replace
from hashlib import sha256
from pathlib import Path
from unittest.mock import patch

import pytest
from sqlalchemy import insert, select, text

from certgen.errors import RegisterBroken
from certgen.register.audit import audit
from certgen.register.database import reading, writing
from certgen.register.entries import (
    EMPTY,
    GENESIS,
    PDF,
    RESULTS,
    SURVEY,
    By,
    Frame,
    Head,
    Held,
    canonical,
    certificate_body,
    chained,
    disposed_body,
    written_head,
)
from certgen.register.find import Wanted, find
from certgen.register.marks import Relying, certificates_of, dispose, note, withdraw
from certgen.register.register import Register, append, locked_head
from certgen.register.tables import ENTRIES, FILES, GONE, HEAD, KEPT, keep_file
from certgen.verify.issued_file import written
from tests.register.fakes import LATER, WHEN, held_of, signed, small
from tests.register.places import schema
from tests.register.records import real
from tests.register.tamper import tamper

TABLES = (*KEPT, HEAD)
COLUMNS = [(each.name, column.name) for each in TABLES for column in each.columns if column.name != "one"]
ENDS_AT_4 = "UPDATE head SET count = 4, digest = (SELECT digest FROM entries WHERE sequence = 4)"
KINDS = {
    "removed in the middle": ["DELETE FROM entries WHERE sequence = 2"],
    "removed at the end": ["DELETE FROM entries WHERE sequence = 5"],
    "removed at the end with all of it": [
        "DELETE FROM certificates WHERE sequence = 5",
        "DELETE FROM instruments WHERE sequence = 5",
        "DELETE FROM entries WHERE sequence = 5",
    ],
    "reordered": [
        "UPDATE entries SET sequence = 99 WHERE sequence = 2",
        "UPDATE entries SET sequence = 2 WHERE sequence = 3",
        "UPDATE entries SET sequence = 3 WHERE sequence = 99",
    ],
    "moved to the end": ["UPDATE entries SET sequence = 6 WHERE sequence = 2"],
    "other words": ["UPDATE entries SET body = replace(body, 'fail', 'pass') WHERE sequence = 1"],
    "white space": ["UPDATE entries SET body = replace(body, ',', ', ') WHERE sequence = 1"],
    "not JSON": ["UPDATE entries SET body = 'none' WHERE sequence = 3"],
    "no certificate": ['UPDATE entries SET body = \'{"kind":"certificate"}\' WHERE sequence = 3'],
    "entry twice": [
        "INSERT INTO entries SELECT 6, digest, body, 'x' FROM entries WHERE sequence = 5",
    ],
    "found under nothing": ["DELETE FROM certificates WHERE sequence = 3"],
    "instrument forgotten": ["DELETE FROM instruments WHERE sequence = 3 AND place = 1"],
    "instrument made up": [
        "INSERT INTO instruments SELECT sequence, 7, kind, serial, serial_key, calibrated, due, traceable_to"
        " FROM instruments WHERE sequence = 3 AND place = 1"
    ],
    "row of no entry": [
        "INSERT INTO instruments SELECT 77, place, kind, serial, serial_key, calibrated, due, traceable_to"
        " FROM instruments WHERE sequence = 3 AND place = 1"
    ],
    "reservation forgotten": ["DELETE FROM reservations"],
    "signature forgotten": ["DELETE FROM signatures"],
    "signature of another certificate": ["UPDATE signatures SET certificate = 3"],
    "file forgotten": [
        "DELETE FROM files WHERE sha256 = (SELECT pdf_sha256 FROM certificates WHERE sequence = 1)"
    ],
    "file made up": ["INSERT INTO files (sha256, data) SELECT 'ab', data FROM files LIMIT 1"],
    "file said to be gone": ["UPDATE files SET form = 'removed', data = ''"],
    "file said to be packed": ["UPDATE files SET form = 'zlib'"],
    "file changed": ["UPDATE files SET data = (SELECT data FROM files ORDER BY sha256 LIMIT 1)"],
    "end forgotten": ["DELETE FROM head"],
    "table forgotten": ["DROP TABLE reservations"],
    "all forgotten": ["DELETE FROM entries"],
}


@pytest.fixture
def filled(register: Register) -> Register:
    """A register of three certificates, a number handed out, and a certificate that was signed later."""
    register.add(small("A-001"), WHEN)
    register.reserve("A-", WHEN)
    register.add(small("A-002"), WHEN)
    register.add(signed(small("A-001")), WHEN)
    register.add(small("A-004"), WHEN)
    return register


def test_register_only_added_to_holds(filled: Register) -> None:
    """Nothing is found, and the head is the one the register gives."""
    found = audit(filled)
    assert (found.faults, found.head) == ([], filled.head())
    assert found.head.count == 5


def test_empty_register_holds(register: Register) -> None:
    """Its head is known to everybody."""
    assert audit(register, written_head(str(EMPTY))).holds


@pytest.mark.parametrize("kind", KINDS)
def test_audit_finds_tampering(filled: Register, where: str, kind: str) -> None:
    """Rows removed, reordered, doubled, made up or changed, though every guard stands again."""
    tamper(where, KINDS[kind])
    assert not audit(filled).holds


@pytest.fixture
def marked(filled: Register) -> Register:
    """The same with an entry of every later kind."""
    filled.add(small("B-1", 1, issued="2027-01-01", supersedes="A-004, revision 0"), WHEN)
    (one,), (other,) = (certificates_of(filled, number, None) for number in ("A-002", "A-004"))
    withdraw(filled, one, "recorded by mistake", WHEN)
    note(filled, Relying("SL-0417"), "0.02 mm/m off at its calibration", WHEN)
    dispose(filled, [other], "kept for ten years", LATER)
    assert audit(filled).holds
    return filled


@pytest.mark.parametrize(("table", "column"), COLUMNS, ids=[".".join(each) for each in COLUMNS])
def test_audit_finds_a_change_in_any_column(marked: Register, where: str, table: str, column: str) -> None:
    """Of any table: texts, counts and data, one row of each."""
    filled = marked
    kinds = {each.name: each.columns[column].type.python_type for each in TABLES if each.name == table}
    changes = {str: f"'other ' || {column}", int: f"{column} + 100", bytes: "'\\x6f74686572'"}
    ordered = {"files": "sha256", "head": "one"}.get(table, "sequence")
    change = f"UPDATE {table} SET {column} = {changes[kinds[table]]}"
    tamper(where, [f"{change} WHERE {ordered} = (SELECT max({ordered}) FROM {table})"])
    assert not audit(filled).holds


def test_audit_says_whose_file_was_changed(filled: Register, where: str) -> None:
    """The certificate and its entry, not the digest alone."""
    one = "(SELECT pdf_sha256 FROM certificates WHERE sequence = 3)"
    tamper(where, [f"UPDATE files SET data = '\\x6f74686572' WHERE sha256 = {one}"])
    (fault,) = audit(filled).faults
    assert fault.startswith(
        "entry 3: certificate.pdf of certificate A-002, revision 0, is not what was added"
    )
    tamper(where, [f"DELETE FROM files WHERE sha256 = {one}"])
    (fault,) = audit(filled).faults
    assert fault.startswith("entry 3: certificate.pdf of certificate A-002, revision 0, is missing")


def test_audit_finds_a_signed_form_of_something_else(filled: Register, where: str) -> None:
    """Though the chain was made anew around it: what was signed is what had been recorded."""
    was, other = filled.signatures(1)[0]["sha256"], small("A-009").files[PDF]
    assert isinstance(was, dict)
    old, new = was[PDF], sha256(other).hexdigest()
    data = f"x'{other.hex()}'" if filled.engine.dialect.name == "sqlite" else f"'\\x{other.hex()}'"
    file = f"UPDATE files SET sha256 = '{new}', data = {data} WHERE sha256 = '{old}'"
    tamper(where, [file, f"UPDATE signatures SET pdf_sha256 = '{new}'", *chain_anew(filled, 4, old, new)])
    assert audit(filled).faults == ["entry 4: is not the certificate that was recorded, with a signature"]


def test_audit_finds_an_index_that_leaves_rows_out(tmp_path: Path) -> None:
    """What a filter cannot find is as good as removed."""
    register = Register.open(str(tmp_path), create=True)
    register.add(small("A-001"), WHEN)
    one, other = "certificates_by_line_key", "certificates_by_customer_key"
    with reading(register.engine) as connection:
        pages = dict(map(tuple, connection.execute(text("SELECT name, rootpage FROM sqlite_master"))))
    swapped = f"CASE name WHEN '{one}' THEN {pages[other]} ELSE {pages[one]} END"
    change = f"UPDATE sqlite_master SET rootpage = {swapped} WHERE name IN ('{one}', '{other}')"
    tamper(str(tmp_path), ["PRAGMA writable_schema = ON", change])
    assert find(register, Wanted(line="Spunbond line 3")) == []
    assert any(one in fault for fault in audit(register).faults)


def test_audit_finds_a_missing_guard(filled: Register) -> None:
    """Nothing was changed yet, but something was about to be."""
    on = "" if filled.engine.dialect.name == "sqlite" else " ON entries"
    name = "guard_entries_update" + ("" if on == "" else "_or_delete")
    with filled.engine.connect().execution_options(writes=True) as connection, connection.begin():
        connection.execute(text(f"DROP TRIGGER {name}{on}"))
    assert audit(filled).faults == [f"the guard {name} is missing or changed"]


def test_audit_finds_guards_that_do_nothing() -> None:
    """On PostgreSQL the triggers call a function; one put in its place is not the same."""
    with schema() as where:
        register = Register.open(where, create=True)
        does_nothing = "LANGUAGE plpgsql AS $$ BEGIN RETURN NULL; END $$"
        tamper(where, [f"CREATE OR REPLACE FUNCTION register_refuse() RETURNS trigger {does_nothing}"])
        assert not audit(register).holds


def test_end_cut_off_with_care_is_found_by_a_head_written_down(filled: Register, where: str) -> None:
    """Rows, files and the end kept beside agree: only who knows the head from before can tell."""
    before = filled.head()
    cut = KINDS["removed at the end with all of it"]
    names = [f"SELECT {name}_sha256 FROM certificates" for name in ("pdf", "survey", "results")]
    named = " UNION ".join([*names, "SELECT pdf_sha256 FROM signatures"])
    orphans = f"DELETE FROM files WHERE sha256 NOT IN ({named})"
    tamper(where, [*cut, orphans, ENDS_AT_4])
    assert audit(filled).holds
    assert not audit(filled, written_head(str(before))).holds


def test_chain_written_anew_is_found_by_a_head_written_down(filled: Register, where: str) -> None:
    """Every digest worked out again after a change."""
    before = filled.head()
    tamper(where, rewritten(filled))
    assert audit(filled).holds
    assert not audit(filled, written_head(str(before))).holds


def rewritten(register: Register) -> list[str]:
    """Return the statements that make up who approved a certificate, and the chain anew."""
    return chain_anew(register, 1, '"approved_by":null', '"approved_by":"Somebody"')


def test_verdict_written_anew_is_found(filled: Register, where: str) -> None:
    """Though rows and chain follow it: the certificate itself says something else."""
    change = "UPDATE certificates SET as_found = 'pass' WHERE sequence = 1"
    tamper(where, [change, *chain_anew(filled, 1, '"as_found":"fail"', '"as_found":"pass"')])
    assert audit(filled).faults == ["entry 1: says as found 'pass', and the certificate 'fail'"]


def chain_anew(register: Register, entry: int, old: str, new: str) -> list[str]:
    """Return the statements that change a word of one entry, and the chain from there on."""
    with reading(register.engine) as connection:
        bodies = [body for (body,) in connection.execute(select(ENTRIES.c.body).order_by(ENTRIES.c.sequence))]
    statements, previous = [], GENESIS
    for sequence, body in enumerate(bodies, 1):
        said = json.loads(body.replace(old, new, 1) if sequence == entry else body)
        made = canonical(said)
        digest = chained(previous, made)
        values = f"previous = '{previous}', body = '{made}', digest = '{digest}'"
        statements.append(f"UPDATE entries SET {values} WHERE sequence = {sequence}")
        previous = digest
    return [*statements, f"UPDATE head SET digest = '{previous}'"]


def test_head_written_down_stays_good(filled: Register) -> None:
    """Also when the register has grown since, or with a part of its digest; a wrong count does not."""
    before = filled.head()
    filled.add(small("A-005"), WHEN)
    for noted in (str(before), f"{before.count}:{before.digest[:16]}"):
        assert audit(filled, written_head(noted)).holds
    assert not audit(filled, written_head(str(Head(4, before.digest)))).holds


def forged(register: Register, held: Held, recorded: str = WHEN) -> list[str]:
    """Add an entry as somebody may who can write, by the program's own functions; return what is found."""
    with writing(register.engine) as connection:
        head = locked_head(connection)
        for name, digest in held.digests().items():
            keep_file(connection, digest, held.files[name])
        append(connection, head, certificate_body(Frame(head.count + 1, recorded, By()), held))
    return audit(register).faults


def test_forged_entry_is_found(filled: Register) -> None:
    """A pass with a PDF of nothing, and one that was recorded before what stands before it."""
    junk = replace(small("A-009"), files={**small("A-009").files, PDF: b"%PDF-1.7 nothing"})
    backdated = forged(filled, junk, "2020-01-01T00:00:00Z")
    assert backdated == [
        "entry 6: was recorded 2020-01-01T00:00:00Z, before the entry before it (2026-11-25T08:00:00Z)",
        "entry 6: certificate.pdf is no certificate: this is not a PDF file, or it is cut off.",
    ]


@pytest.mark.parametrize(
    ("said", "fault"),
    [
        ({"as_found": "pass"}, "says as found 'pass', and the certificate 'fail'"),
        ({"number": "A-010"}, "says number 'A-010', and the certificate 'A-009'"),
        ({"revision": 1}, "says revision 1, and the certificate 0"),
        ({"issued": "2030-01-01"}, "says issued '2030-01-01', and the certificate '2026-10-16'"),
        ({"decision": "simple"}, "says decision 'simple', and the certificate 'guarded'"),
    ],
)
def test_entry_that_says_otherwise_than_its_certificate_is_found(
    register: Register, said: dict[str, object], fault: str
) -> None:
    """Verdicts, number, revision, day and rule of decision stand in the results that the PDF carries."""
    held = small("A-009")
    assert forged(register, replace(held, certificate=replace(held.certificate, **said))) == [
        f"entry 1: {fault}"
    ]  # type: ignore[arg-type]


@pytest.mark.parametrize("name", [SURVEY, RESULTS])
def test_file_beside_that_the_pdf_does_not_carry_is_found(register: Register, name: str) -> None:
    """Survey and results recorded are those inside."""
    held = small("A-009")
    files = {**held.files, name: small("A-009", as_left="fail").files[name] + b" "}
    faults = forged(register, replace(held, files=files))
    assert f"entry 1: {name} is not the one that certificate.pdf carries" in faults


def test_results_of_another_survey_are_found(register: Register) -> None:
    """They name its digest."""
    held = held_of(small("A-009").certificate, b"another", small("A-009").files[RESULTS])
    assert forged(register, held) == ["entry 1: results.json was made from another survey"]


@pytest.mark.parametrize(
    ("appended", "fault"),
    [
        (b"% more\n", "what was appended to it is no signature"),
        (b"/ByteRange [0 10 20 30]\n", "more than a signature was appended to it"),
    ],
)
def test_appended_bytes_that_are_no_signature_are_found(
    register: Register, appended: bytes, fault: str
) -> None:
    """Whatever somebody put behind the certificate."""
    held = small("A-009")
    more = {**held.files, PDF: held.files[PDF] + appended}
    assert forged(register, replace(held, files=more)) == [f"entry 1: {fault}"]


def test_signature_of_other_bytes_is_found(register: Register) -> None:
    """One that was taken from elsewhere, and one whose signer the entry does not name."""
    held = signed(small("A-009"))
    mended = held.files[PDF].replace(b"% signed", b"% SIGNED")
    other = replace(held, files={**held.files, PDF: mended})
    assert forged(register, other) == ["entry 1: what was appended to it does not sign its bytes"]
    (fault,) = forged(register, replace(signed(small("A-010")), signed_by=("Nobody",)))[1:]
    assert fault == "entry 2: it is signed by K. Sample, and the entry names others"


def test_entry_without_who_after_those_with_is_found(filled: Register, where: str) -> None:
    """A program of old cannot have written it: today's form keeps those out."""
    tamper(where, chain_anew(filled, 3, '"by":', '"buy":'))
    assert audit(filled).faults == ["entry 3: does not say who recorded it, as those before it do"]


def test_bytes_that_are_gone_without_an_entry_are_found(filled: Register, where: str) -> None:
    """As much as bytes that stay although an entry disposed of them."""
    one = filled.body("A-002")["sha256"][PDF]  # type: ignore[index]  # JSON
    tamper(where, [f"UPDATE files SET form = 'removed', data = '' WHERE sha256 = '{one}'"])
    assert any("certificate.pdf of certificate A-002" in fault for fault in audit(filled).faults)


def test_bytes_that_stay_although_disposed_of_are_found(marked: Register, where: str) -> None:
    """Whoever put them back has not read the register."""
    held = small("A-004")
    digest, data = held.digests()[PDF], held.files[PDF].hex()
    put = f"x'{data}'" if marked.engine.dialect.name == "sqlite" else f"'\\x{data}'"
    tamper(where, [f"UPDATE files SET form = 'plain', data = {put} WHERE sha256 = '{digest}'"])
    assert any("not gone" in fault for fault in audit(marked).faults)


@pytest.mark.parametrize("where", ["sqlite"], indirect=True)
def test_what_else_stands_in_the_database_is_found(register: Register) -> None:
    """Triggers that swallow what is said later, views and tables; the writer sees that nothing was kept."""
    register.add(small("A-1"), WHEN)
    swallowing = (
        "CREATE TRIGGER evil BEFORE INSERT ON entries WHEN NEW.body LIKE '%withdrawn%' BEGIN {} END",
        "CREATE TRIGGER worse BEFORE INSERT ON marks WHEN NOT EXISTS "
        "(SELECT 1 FROM entries WHERE sequence = NEW.sequence) BEGIN {} END",
        "CREATE TRIGGER worst BEFORE UPDATE ON head "
        "WHEN NEW.count > (SELECT count(*) FROM entries) BEGIN {} END",
    )
    with register.engine.begin() as connection:
        for made in swallowing:
            connection.exec_driver_sql(made.format("SELECT RAISE(IGNORE);"))
        connection.exec_driver_sql("CREATE TABLE notes (text)")
        connection.exec_driver_sql("CREATE VIEW others AS SELECT * FROM entries")
        connection.exec_driver_sql("COMMIT")
        connection.exec_driver_sql("BEGIN")
    strange = ("table notes", "trigger evil", "trigger worse", "trigger worst", "view others")
    told = [f"the database holds a {one}, which is none of the register" for one in strange]
    assert audit(register).faults == told
    (of,) = certificates_of(register, "A-1", None)
    with pytest.raises(RegisterBroken, match="did not keep entry 2; nothing was added"):
        withdraw(register, of, "of the wrong line", WHEN)
    assert register.head().count == 1


def test_certificate_that_never_was_is_found(filled: Register) -> None:
    """An entry "pass" with invented digests, disposed of a moment later so that nothing can be computed."""
    body = json.loads(json.dumps(filled.body("A-002")))
    with writing(filled.engine) as connection:
        head = locked_head(connection)
        body["sequence"] = head.count + 1
        body["certificate"] |= {"number": "A-099", "as_found": "pass", "as_left": "pass"}
        body["sha256"] = {name: f"{place}" * 64 for place, name in enumerate(body["sha256"], 1)}
        rows = [{"sha256": one, "data": b"", "form": GONE} for one in body["sha256"].values()]
        connection.execute(insert(FILES), rows)
        head = append(connection, head, body)
        of = {"sequence": body["sequence"], "number": "A-099", "revision": 0}
        frame = Frame(head.count + 1, WHEN, By())
        append(
            connection, head, disposed_body(frame, of, list(body["sha256"].values()), "kept for ten years")
        )
    told = "disposes of certificate A-099, revision 0 less than 365 days after it was issued and recorded"
    found = audit(filled)
    assert found.faults == [f"entry {frame.sequence}: {told}"]
    assert found.disposed == [f"certificate A-099, revision 0 (entry {body['sequence']})"]


def test_real_certificates_are_held_against_their_pdfs(register: Register) -> None:
    """By the quick way, which reads them as the slow one does."""
    held = real("winder_inch")
    found = written(held.files[PDF])
    assert found is not None
    assert found.files == {SURVEY: held.files[SURVEY], RESULTS: held.files[RESULTS]}
    register.add(held, WHEN)
    assert audit(register).holds
    with patch("certgen.register.audit_files.written", return_value=None):
        assert audit(register).holds
