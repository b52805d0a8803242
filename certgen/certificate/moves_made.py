"""What the crew says it did, and how that agrees with what was measured before and after."""

from collections.abc import Iterator

from certgen.assessment.adjustment_check import AdjustmentCheck, adjustment_checks
from certgen.assessment.assessment import ASPECTS, AspectName, Assessment
from certgen.certificate.content import Column, Table
from certgen.certificate.crew_numbers import check_cells
from certgen.certificate.numbers import Numbers
from certgen.certificate.rounding import NOTHING
from certgen.certificate.wording import Wording
from certgen.survey.survey import Survey


def moves_made(assessment: Assessment, numbers: Numbers, wording: Wording) -> Iterator[Table]:
    """Yield the reported moves, and their check for the rolls that were read in both rounds."""
    if assessment.survey.adjustments:
        yield _adjustments(assessment.survey, numbers, wording)
    found = list(_checks(assessment))
    if found:
        yield _check_table(found, numbers, wording)


def _adjustments(survey: Survey, numbers: Numbers, wording: Wording) -> Table:
    def shown(amount: float | None) -> str:
        return NOTHING if amount is None else numbers.small(amount)

    return Table(
        caption=wording.word("adjustments"),
        columns=(
            Column(wording.word("roll"), "left"),
            Column(wording.word("bearing_side"), "left"),
            Column(wording.word("adjustment_up"), unit=numbers.small_signs()),
            Column(wording.word("adjustment_downstream"), unit=numbers.small_signs()),
        ),
        rows=tuple(
            (made.roll, wording.word(made.side), shown(made.up_mm), shown(made.downstream_mm))
            for made in survey.adjustments
        ),
    )


def _checks(assessment: Assessment) -> Iterator[tuple[str, AspectName, AdjustmentCheck]]:
    for index, result in enumerate(assessment.rolls):
        found = adjustment_checks(assessment, index)
        yield from ((result.id, name, found[name]) for name in ASPECTS if name in found)


def _read(found: list[tuple[str, AspectName, AdjustmentCheck]]) -> bool:
    """Whether every move that is checked states how well it was read."""
    moved = (check for _, _, check in found if any(check.reported_mm))
    return all(check.u_moves_mm_per_m is not None for check in moved)


def _check_table(
    found: list[tuple[str, AspectName, AdjustmentCheck]], numbers: Numbers, wording: Wording
) -> Table:
    keys = ("check_predicted", "check_measured", "difference", "expanded")
    return Table(
        caption=wording.word("adjustment_check", slope=numbers.slope_signs()),
        columns=(
            Column(wording.word("roll"), "left"),
            Column(wording.word("aspect"), "left"),
            *(Column(wording.word(key), unit=numbers.slope_signs()) for key in keys),
            Column(wording.word("agreement"), "left"),
        ),
        rows=tuple(
            (roll, wording.word(name), *check_cells(numbers, check), wording.word(check.result))
            for roll, name, check in found
        ),
        note=wording.word("adjustment_check_note", read=_read(found)),
        emphasis=frozenset(i for i, (_, _, check) in enumerate(found) if check.result == "differs"),
    )
