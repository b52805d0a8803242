"""What `certgen solve` prints: the results contract, or tables, with budgets and draws where wanted."""

from dataclasses import asdict
from math import isinf

from certgen.assessment.assessment import AspectName, Assessment
from certgen.assessment.budgets import RollBudget, roll_budgets
from certgen.assessment.propagation import Compared, Propagation
from certgen.assessment.results import Json, results
from certgen.certificate import proof, uncertainty
from certgen.certificate.content import Column, Table
from certgen.certificate.numbers import Numbers, numbers_for
from certgen.certificate.wording import Wording
from certgen.cli.summary import summary_text
from certgen.cli.text_table import text_table


def as_data(assessment: Assessment, drawn: Propagation | None, *, budget: bool) -> Json:
    """Return the results contract, with budgets and draws as further keys where they are wanted."""
    found = results(assessment)
    if budget:
        found["budgets"] = {
            name: [_budget(one) for one in roll_budgets(assessment, name)]
            for name, _ in proof.surveyed(assessment)
        }
    if drawn is not None:
        slopes = [_drawn(one) for one in drawn.slopes]
        found["monte_carlo"] = {**asdict(drawn), "slopes": slopes}
    return found


def _budget(one: RollBudget) -> Json:
    shares = [{**asdict(share), "dof": None if isinf(share.dof) else share.dof} for share in one.shares]
    return {
        "roll": one.roll,
        "u_mm_per_m": one.u,
        "k": one.k,
        "dof": None if isinf(one.dof) else one.dof,
        "sources": shares,
    }


def _drawn(one: Compared) -> Json:
    return {
        "roll": one.roll,
        "aspect": one.aspect,
        "round": one.round,
        "mean_mm_per_m": one.drawn.mean,
        "u_mm_per_m": one.drawn.u,
        "interval_mm_per_m": [one.drawn.low, one.drawn.high],
        "linear_interval_mm_per_m": [one.low, one.high],
        "validated": one.validated,
    }


def as_text(assessment: Assessment, drawn: Propagation | None, wording: Wording, *, budget: bool) -> str:
    """Return the tables for people."""
    numbers = numbers_for(assessment.survey, wording.digits)
    parts = [summary_text(assessment, wording)]
    if budget:
        section = uncertainty.decision_section(assessment, numbers, wording)
        parts += [text_table(block) for block in section.blocks if isinstance(block, Table)]
    if drawn is not None:
        parts.append(text_table(_draws(drawn, numbers, wording)))
    return "\n\n".join(parts)


def _draws(drawn: Propagation, numbers: Numbers, wording: Wording) -> Table:
    interval, linear = wording.word("interval_drawn"), wording.word("interval_linear")
    low, high = wording.word("low"), wording.word("high")
    columns = (
        Column(wording.word("roll"), "left"),
        Column("", "left"),
        Column("", "left"),
        Column(low, group=interval),
        Column(high, group=interval),
        Column(low, group=linear),
        Column(high, group=linear),
        Column(wording.word("agree"), "left"),
    )
    percent = wording.digits.plain(100.0 * drawn.probability, 2)
    caption = wording.word(
        "draws", trials=drawn.trials, seed=drawn.seed, percent=percent, unit=numbers.slope_signs()
    )
    return Table(caption, columns, tuple(_draw_row(one, numbers, wording) for one in drawn.slopes))


def _draw_row(one: Compared, numbers: Numbers, wording: Wording) -> tuple[str, ...]:
    aspect: AspectName = one.aspect
    ends = (one.drawn.low, one.drawn.high, one.low, one.high)
    shown = (numbers.slope(end, one.drawn.u) for end in ends)
    verdict = wording.word("agrees" if one.validated else "differs")
    return (one.roll, wording.word(aspect).lower(), wording.word(one.round).lower(), *shown, verdict)
