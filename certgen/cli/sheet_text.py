"""The work sheet as text for a terminal."""

from collections.abc import Iterator
from html import unescape
from textwrap import fill

from certgen.certificate.sheet_rolls import SheetRoll, SheetStep
from certgen.certificate.wording import Wording
from certgen.certificate.worksheet import WorkSheet

_WIDTH = 100
_NO_BREAK = "\N{NO-BREAK SPACE}"


def sheet_text(sheet: WorkSheet, wording: Wording) -> str:
    """Return the moves roll by roll, what is left alone, and the safety notes at the end."""
    parts = [_wrapped(f"{sheet.title}. {sheet.identification}. {sheet.subtitle}.")]
    for group in sheet.groups:
        parts += ["", group.title]
        parts += [_wrapped(group.note, "  ")] if group.note else []
        for roll in group.rolls:
            parts += ["", *_roll(roll)]
    if not sheet.groups:
        parts += ["", wording.word("sheet_nothing")]
    rest = [_wrapped(text) for text in sheet.rest]
    safety = [_wrapped(unescape(text), "", "  ") for text in sheet.safety]
    return "\n".join([*parts, "", *rest, "", f"{wording.word('sheet_safety')}:", *safety])


def _roll(roll: SheetRoll) -> Iterator[str]:
    yield f"{roll.id}  {roll.name} ({roll.verdicts})"
    for step in roll.steps:
        yield from _step(step)
    for remark in roll.remarks:
        yield _wrapped(remark.text, "  ")


def _step(step: SheetStep) -> Iterator[str]:
    yield f"  [ ] {step.action}, {step.bearing}: {step.amount}"
    together = step.stop.replace(" ", _NO_BREAK)
    for text in (step.shims, f"{step.watch} {together}".strip()):
        if text:
            yield _wrapped(text, "      ").replace(_NO_BREAK, " ")


def _wrapped(text: str, first: str = "", later: str | None = None) -> str:
    """Return text in lines that a terminal holds."""
    return fill(text, _WIDTH, initial_indent=first, subsequent_indent=first if later is None else later)
