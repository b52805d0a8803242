"""No file takes long or much memory, whatever it is made of: it is refused in a line before any work."""

import subprocess
import sys
import zlib
from collections.abc import Callable
from pathlib import Path

import pytest

from certgen.errors import NotVerified
from certgen.verify.issued_file import carried
from certgen.verify.pdf_bytes import HEADER
from tests.certificate.forge import forged, objects, with_stream
from tests.certificate.test_verify import pdf
from tests.processor import processor_time

SECONDS, MEGABYTES = 10.0, 500
LARGEST = 49_000_000
_OURS = b"% <certgen:format>certgen-certificate/1<\n"


def wrapped(*parts: bytes) -> bytes:
    """Return objects with a table and an end, as a PDF."""
    body, places = HEADER, []
    for number, part in enumerate(parts, 1):
        places.append(len(body))
        body += b"%d 0 obj\n%s\nendobj\n" % (number, part)
    entries = b"".join(b"%010d 00000 n \n" % place for place in places)
    table = b"xref\n0 %d\n0000000000 65535 f \n%strailer\n<< /Root 1 0 R >>\n" % (len(places) + 1, entries)
    return body + table + b"startxref\n%d\n%%%%EOF\n" % len(body)


def packed(data: bytes, keys: bytes = b"/Filter [ /FlateDecode ]") -> bytes:
    """Return a stream."""
    return b"<< %s /Length %d >>\nstream\n%s\nendstream" % (keys, len(data), data)


def two_filters() -> bytes:
    """Some kilobytes that unfold twice, to gigabytes."""
    once = zlib.compress(zlib.compress(bytes(200_000_000)))
    return wrapped(b"<< >>", packed(once, b"/Filter [ /FlateDecode /FlateDecode ]"), _OURS)


def one_filter() -> bytes:
    """A stream that unfolds to 200 MB."""
    return wrapped(b"<< >>", packed(zlib.compress(bytes(200_000_000))), b"(<certgen:format>)")


def many_streams() -> bytes:
    """Each of them is small enough, all together are not."""
    one = packed(zlib.compress(bytes(20_000_000)))
    return wrapped(b"<< /X (<certgen:format>) >>", *[one] * 400)


def many_pages() -> bytes:
    """Twenty thousand pages, all the same."""
    kids = b" ".join([b"3 0 R"] * 20_000)
    tree = b"<< /Type /Pages /Count 20000 /Kids [ %s ] >>" % kids
    return wrapped(b"<< /Pages 2 0 R /X (<certgen:format>) >>", tree, b"<< /Type /Page >>")


def many_page_objects() -> bytes:
    """Nineteen thousand pages, each its own."""
    kids = b" ".join(b"%d 0 R" % number for number in range(3, 19_003))
    tree = b"<< /Type /Pages /Count 19000 /Kids [ %s ] >>" % kids
    return wrapped(b"<< /Pages 2 0 R /X (<certgen:format>) >>", tree, *[b"<< /Type /Page >>"] * 19_000)


def deep() -> bytes:
    """Two hundred thousand brackets."""
    return wrapped(b"<< /X (<certgen:format>) /Y " + b"[" * 200_000 + b"]" * 200_000 + b" >>")


def deep_dictionaries() -> bytes:
    """Dictionaries within dictionaries."""
    return wrapped(b"<< /X (<certgen:format>) /Y " + b"<< /A " * 200_000 + b"1" + b" >>" * 200_000 + b" >>")


def brackets_alone() -> bytes:
    """As large as is read at all."""
    return HEADER + b"<certgen:format>\n%%EOF" + b"[" * LARGEST


