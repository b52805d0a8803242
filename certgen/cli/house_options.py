"""The options by which a command speaks and looks as a contractor does."""

from collections.abc import Callable
from pathlib import Path
from typing import Any, get_args

import click

from certgen.resources import LANGUAGES
from certgen.survey.survey import Paper

Function = Callable[..., Any]


def house_options(function: Function) -> Function:
    """Add `language` and `templates`; without them certgen.toml beside the survey decides."""
    language = click.option(
        "--lang",
        "language",
        type=click.Choice(LANGUAGES),
        help="Language; by default that of the house, English.",
    )
    templates = click.option(
        "--templates",
        type=click.Path(readable=False, path_type=Path),
        help="A folder of your own words, paragraphs, logo and colours.",
    )
    return language(templates(function))


def page_options(function: Function) -> Function:
    """Add `paper` to them, for a command that writes pages."""
    paper = click.option(
        "--paper", type=click.Choice(get_args(Paper)), help="Paper size; by default that of the survey."
    )
    return paper(house_options(function))
