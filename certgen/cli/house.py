"""A contractor's own style: `house.toml` in a folder of templates, `certgen.toml` beside the survey."""

import re
import tomllib
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field, replace
from difflib import get_close_matches
from pathlib import Path
from typing import Any, cast, get_args

from certgen import resources
from certgen.errors import WrongUsage
from certgen.resources import LANGUAGES
from certgen.survey.survey import Paper, Survey
from certgen.wording.house_files import house_texts, read_within, text_within
from certgen.wording.wording import LINE_CONTRAST, TEXT_CONTRAST, HouseLook, Wording, contrast, verdict_in

BESIDE = "certgen.toml"
INSIDE = "house.toml"
TABLES = ("house", "register")  # the second one is read by the commands of the register
_KEYS = ("letterhead", "logo", "colours", "paper", "language")
_LEAST = {"found": LINE_CONTRAST, "left": TEXT_CONTRAST}
_MOST_LINES, _LONGEST = 6, 90
_COLOUR = re.compile(r"#[0-9a-f]{6}")


def line_of(key: str, text: str) -> int:
    """Return the line, from 1, in which a key or a table of that name begins; 1 where it is not found."""
    name = re.escape(key)
    found = re.search(rf"^\s*(\[[^\]\n]*\b{name}\]|[\"']?{name}[\"']?\s*=)", text, re.MULTILINE)
    return 1 if found is None else text[: found.end()].count("\n") + 1


def line_of_error(error: ValueError) -> int:
    """Return the line that an error of the reader names, 1 where it names none."""
    place = re.search(r"line (\d+)", str(error))
    return int(place[1]) if place else 1


@dataclass(frozen=True, slots=True)
class House:
    """What a contractor has of their own; what is None or missing is the project's."""

    templates: Path | None = None
    look: HouseLook = field(default_factory=HouseLook)
    paper: Paper | None = None
    language: str | None = None

    def wording(self, language: str | None) -> Wording:
        """Return the wording in that language, else in the house's own, else in English."""
        wanted, project = language or self.language or "en", resources.templates()
        if self.templates is None:
            return Wording(project, wanted, look=self.look)
        return Wording(project, wanted, house_texts(self.templates, project, wanted), self.look)

    def paper_for(self, survey: Survey, asked: Paper | None) -> Paper:
        """Return the paper asked for, else that of the survey; where that is A4, the house's own."""
        stated = survey.certificate.paper
        return asked or (self.paper if stated == "A4" and self.paper else stated)


def house_of(survey: Path, templates: Path | None) -> House:
    """Return the style for a survey: that of `templates`, over it what certgen.toml beside it says.

    Raises WrongUsage with file and line where something in it is wrong.
    """
    beside = survey.parent / BESIDE
    stated = _stated(survey.parent, beside, ("templates", *_KEYS)) if beside.is_file() else None
    house = house_in(templates or _folder(stated))
    return house if stated is None else _over(house, stated)


def house_in(folder: Path | None) -> House:
    """Return the style in a folder of templates, the project's where there is none; WrongUsage as above."""
    house = House(folder)
    if folder is None:
        return house
    if not folder.is_dir():
        raise WrongUsage(f"{folder}: there is no such folder of templates.")
    inside = folder / INSIDE
    return _over(house, _stated(folder, inside, _KEYS)) if inside.is_file() else house


@dataclass(frozen=True, slots=True)
class _Stated:
    """The table of one file, with the folder that its paths start from."""

    folder: Path
    file: Path
    text: str
    table: Mapping[str, Any]

    def wrong(self, key: str, message: str) -> WrongUsage:
        """Return the error about a key, with its line."""
        return WrongUsage(f"{self.file}:{line_of(key, self.text)}: {key}: {message}")


