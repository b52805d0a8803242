"""How a run ends that does not end well: a message, an object for programs, an exit status."""

import json
import os
import sys
from collections.abc import Iterator, Sequence
from contextlib import contextmanager, suppress
from itertools import takewhile

import click

from certgen.cli.made import left_untold
from certgen.errors import CannotWrite, CertgenError, SurveyRefused
from certgen.findings import escaped

FORMAT = "certgen-error/1"
# what a shell reports for a program that a closed pipe or the user ended
_BROKEN_PIPE = 141
_INTERRUPTED = 130


@contextmanager
def endings(arguments: Sequence[str]) -> Iterator[None]:
    """End in a message and an exit status whatever goes wrong on purpose, or because the system says so.

    Where `--json` stands among the arguments, an object on the standard output says the same.
    """
    as_json = "--json" in takewhile(lambda argument: argument != "--", arguments)
    try:
        yield
    except CertgenError as error:
        _tell(_plain(error), as_json)
        click.echo(str(error), err=True)
        raise click.exceptions.Exit(error.exit_code) from None
    except click.ClickException as error:
        error.__dict__["message"] = escaped(error.message)  # which click holds final
        _tell({"exit_code": error.exit_code, "error": error.format_message()}, as_json)
        error.show()
        raise click.exceptions.Exit(error.exit_code) from None
    except BrokenPipeError:
        _leave_quietly()
    except KeyboardInterrupt:
        raise click.exceptions.Exit(_INTERRUPTED) from None
    except OSError as error:
        text = escaped(f"certgen: {error.strerror or error}: {error.filename or ''}".rstrip(": "))
        _tell({"exit_code": CannotWrite.exit_code, "error": text}, as_json)
        click.echo("\n".join([text, *(f"Done all the same: {each}" for each in left_untold())]), err=True)
        raise click.exceptions.Exit(CannotWrite.exit_code) from None


def _plain(error: CertgenError) -> dict[str, object]:
    told: dict[str, object] = {"exit_code": error.exit_code, "error": str(error)}
    if isinstance(error, SurveyRefused):
        told["file"] = error.file
        told["findings"] = [finding.plain() for finding in error.findings]
    return told


def _tell(told: dict[str, object], as_json: bool) -> None:
    """A standard output that takes nothing does not keep the message from the standard error."""
    if as_json:
        with suppress(OSError):
            click.echo(json.dumps({"format": FORMAT, **told}, indent=2))


def _leave_quietly() -> None:
    """End without a word: whoever read the output has seen enough."""
    nowhere = os.open(os.devnull, os.O_WRONLY)
    os.dup2(nowhere, sys.stdout.fileno())  # so that the flush at exit finds an open end
    sys.exit(_BROKEN_PIPE)