def numbers() -> bytes:
    """One array of millions of numbers."""
    return wrapped(b"<< /X (<certgen:format>) /Y [ " + b"1 " * (LARGEST // 2) + b"] >>")


def one_text() -> bytes:
    """A text without an end."""
    return HEADER + b"1 0 obj\n(<certgen:format>%%EOF" + b"\\\\(" * (LARGEST // 3)


def ends() -> bytes:
    """The word that begins the end, again and again."""
    return HEADER + b"<certgen:format>" + b"startxref " * (LARGEST // 10) + b"%%EOF"


def zeros() -> bytes:
    """Nothing at all."""
    return b"%PDF-1.7\n<certgen:format>%%EOF" + bytes(LARGEST)


def large_survey() -> bytes:
    """A certificate whose survey was replaced by twenty megabytes."""
    number = next(n for n, part in objects(pdf()).items() if b"application#2Fyaml" in part)
    return forged(pdf(), {number: with_stream(objects(pdf())[number], b"a: b\n" * 4_000_000)})


def updates() -> bytes:
    """A thousand updates of nothing."""
    end = b"xref\n0 0\ntrailer\n<< /Root 1 0 R /Prev %d >>\nstartxref\n%d\n%%%%EOF\n"
    data, last = pdf(), int(pdf()[pdf().rindex(b"startxref\n") :].split()[1])
    for _ in range(1000):
        data, last = data + end % (last, len(data)), len(data)
    return data


def with_packed(head: bytes, count: int, keys: bytes = b"") -> bytes:
    """Return a file whose first object is a stream of objects that says it holds so many."""
    stream = packed(
        zlib.compress(head), b"/Type /ObjStm /N %d /First 10 %s/Filter [ /FlateDecode ]" % (count, keys)
    )
    return wrapped(stream, b"<< /X (<certgen:format>) >>")


def many_packed() -> bytes:
    """Millions of objects in some kilobytes."""
    return with_packed(b"1 0 " * 12_000_000, 12_000_000)


def packed_deep() -> bytes:
    """Brackets without end in a stream of objects."""
    return with_packed(b"7 0\n      " + b"[" * 20_000_000, 1)


def packed_in_itself() -> bytes:
    """A stream of objects that says another holds more of them."""
    return with_packed(b"7 0\n      (a)\n", 1, b"/Extends 1 0 R ")


def packed_elsewhere() -> bytes:
    """An object that stands at another place than its stream says."""
    return with_packed(b"7 5\n      (a)\n", 1)


def packed_twice() -> bytes:
    """Two objects of one number."""
    return with_packed(b"7 0 7 4\n  (a)\n(b)\n", 2)


def large_table() -> bytes:
    """A table of gigabytes, packed."""
    keys = b"/Type /XRef /Size 20000000 /W [1 4 2] /Root 1 0 R /Info 1 0 R /Filter [ /FlateDecode ]"
    table = packed(zlib.compress(bytes(23_000_000)), keys)
    return HEADER + b"1 0 obj\n%s\nendobj\n" % table + b"(<certgen:format>)startxref\n15\n%%EOF\n"


def table_of_wide_entries() -> bytes:
    """Numbers of a million bytes each."""
    keys = b"/Type /XRef /Size 2 /W [1000000 4 2] /Root 1 0 R /Info 1 0 R /Filter [ /FlateDecode ]"
    table = packed(zlib.compress(bytes(2_000_012)), keys)
    return HEADER + b"1 0 obj\n%s\nendobj\n" % table + b"(<certgen:format>)startxref\n15\n%%EOF\n"


FILES: tuple[Callable[[], bytes], ...] = (
    *(two_filters, one_filter, many_streams, many_pages, many_page_objects, deep, deep_dictionaries),
    *(brackets_alone, numbers, one_text, ends, zeros, large_survey, updates),
    *(many_packed, packed_deep, packed_in_itself, packed_elsewhere, packed_twice),
    *(large_table, table_of_wide_entries),
)


@pytest.mark.parametrize("make", FILES, ids=lambda make: make.__name__)
def test_hostile_file_is_refused_at_once(make: Callable[[], bytes]) -> None:
    """In a fraction of the time that is allowed, with a message of one line."""
    data = make()
    assert len(data) <= 50_000_000

    def refuse() -> None:
        with pytest.raises(NotVerified) as told:
            carried(data)
        assert "\n" not in str(told.value)

    assert processor_time(refuse) < SECONDS / 2


@pytest.mark.slow
def test_hostile_files_take_little_memory(tmp_path: Path) -> None:
    """The command as a whole, each file in a process that may have no more than so much."""
    most = MEGABYTES * 1_000_000
    for make in FILES:
        file = tmp_path / f"{make.__name__}.pdf"
        file.write_bytes(make())
        code = (
            "import sys; from certgen.cli import main\n"
            "try: main(['verify', sys.argv[1]])\n"
            # the most this program itself has used: rusage begins with what the process that started it had
            "finally: print([line.split()[1] for line in open('/proc/self/status') if 'VmHWM' in line][0],"
            " file=sys.stderr)"
        )
        done = subprocess.run([sys.executable, "-c", code, file], capture_output=True, text=True, check=False)
        used = 1024 * int(done.stderr.split()[-1])
        assert (done.returncode, used < most) == (5, True), (make.__name__, used, done.stderr)
        assert "Traceback" not in done.stderr
