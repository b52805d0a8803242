"""The work sheet as text for a terminal."""

import re
from collections.abc import Iterator
from html import unescape
from textwrap import fill

from certgen.document.work_sheet import WorkSheet
from certgen.document.work_sheet_roll import SheetRoll
from certgen.wording.wording import Wording, unhyphenated

_WIDTH = 100
_NO_BREAK = "\N{NO-BREAK SPACE}"
_BREAK, _TAG = re.compile(r"<br\s*/?>"), re.compile(r"<[^>]*>")


def sheet_text(sheet: WorkSheet, wording: Wording) -> str:
    """Return the moves roll by roll, what is left alone, and the safety notes at the end."""
    parts = [_wrapped(f"{sheet.title}. {sheet.identification}. {sheet.subtitle}.")]
    for group in sheet.groups:
        parts += ["", group.title]
        parts += [_wrapped(text, "  ") for text in group.note.split("\n") if text]
        for roll in group.rolls:
            parts += ["", *_roll(roll, wording)]
    if sheet.nothing:
        parts += ["", sheet.nothing]
    rest = [_wrapped(text) for text in sheet.rest]
    safety = [
        _wrapped(f"{number} {_unmarked(text).removeprefix('- ')}", "", "  ")
        for number, text in enumerate(sheet.safety, 1)
    ]
    head = wording.word("titled", title=wording.word("sheet_safety"), text="").rstrip()
    return unhyphenated("\n".join([*parts, "", *rest, "", head, *safety]))


def _unmarked(text: str) -> str:
    """A paragraph without its mark-up."""
    return unescape(_TAG.sub("", _BREAK.sub(" ", text)))


def _roll(roll: SheetRoll, wording: Wording) -> Iterator[str]:
    yield f"{roll.id}  {roll.name} ({roll.verdicts})"
    for step in roll.steps:
        what = wording.word("titled", title=f"{step.action}, {step.bearing}", text=step.amount)
        yield f"  [ ] {what}"
        together = step.stop.replace(" ", _NO_BREAK)
        for text in (step.shims, f"{step.watch} {together}".strip(), step.check):
            if text:
                yield _wrapped(text, "      ").replace(_NO_BREAK, " ")
    for blank in () if roll.steps else roll.blanks:  # a text is not filled in by hand
        gaps = "  ".join(f"{gap} ________".replace(" ", _NO_BREAK) for gap in blank.gaps)
        line = f"[ ] {wording.word('titled', title=blank.title, text=gaps)}"
        yield _wrapped(line, "  ", "      ").replace(_NO_BREAK, " ")
    for remark in roll.remarks:
        yield _wrapped(remark.text, "  ")


def _wrapped(text: str, first: str = "", later: str | None = None) -> str:
    """Return text in lines that a terminal holds."""
    return fill(text, _WIDTH, initial_indent=first, subsequent_indent=first if later is None else later)
