"""What a run has made: told at its end, also where the standard output takes nothing more."""

import click

from certgen.findings import escaped

_META = "certgen.made"


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
