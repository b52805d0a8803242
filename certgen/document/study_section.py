"""The reference study in words and as a table, the cheapest reference first."""

from certgen.document.content import Column, Table
from certgen.reference_study.study import Candidate, Study
from certgen.wording.rounding import UnitSet, fixed
from certgen.wording.values import Numbers, joined
from certgen.wording.wording import Wording


def candidate_name(candidate: Candidate, study: Study, wording: Wording) -> str:
    """Return what a candidate is called in running text."""
    if candidate.kind == "roll":
        name = next(roll.name for roll in study.survey.rolls if roll.id == candidate.id)
        return wording.word("reference_roll", id=candidate.id, name=name)
    if candidate.kind == "line":
        return wording.word("reference_line", ids=joined(study.survey.reference.monuments))
    return wording.word("study_free")


def study_table(study: Study, numbers: Numbers, wording: Wording) -> Table:
    """Return the candidates with their costs; the row of the present reference is set bold."""
    signs = {"slope": numbers.slope_signs(), "small": numbers.small_signs()}
    return Table(
        caption=wording.word("study_table"),
        columns=_columns(signs, wording),
        rows=tuple(_row(candidate, study, (numbers, wording)) for candidate in study.candidates),
        note=wording.word("study_note", **signs),
        emphasis=frozenset(i for i, candidate in enumerate(study.candidates) if candidate.present),
    )


def _columns(signs: dict[str, str], wording: Wording) -> tuple[Column, ...]:
    moves = wording.word("study_moves", unit=signs["small"])
    return (
        Column(wording.word("study_reference"), "left", share=3.6),
        Column(wording.word("study_direction", unit=signs["slope"]), share=1.2),
        Column(wording.word("study_judged"), share=0.8),
        Column(wording.word("study_outside"), share=0.8),
        Column(wording.word("study_stay"), share=0.8),
        Column(wording.word("study_moved"), share=0.8),
        Column(wording.word("study_total"), group=moves),
        Column(wording.word("study_largest"), group=moves),
    )


def _row(candidate: Candidate, study: Study, means: tuple[Numbers, Wording]) -> tuple[str, ...]:
    numbers, wording = means
    cost, name = candidate.cost, candidate_name(candidate, study, wording)
    return (
        wording.word("study_present", name=name) if candidate.present else name,
        direction(candidate.direction_mm_per_m, numbers),
        str(candidate.judged),
        str(len(cost.outside)),
        str(len(cost.stuck)),
        str(len(cost.moved)),
        numbers.small(cost.total_move_mm, signed=False),
        numbers.small(cost.largest_move_mm, signed=False),
    )


def direction(value_mm_per_m: float, numbers: Numbers) -> str:
    """Return a direction: to 0.001 mm/m or 0.01 thou/ft, a line for each unit system."""
    return numbers.lines(lambda units: direction_in(units, value_mm_per_m))


def direction_in(units: UnitSet, value_mm_per_m: float) -> str:
    """Return a direction in one unit system."""
    return fixed(value_mm_per_m * units.slope.per_engine_unit, 3 if units.name == "mm" else 2, signed=True)


def study_conclusion(study: Study, numbers: Numbers, wording: Wording) -> tuple[str, ...]:
    """Return what the study comes to: the present reference, the cheapest roll, the free direction."""
    present, roll, free = study.present, study.cheapest_roll, study.free
    texts = [_sentence("study_says_present", present, study, (numbers, wording))]
    if roll is not None and roll.cost.rank < present.cost.rank:
        texts.append(_sentence("study_says_roll", roll, study, (numbers, wording)))
    else:
        texts.append(wording.word("study_says_no_roll"))
    if free.cost.rank < present.cost.rank:
        texts.append(_sentence("study_says_free", free, study, (numbers, wording)))
    else:
        texts.append(wording.word("study_says_no_free"))
    return tuple(texts)


def _sentence(key: str, candidate: Candidate, study: Study, means: tuple[Numbers, Wording]) -> str:
    numbers, wording = means
    cost = candidate.cost
    return wording.word(
        key,
        name=candidate_name(candidate, study, wording),
        direction=_inline(direction(candidate.direction_mm_per_m, numbers), numbers.slope_signs()),
        costs=wording.word(
            "study_costs",
            judged=candidate.judged,
            outside=len(cost.outside),
            stuck=joined(cost.stuck),
            moved=len(cost.moved),
            total=_inline(numbers.small(cost.total_move_mm, signed=False), numbers.small_signs()),
            largest=_inline(numbers.small(cost.largest_move_mm, signed=False), numbers.small_signs()),
        ),
    )


def _inline(lines: str, signs: str) -> str:
    """Return a value in running text: "0.12 mm", or "0.12 mm (4.7 thou)" where both systems are printed."""
    first, *others = [
        f"{value} {sign}" for value, sign in zip(lines.split("\n"), signs.split(" / "), strict=True)
    ]
    return f"{first} ({', '.join(others)})" if others else first
