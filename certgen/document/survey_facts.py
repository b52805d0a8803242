"""What the survey states of the work and the line: days, reference, tolerances of the order, rolls."""

from certgen.assessment.assessment import ASPECTS, AspectName
from certgen.document.content import Column, Statements, Table
from certgen.survey.survey import Roll, Survey
from certgen.wording.values import Numbers, joined, run_of, stated
from certgen.wording.wording import Wording


def dates_of_work(survey: Survey, wording: Wording) -> str:
    """Return the day or the days of the work."""
    first, last = wording.date(survey.visit.started), wording.date(survey.visit.finished)
    return (
        wording.word("one_day", day=first) if first == last else wording.word("days", first=first, last=last)
    )


def reference_text(survey: Survey, wording: Wording) -> str:
    """Return what parallel is measured against."""
    if survey.reference.roll is None:
        return wording.word("reference_line", ids=joined(survey.reference.monuments))
    name = next(roll.name for roll in survey.rolls if roll.id == survey.reference.roll)
    return wording.word("reference_roll", id=survey.reference.roll, name=name)


def tolerances(survey: Survey, wording: Wording) -> list[tuple[str, str]]:
    """Return what each tolerance is on and how it was stated, with its rolls where they differ."""
    names: tuple[AspectName | str, ...] = (*ASPECTS, "adjacent")
    return [(name, text) for name in names if (text := _stated(survey, name, wording))]


def tolerance_statements(survey: Survey, wording: Wording) -> Statements:
    """Return each tolerance as it was stated, under its title."""
    return Statements(tuple((wording.word(name), text) for name, text in tolerances(survey, wording)))


def _stated(survey: Survey, name: str, wording: Wording) -> str:
    groups: dict[str, list[str]] = {}
    for roll in survey.rolls:
        limit = {"level": roll.level_limit, "parallel": roll.parallel_limit}.get(name, roll.adjacent_limit)
        if limit is not None:
            groups.setdefault(stated(limit.stated, wording), []).append(roll.id)
    if len(groups) == 1:
        return next(iter(groups))
    return wording.word("between_clauses").join(
        wording.word("tolerance_per_roll", stated=text, rolls=_run(ids, survey))
        for text, ids in groups.items()
    )


def _run(ids: list[str], survey: Survey) -> str:
    """Rolls in running text, three or more that follow each other in the line as first and last."""
    order = {roll.id: place for place, roll in enumerate(survey.rolls)}
    runs: list[list[str]] = []
    for roll in ids:
        if runs and order[roll] == order[runs[-1][-1]] + 1:
            runs[-1].append(roll)
        else:
            runs.append([roll])
    return joined(text for run in runs for text in run_of(run))


def roll_table(survey: Survey, numbers: Numbers, wording: Wording) -> Table:
    """Return the rolls of the line with their dimensions."""
    keys = ("station", "height", "diameter", "face", "bearings")
    dimensions = [Column(wording.word(key), group=numbers.dimension_signs()) for key in keys]
    return Table(
        caption=wording.word("table_rolls"),
        columns=(
            Column(wording.word("roll"), "left", share=0.7),
            Column(wording.word("name"), "left", share=2.6),
            *dimensions,
            Column(wording.word("adjustable"), "left", share=1.3),
        ),
        rows=tuple(_roll_row(roll, numbers, wording) for roll in survey.rolls),
    )


def _roll_row(roll: Roll, numbers: Numbers, wording: Wording) -> tuple[str, ...]:
    sizes = (roll.station_mm, roll.height_mm, roll.diameter_mm, roll.face_mm, roll.bearings_mm)
    return (roll.id, roll.name, *(numbers.dimension(size) for size in sizes), wording.word(roll.adjustable))
