"""What reaches a terminal: notices of what was made, errors with their exit status, all of it escaped."""

import json
import os
import re
import sys
from collections.abc import Iterator, Sequence
from contextlib import contextmanager, suppress
from itertools import takewhile
from typing import Any, TextIO, cast

import click

from certgen.errors import CannotWrite, CertgenError, SurveyRefused
from certgen.findings import escaped

# all but the line breaks and tabs that certgen writes itself, which it keeps out of what a file says
_STEERS = re.compile("[\x00-\x08\x0b-\x1f\x7f-\x9f\u061c\u200e\u200f\u2028-\u202e\u2066-\u2069]")
_META = "certgen.made"
FORMAT = "certgen-error/1"
# what a shell reports for a program that a closed pipe or the user ended
_BROKEN_PIPE = 141
_INTERRUPTED = 130


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


def made(sentence: str) -> None:
    """Remember what was made until it is told."""
    sentence = escaped(sentence)
    if sentence not in _untold():
        _untold().append(sentence)


def tell(sentence: str, as_json: bool = False) -> None:
    """Say what was made: on the standard output, or beside it where that is kept for JSON."""
    sentence = escaped(sentence)
    made(sentence)
    click.echo(sentence, err=as_json)
    if sentence in _untold():
        _untold().remove(sentence)


def left_untold() -> list[str]:
    """Return what was made and could not be told."""
    return list(_untold())


def _untold() -> list[str]:
    """Where it is remembered, for as long as the command runs."""
    context = click.get_current_context(silent=True)
    untold: list[str] = [] if context is None else context.meta.setdefault(_META, [])
    return untold


@contextmanager
def endings(arguments: Sequence[str]) -> Iterator[None]:
    """End in a message and an exit status whatever goes wrong on purpose, or because the system says so.

    Where `--json` stands among the arguments, an object on the standard output says the same.
    """
    as_json = "--json" in takewhile(lambda argument: argument != "--", arguments)
    try:
        yield
    except CertgenError as error:
        told: dict[str, object] = {"exit_code": error.exit_code, "error": str(error)}
        if isinstance(error, SurveyRefused):
            told["file"] = error.file
            told["findings"] = [finding.plain() for finding in error.findings]
        _tell(told, as_json)
        click.echo(str(error), err=True)
        raise click.exceptions.Exit(error.exit_code) from None
    except click.ClickException as error:
        error.__dict__["message"] = escaped(error.message)  # which click holds final
        _tell({"exit_code": error.exit_code, "error": error.format_message()}, as_json)
        error.show()
        raise click.exceptions.Exit(error.exit_code) from None
    except BrokenPipeError:
        # end without a word: whoever read the output has seen enough
        nowhere = os.open(os.devnull, os.O_WRONLY)
        os.dup2(nowhere, sys.stdout.fileno())  # so that the flush at exit finds an open end
        sys.exit(_BROKEN_PIPE)
    except KeyboardInterrupt:
        raise click.exceptions.Exit(_INTERRUPTED) from None
    except OSError as error:
        text = escaped(f"certgen: {error.strerror or error}: {error.filename or ''}".rstrip(": "))
        _tell({"exit_code": CannotWrite.exit_code, "error": text}, as_json)
        click.echo("\n".join([text, *(f"Done all the same: {each}" for each in left_untold())]), err=True)
        raise click.exceptions.Exit(CannotWrite.exit_code) from None


def _tell(told: dict[str, object], as_json: bool) -> None:
    """A standard output that takes nothing does not keep the message from the standard error."""
    if as_json:
        with suppress(OSError):
            click.echo(json.dumps({"format": FORMAT, **told}, indent=2))
