"""The colour space of the pages, sRGB, as an ICC profile of 600 bytes made from the published figures.

ICC.1:2004-10 (profile version 4.2) lays out the file; IEC 61966-2-1 gives curve, primaries and white point.
The primaries stand adapted to the D50 of the profile connection space by the Bradford matrix, the `chad` tag.
"""

import struct
from functools import cache

NAME = "sRGB IEC61966-2.1"

_D50 = (0.9642, 1.0, 0.8249)
_COLUMNS = {
    b"rXYZ": (0.43607, 0.22249, 0.01392),
    b"gXYZ": (0.38515, 0.71687, 0.09708),
    b"bXYZ": (0.14307, 0.06061, 0.71410),
}
_BRADFORD = (1.04788, 0.02292, -0.05022, 0.02959, 0.99048, -0.01707, -0.00925, 0.01508, 0.75168)
_CURVE = (2.4, 1.0 / 1.055, 0.055 / 1.055, 1.0 / 12.92, 0.04045)  # exponent, a, b, c, d of function type 3
_HEADER = 128


@cache
def srgb_profile() -> bytes:
    """Return the profile; its date is that of the edition of the standard, so the bytes never change."""
    parts = _tags()
    at = _HEADER + 4 + 12 * len(parts)
    table, body = struct.pack(">I", len(parts)), b""
    for name, data in parts.items():
        table += name + struct.pack(">II", at + len(body), len(data))
        body += data
    return _header(at + len(body)) + table + body


def _tags() -> dict[bytes, bytes]:
    curve = b"para" + bytes(4) + struct.pack(">HH", 3, 0) + _fixed(_CURVE)
    return {
        b"desc": _text(NAME),
        b"cprt": _text("Public domain"),
        b"wtpt": b"XYZ " + bytes(4) + _fixed(_D50),
        b"chad": b"sf32" + bytes(4) + _fixed(_BRADFORD),
        **{name: b"XYZ " + bytes(4) + _fixed(value) for name, value in _COLUMNS.items()},
        **dict.fromkeys((b"rTRC", b"gTRC", b"bTRC"), curve),
    }


def _header(size: int) -> bytes:
    made = struct.pack(">6H", 2004, 10, 1, 0, 0, 0)
    return b"".join(
        (
            struct.pack(">I", size) + bytes(4) + b"\x04\x20\x00\x00mntrRGB XYZ ",
            made + b"acsp" + bytes(4 + 4 + 4 + 4 + 8),
            struct.pack(">I", 0) + _fixed(_D50) + bytes(4 + 16 + 28),
        )
    )


def _fixed(values: tuple[float, ...]) -> bytes:
    """Numbers with sixteen bits after the point (s15Fixed16Number)."""
    return b"".join(struct.pack(">i", round(value * 65536.0)) for value in values)


def _text(text: str) -> bytes:
    """Text in one language (multiLocalizedUnicodeType), filled to a multiple of four bytes."""
    letters = text.encode("utf-16-be")
    data = b"mluc" + bytes(4) + struct.pack(">II2s2sII", 1, 12, b"en", b"US", len(letters), 28) + letters
    return data + bytes(-len(data) % 4)