def _stated(folder: Path, file: Path, keys: tuple[str, ...]) -> _Stated:
    """The table of house.toml, or that named `house` of certgen.toml."""
    text = text_within(folder, file)
    try:
        whole = tomllib.loads(text)
    except tomllib.TOMLDecodeError as error:
        raise WrongUsage(f"{file}:{line_of_error(error)}: {error}.") from None
    except RecursionError as error:
        raise WrongUsage(f"{file}:1: {error}.") from None
    stated = _Stated(folder, file, text, whole)
    if file.name == BESIDE:
        for key in whole:
            if key not in TABLES:
                raise stated.wrong(key, "unknown key. There are two tables, [house] and [register].")
        table = whole.get("house", {})
        if not isinstance(table, dict):
            raise stated.wrong("house", "write a table, [house].")
        stated = replace(stated, table=table)
    for key in stated.table:
        if key not in keys:
            near = get_close_matches(key, keys, 1)
            hint = f"Did you mean {near[0]}?" if near else f"There are: {', '.join(keys)}."
            raise stated.wrong(key, f"unknown key. {hint}")
    return stated


def _folder(stated: _Stated | None) -> Path | None:
    if stated is None or "templates" not in stated.table:
        return None
    folder = stated.folder / _text(stated, "templates", stated.table["templates"])
    try:
        inside = folder.resolve().is_relative_to(stated.folder.resolve())
    except (OSError, RuntimeError, ValueError):  # RuntimeError: links that lead in a circle
        inside = False
    if not inside:
        told = "name a folder within that of this file. --templates names any other."
        raise stated.wrong("templates", told)
    return folder


def _over(house: House, stated: _Stated) -> House:
    """Lay what a file states over what is there."""
    table = stated.table
    look = replace(house.look, **dict(_look(stated)))
    paper = _choice(stated, "paper", get_args(Paper)) if "paper" in table else house.paper
    language = _choice(stated, "language", LANGUAGES) if "language" in table else house.language
    return replace(house, look=look, paper=cast("Paper | None", paper), language=language)


def _look(stated: _Stated) -> Iterator[tuple[str, Any]]:
    table = stated.table
    if "letterhead" in table:
        yield "letterhead", tuple(_lines(stated, table["letterhead"]))
    if "logo" in table:
        yield "logo", _logo(stated)
    if "colours" in table:
        colours = table["colours"]
        if not isinstance(colours, dict) or not colours.keys() <= _LEAST.keys():
            raise stated.wrong("colours", 'write {found = "#rrggbb", left = "#rrggbb"}.')
        for name, colour in colours.items():
            if not isinstance(colour, str) or not _COLOUR.fullmatch(colour.lower()):
                raise stated.wrong("colours", f"{name} is not a colour. Write six digits, #1d4e89.")
            if contrast(colour.lower()) < _LEAST[name]:
                raise stated.wrong("colours", f"{name} is too pale to be seen on paper. Take a darker one.")
            yield name, colour.lower()


def _lines(stated: _Stated, lines: Any) -> Iterator[str]:
    if not isinstance(lines, list) or len(lines) > _MOST_LINES:
        raise stated.wrong("letterhead", f"write a list of at most {_MOST_LINES} lines.")
    for line in lines:
        if not isinstance(line, str) or len(line) > _LONGEST or not line.isprintable():
            raise stated.wrong("letterhead", f"a line is a text of at most {_LONGEST} letters.")
        if verdict := verdict_in(line):
            raise stated.wrong("letterhead", f"no verdict belongs here, {verdict}. Leave it out.")
        yield line


def _logo(stated: _Stated) -> Any:
    from certgen.figures.logo import MOST_BYTES, UnfitLogo, logo_of  # loads the picture library

    file = stated.folder / _text(stated, "logo", stated.table["logo"])
    try:
        return logo_of(read_within(stated.folder, file, MOST_BYTES))
    except WrongUsage as error:
        raise stated.wrong("logo", str(error)) from None
    except UnfitLogo as unfit:
        raise stated.wrong("logo", f"{file} {unfit}.") from None


def _text(stated: _Stated, key: str, value: Any) -> str:
    if not isinstance(value, str) or not value:
        raise stated.wrong(key, "write a text.")
    return value


def _choice(stated: _Stated, key: str, choices: tuple[str, ...]) -> str:
    value = _text(stated, key, stated.table[key])
    if value not in choices:
        raise stated.wrong(key, f"this is not one of {', '.join(choices)}.")
    return value
