"""A line for every outcome; under them, on a terminal only, how far the batch is."""

import sys
from collections.abc import Callable, Iterator
from contextlib import contextmanager

import click
from rich.console import Console
from rich.progress import BarColumn, MofNCompleteColumn, Progress, TimeRemainingColumn

from certgen.cli.batch.outcome import Outcome
from certgen.cli.terminal import below

Tell = Callable[[Outcome], None]


@contextmanager
def progress(total: int) -> Iterator[Tell]:
    """Give what tells an outcome; lines go to the standard output, the bar to the standard error.

    Where both are the terminal, whoever draws the bar writes the lines too, so that they stand above it.
    """
    console = Console(file=below(sys.stderr))
    columns = (BarColumn(), MofNCompleteColumn(), TimeRemainingColumn())
    with Progress(*columns, console=console, transient=True, disable=not console.is_terminal) as bar:
        task = bar.add_task("", total=total)

        def tell(outcome: Outcome) -> None:
            if console.is_terminal and sys.stdout.isatty():
                console.print(outcome.line(), markup=False, highlight=False, emoji=False, soft_wrap=True)
            else:
                click.echo(outcome.line())
            bar.advance(task)

        yield tell
