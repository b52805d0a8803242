"""A digest over all words and paragraphs a certificate is printed with, the contractor's own among them."""

from collections.abc import Iterator
from hashlib import sha256

from certgen.certificate.wording import Wording


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
