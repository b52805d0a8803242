"""What the crew's work sheet says, as plain records: every word and number in place, nothing drawn yet."""

from collections.abc import Iterator
from dataclasses import dataclass
from itertools import groupby

from markupsafe import Markup

from certgen.assessment.assessment import Assessment
from certgen.assessment.pairs_after import still_apart
from certgen.assessment.plan import RollPlan, not_adjustable, plans
from certgen.certificate.numbers import Numbers, joined, numbers_for
from certgen.certificate.sheet_rolls import Means, SheetRoll, sheet_roll
from certgen.certificate.wording import Wording


@dataclass(frozen=True, slots=True)
class SheetGroup:
    """The rolls to move that one setting of the laser saw last; `title` names it and says what to mind."""

    title: str
    note: str
    rolls: tuple[SheetRoll, ...]


@dataclass(frozen=True, slots=True)
class WorkSheet:
    """The whole sheet: what it is, the safety notes, the rolls to move, and what is left alone.

    `attached` says which files travel inside its PDF.
    """

    title: str
    identification: str
    subtitle: str
    contractor: str
    safety: tuple[Markup, ...]
    groups: tuple[SheetGroup, ...]
    rest: tuple[str, ...]
    end: str
    attached: tuple[str, ...] = ()


def work_sheet(assessment: Assessment, wording: Wording) -> WorkSheet:
    """Return the plan of moves in the words and units of the certificate: rolls that need a move first."""
    survey, head = assessment.survey, assessment.survey.certificate
    numbers, found = numbers_for(survey, wording.digits), plans(assessment)
    moving = [plan for plan in found if plan.needed]
    count = wording.word("sheet_count", moving=len(moving), rolls=len(survey.rolls))
    return WorkSheet(
        title=wording.word("sheet_title"),
        identification=wording.word("number", number=head.number, revision=head.revision),
        subtitle=f"{survey.line.name}. {count}",
        contractor=survey.contractor.name,
        safety=wording.paragraphs("moving_safety"),
        groups=tuple(_groups(assessment, moving, numbers, wording)),
        rest=tuple(_rest(assessment, found, wording)),
        end=wording.word("sheet_end", number=head.number, revision=head.revision),
    )


def _groups(
    assessment: Assessment, moving: list[RollPlan], numbers: Numbers, wording: Wording
) -> Iterator[SheetGroup]:
    """By the setup that saw the rolls last, in the order of the setups; those without one come first."""
    sign = assessment.survey.positive.roll_sign
    means = Means(numbers, wording, sign)
    order = [None, *(setup.id for setup in assessment.survey.setups)]
    positive = wording.word(assessment.survey.positive.roll)
    moving = sorted(moving, key=lambda plan: order.index(plan.setup))
    for setup, rolls in groupby(moving, key=lambda plan: plan.setup):
        yield SheetGroup(
            title=wording.word("sheet_setup", setup=setup)
            if setup is not None
            else wording.word("sheet_no_setup"),
            note=wording.word("sheet_setup_note", setup=setup, positive=positive)
            if setup is not None
            else "",
            rolls=tuple(sheet_roll(plan, means) for plan in rolls),
        )


def _rest(assessment: Assessment, found: tuple[RollPlan, ...], wording: Wording) -> Iterator[str]:
    """What is left alone, and what is outside tolerance and yet no move is planned for."""
    fixed = dict(not_adjustable(assessment, found))
    left = [plan.roll.id for plan in found if not plan.needed and plan.roll.id not in fixed]
    if left:
        yield wording.word("sheet_leave", list=joined(left))
    if fixed:
        texts = (
            f"{roll} ({joined(wording.inline(name) for name in names)})" for roll, names in fixed.items()
        )
        yield wording.word("sheet_fixed", list=joined(texts))
    pairs = [
        f"{first} \N{EN DASH} {second} ({wording.inline(name)})"
        for first, second, name in still_apart(assessment, found)
    ]
    if pairs:
        yield wording.word("sheet_pairs", list=joined(pairs))
