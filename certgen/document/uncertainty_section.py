"""The decision rule in words with its risk, and the uncertainty budgets."""

from collections.abc import Iterator
from itertools import groupby
from math import isinf

from scipy.special import ndtr

from certgen.assessment.assessment import AspectName, Assessment
from certgen.assessment.budgets import RollBudget, roll_budgets
from certgen.document.content import Block, Column, Paragraphs, Section, Table
from certgen.document.network_quality import surveyed
from certgen.network.shared_errors import OTHER
from certgen.network.uncertainty import Share
from certgen.wording.rounding import NOTHING, UnitSet, risk_percents, significant
from certgen.wording.values import Numbers, stated
from certgen.wording.wording import Wording

# Sources that are lengths, so that their sensitivity is per metre, and that is a share; others are slopes.
_LENGTHS = frozenset({"reading", "repeatability", "seating", "run_out"})
_SHARE = "scale"


def decision_section(assessment: Assessment, numbers: Numbers, wording: Wording) -> Section:
    """Return uncertainty and decision rule in words with its risk, and the budgets of every roll."""
    coverage, digits = assessment.survey.uncertainty.coverage, numbers.digits
    texts = wording.paragraphs(
        "decision",
        rule=assessment.survey.decision,
        k=digits.plain(assessment.coverage_factor, 3),
        probability=None if coverage.probability is None else digits.plain(100.0 * coverage.probability, 2),
        varies=_k_varies(assessment),
        risk=digits.percent(float(ndtr(-assessment.coverage_factor))),
    )
    blocks: list[Block] = [Paragraphs((*texts, *all_conform_texts(assessment, wording)))]
    for name, _ in surveyed(assessment):
        budgets = roll_budgets(assessment, name)
        if budgets:
            blocks.append(
                _detail(name, max(budgets, key=lambda one: float(significant(one.u, 9))), (numbers, wording))
            )
            blocks.append(_overview(name, budgets, numbers, wording))
    return Section(wording.word("section_decision"), tuple(blocks))


def all_conform_texts(assessment: Assessment, wording: Wording) -> Iterator[str]:
    """Yield, for each round of which two or more results pass, how probable it is that all conform.

    It takes the readings as they are; where they contradict each other, that is said after it.
    """
    digits, counted = wording.digits, False
    for which, one in assessment.passes.items():
        if which not in assessment.surveyed or one is None or one.count < 2:
            continue
        risk, conform = (digits.written(text) for text in risk_percents(one.any_outside))
        single = digits.written(risk_percents(one.largest_risk)[0])
        counted = True
        yield wording.word(
            "all_conform", round=wording.word(which), count=one.count, p=conform, risk=risk, single=single
        )
    if counted and assessment.in_doubt:
        yield wording.word("all_conform_doubt")


def _k_varies(assessment: Assessment) -> bool:
    states = (roll.aspect(name).standing for roll in assessment.rolls for name, _ in surveyed(assessment))
    return any(state is not None and state.dof is not None for state in states)


def _detail(name: AspectName, one: RollBudget, means: tuple[Numbers, Wording]) -> Table:
    """The budget of the roll with the largest u, source by source."""
    numbers, wording = means
    columns = (
        Column(wording.word("source"), "left", share=1.7),
        Column(wording.word("stated_as"), "left", share=2.0),
        Column(wording.word("distribution"), "left", share=1.2),
        Column("u", share=1.0),
        Column(wording.word("sensitivity"), share=1.1),
        Column(f"{wording.word('contribution')}, {numbers.slope_signs()}", share=1.3),
        Column(wording.word("share"), share=0.8),
        Column(wording.word("freedom"), share=0.9),
    )
    rows = tuple(_source(share, means) for share in one.shares)
    dof = NOTHING if isinf(one.dof) else numbers.digits.fixed(one.dof, 1)
    whole = f"{numbers.digits.fixed(100.0, 1)} %"
    combined = (wording.word("combined"), "", "", "", "", _slope_u(one.u, numbers), whole, dof)
    which = wording.word("budget_of", aspect=wording.inline(name), roll=one.roll)
    title = wording.word("titled", title=wording.word("budget"), text=which)
    return Table(title, columns, (*rows, combined))


def _source(share: Share, means: tuple[Numbers, Wording]) -> tuple[str, ...]:
    numbers, wording = means
    said, drift = share.said, share.source == "drift"
    by = wording.word("stated_by_checks" if drift else "stated_for_each")
    shape = "rectangular" if drift else "several_shapes"
    return (
        _named(share.source, wording),
        stated(said.stated, wording) if said is not None and said.stated else by,
        wording.word(shape if said is None else said.distribution),
        _input_u(share, numbers, wording),
        numbers.digits.significant(share.sensitivity, 3),
        _slope_u(share.u, numbers),
        f"{numbers.digits.fixed(100.0 * share.part, 1)} %",
        NOTHING if isinf(share.dof) else numbers.digits.fixed(share.dof, 0),
    )


def _overview(name: AspectName, budgets: list[RollBudget], numbers: Numbers, wording: Wording) -> Table:
    """What each source contributes to every roll, and what they come to; neighbours alike are joined."""
    sources = list(dict.fromkeys(share.source for one in budgets for share in one.shares))
    group = f"{wording.word('contribution')}, {numbers.slope_signs()}"
    columns = (
        Column(wording.word("roll"), "left", share=1.0),
        *(Column(_named(source, wording), group=group) for source in sources),
        Column(wording.word("combined"), group=group),
        Column("k", share=0.7),
    )
    rows: list[tuple[str, ...]] = []
    for _, alike in groupby((_roll(one, sources, numbers) for one in budgets), key=lambda row: row[1:]):
        found = list(alike)
        first, last = found[0][0], found[-1][0]
        who = first if len(found) == 1 else f"{first} {NOTHING} {last}"
        rows.append((f"{first}, {last}" if len(found) == 2 else who, *found[0][1:]))
    return Table(wording.word("budgets", aspect=wording.word(name)), columns, tuple(rows))


def _roll(one: RollBudget, sources: list[str], numbers: Numbers) -> tuple[str, ...]:
    by_source = {share.source: share.u for share in one.shares}
    parts = (_slope_u(by_source[s], numbers) if s in by_source else NOTHING for s in sources)
    return (one.roll, *parts, _slope_u(one.u, numbers), numbers.digits.fixed(one.k, 2))


def _slope_u(u: float, numbers: Numbers) -> str:
    return numbers.lines(lambda units: significant(u * units.slope.per_engine_unit, 2))


def _named(source: str, wording: Wording) -> str:
    """A source in words; what the survey adds goes by the name it has there."""
    return source.removeprefix(OTHER) if source.startswith(OTHER) else wording.word(f"source_{source}")


def _input_u(share: Share, numbers: Numbers, wording: Wording) -> str:
    """The uncertainty with which a source enters a reading; one text, for its unit differs by row."""
    if share.source == _SHARE:
        return f"{numbers.digits.significant(100.0 * share.input_u, 2)} %"

    def shown(units: UnitSet) -> str:
        unit = units.small if share.source in _LENGTHS else units.slope
        return f"{significant(share.input_u * unit.per_engine_unit, 2)} {unit.sign}"

    texts = (numbers.digits.written(shown(units)) for units in numbers.units)
    return wording.word("between_clauses").join(texts)
