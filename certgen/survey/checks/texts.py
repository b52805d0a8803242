"""Texts that stand on the certificate otherwise than they were meant."""

from collections.abc import Iterator

from certgen.findings import Finding
from certgen.survey.checked import Checked
from certgen.survey.typeset import QUOTES_NOTHING, unquoted


def texts(root: Checked) -> Iterator[Finding]:
    """Yield a warning for every text whose quotation marks would be printed."""
    for node in root.everything():
        if node.sound and isinstance(node.value, str) and unquoted(node.value) is not None:
            hint = f'Write "..." instead, or nothing: {QUOTES_NOTHING}.'
            yield node.warning("the quotation marks are part of the text", hint)
