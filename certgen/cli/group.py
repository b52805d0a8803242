"""The group of commands. It knows their names and summaries, and imports a command only to run it."""

import os
import sys
from collections.abc import Mapping, Sequence
from importlib import import_module
from io import TextIOWrapper
from types import MappingProxyType
from typing import Any

import click

from certgen import __version__
from certgen.cli.io.library_settings import need_no_home
from certgen.cli.io.messages import endings, escaping

Commands = Mapping[str, str]

# name -> summary; the command itself is `certgen.cli.<name>:command`
COMMANDS: Mapping[str, str] = MappingProxyType(
    {
        "new": "Write a commented survey to start from.",
        "check": "List every fault of a survey, or say what it holds.",
        "solve": "Compute slopes, verdicts and moves of a survey.",
        "moves": "Say what the crew has to move, or write its work sheet.",
        "issue": "Write the certificate of a survey as PDF.",
        "verify": "Say whether a certificate is what its survey gives.",
        "sign": "Sign a certificate that was issued before.",
        "extract": "Give back the surveys and the results in a certificate or report.",
        "batch": "Issue or verify a whole folder, on all cores.",
        "study": "Compare what each possible reference would cost in moves.",
        "compare": "Say which rolls have moved from one survey to the next.",
        "trend": "Say which rolls drift, and when to survey next.",
        "aim": "Say what far reading to aim at when setting a line on two targets.",
        "register": "Keep certificates in a register that shows any change.",
        "schema": "Print the JSON Schema of the survey format.",
    }
)
_EXAMPLES = """\b
Examples:
  certgen new line3.yaml
  certgen check line3.yaml
  certgen solve line3.yaml
  certgen issue line3.yaml
\b
Exit status:
  0  done
  1  the survey has faults
  2  wrong usage, or a file that cannot be read
  3  the survey has no answer
  4  the output cannot be written
  5  a certificate does not verify, or a register was changed
  6  the results of a certificate hold, but its pages could not be compared"""
# matrices as small as ours are slower for being shared out, and rounded the same however many cores there are
_ONE_THREAD = ("OMP_NUM_THREADS", "OPENBLAS_NUM_THREADS", "MKL_NUM_THREADS")


class LazyGroup(click.Group):
    """A group whose help needs none of its commands; they stand as files in `package`."""

    table: Commands = COMMANDS
    package = "certgen.cli"

    def list_commands(self, ctx: click.Context) -> list[str]:  # noqa: ARG002  # click's signature
        """Return the commands in the order of the work."""
        return list(self.table)

    def get_command(self, ctx: click.Context, cmd_name: str) -> click.Command | None:  # noqa: ARG002  # click's
        """Return the command of this name."""
        if cmd_name not in self.table:
            return None
        found = import_module(f"{self.package}.{cmd_name}").command
        assert isinstance(found, click.Command)  # noqa: S101  # every command file holds one
        return found

    def format_commands(self, ctx: click.Context, formatter: click.HelpFormatter) -> None:  # noqa: ARG002  # click's
        """Write the table of commands without loading any."""
        with formatter.section("Commands"):
            formatter.write_dl(list(self.table.items()))

    def make_context(
        self, info_name: str | None, args: list[str], parent: click.Context | None = None, **extra: Any
    ) -> click.Context:  # click's signature
        """Read the arguments of the group; help on a full disk ends as any command does."""
        with endings(args):
            return super().make_context(info_name, args, parent, **extra)

    def invoke(self, ctx: click.Context) -> Any:  # click's signature
        """Run a command; what goes wrong on purpose ends in a message and an exit status."""
        with endings(ctx.args):
            return super().invoke(ctx)


@click.group(
    cls=LazyGroup,
    help="Turn a roll-line alignment survey into a certificate.",
    epilog=_EXAMPLES,
    context_settings={"help_option_names": ["-h", "--help"], "max_content_width": 100},
)
@click.version_option(__version__, prog_name="certgen")
def certgen() -> None:
    """Turn a roll-line alignment survey into a certificate."""


def main(arguments: Sequence[str] | None = None) -> None:
    """Run certgen on `arguments`, those of the process where None; ends the process with an exit status."""
    for name in _ONE_THREAD:  # before the first command loads a library that reads them
        os.environ[name] = "1"
    need_no_home()
    for stream in (sys.stdout, sys.stderr):
        if isinstance(stream, TextIOWrapper):  # a terminal without a letter shows its number, not a traceback
            stream.reconfigure(errors="backslashreplace")
    with escaping():
        certgen.main(args=None if arguments is None else list(arguments), prog_name="certgen")
