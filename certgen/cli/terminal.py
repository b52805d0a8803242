"""The one way to a terminal: what a file says can neither steer it nor turn its letters round."""

import json
import re
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from typing import Any, TextIO, cast

from certgen.findings import escaped

# all but the line breaks and tabs that certgen writes itself, which it keeps out of what a file says
_STEERS = re.compile("[\x00-\x08\x0b-\x1f\x7f-\x9f\u061c\u200e\u200f\u2028-\u202e\u2066-\u2069]")


class Escaping:
    """A stream that writes letters which steer a terminal as their numbers; `plain` is the stream below."""

    def __init__(self, plain: TextIO) -> None:
        self.plain = plain

    def write(self, text: str) -> int:
        """Write a text; the length is that of what was asked for."""
        self.plain.write(_STEERS.sub(lambda one: escaped(one[0]), text))
        return len(text)

    def writelines(self, lines: list[str]) -> None:
        """Write lines."""
        for line in lines:
            self.write(line)

    def __getattr__(self, name: str) -> Any:
        return getattr(self.plain, name)


def as_json_text(told: Any) -> str:
    """Return plain data as JSON whose letters are readable, save those that would steer a terminal."""
    text = json.dumps(told, indent=2, ensure_ascii=False)
    return _STEERS.sub(lambda one: f"\\u{ord(one[0]):04x}", text)


@contextmanager
def escaping() -> Iterator[None]:
    """Have both outputs escape for as long as a command runs."""
    before = sys.stdout, sys.stderr
    sys.stdout, sys.stderr = (cast(TextIO, Escaping(stream)) for stream in before)
    try:
        yield
    finally:
        sys.stdout, sys.stderr = before


def below(stream: TextIO) -> TextIO:
    """Return the stream that takes a program's own steering, such as a bar that is drawn again and again."""
    return stream.plain if isinstance(stream, Escaping) else stream
