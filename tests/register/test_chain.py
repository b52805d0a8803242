"""The chain: canonical text, digests, and heads as people write them down."""

from hashlib import sha256

import pytest

from certgen.register.entries import GENESIS, Head, canonical, chained, written_head


def test_canonical_text_knows_no_order_of_keys() -> None:
    """Keys sorted, no white space, letters as they are."""
    assert canonical({"b": [1, None], "a": "Ø"}) == '{"a":"Ø","b":[1,null]}'


def test_canonical_text_refuses_what_is_no_number() -> None:
    """JSON has no infinity."""
    with pytest.raises(ValueError, match="JSON"):
        canonical({"a": float("inf")})


def test_digest_covers_previous_digest_and_text() -> None:
    """SHA-256 over both with a line feed between, as anyone can work out again."""
    assert chained(GENESIS, "{}") == sha256(b"0" * 64 + b"\n{}").hexdigest()


@pytest.mark.parametrize(
    ("text", "read"),
    [
        (f"12:{'ab34' * 4}", (12, "ab34" * 4)),
        (f" 12:{'AB34' * 4} ", (12, "ab34" * 4)),
        ("ab34" * 16, None),
        (f"12:{'ab34' * 3}ab3", None),
        (str(Head(3, GENESIS)), (3, GENESIS)),
        ("12:ab34", None),
        ("head", None),
        ("", None),
    ],
)
def test_head_is_read_as_it_was_written_down(text: str, read: object) -> None:
    """With its count, whole or its beginning of 16 digits or more; anything else is none."""
    assert written_head(text) == read
