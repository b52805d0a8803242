"""What `certgen solve` prints: the results contract, or tables, with budgets and draws where wanted."""

from dataclasses import asdict
from math import isinf
from textwrap import fill

from certgen.assessment.assessment import AspectName, Assessment
from certgen.assessment.budgets import Compared, Propagation, RollBudget, roll_budgets
from certgen.cli.io.text_table import text_table
from certgen.document import (
    moves_section,
    network_quality,
    result_tables,
    uncertainty_section,
    web_margin,
)
from certgen.document.content import Column, Table
from certgen.document.doubt_words import doubt_notice
from certgen.document.first_page import verdict_boxes
from certgen.results.survey_results import Json, survey_results
from certgen.wording.values import Numbers, numbers_for
from certgen.wording.wording import Wording

_WIDTH = 100


def summary_text(assessment: Assessment, wording: Wording) -> str:
    """Return the results of a survey in the units and the words of its certificate."""
    numbers = numbers_for(assessment.survey, wording.digits)
    found = [
        table
        for name, _ in network_quality.surveyed(assessment)
        for table in _tables(assessment, name, wording)
    ]
    sections = (
        moves_section.moves_section(assessment, numbers, wording),
        network_quality.network_section(assessment, numbers, wording),
    )
    web = web_margin.web_table(assessment, numbers, wording)
    found += [] if web is None else [web]
    found += [block for section in sections for block in section.blocks if isinstance(block, Table)]
    # the verdicts, and under them what the proof puts in doubt
    survey = assessment.survey
    head = wording.word("number", number=survey.certificate.number, revision=survey.certificate.revision)
    notice, boxes = doubt_notice(assessment, wording), verdict_boxes(assessment, wording)
    notices = [notice] if notice is not None else []
    apart = wording.word("between_clauses")
    titled = [(box.title, f"{box.verdict} ({apart.join((box.sentence, *box.details))})") for box in boxes]
    lines = [(head, survey.line.name), *titled]
    verdicts = "\n".join(wording.word("titled", title=title, text=text) for title, text in lines)
    conform = "\n".join(
        fill(text, _WIDTH) for text in uncertainty_section.all_conform_texts(assessment, wording)
    )
    opening = [
        verdicts,
        *([conform] if conform else []),
        *("\n".join((one.title, *(fill(text, _WIDTH) for text in one.texts))) for one in notices),
    ]
    return "\n\n".join([*opening, *map(text_table, found)])


def _tables(assessment: Assessment, name: AspectName, wording: Wording) -> list[Table]:
    numbers = numbers_for(assessment.survey, wording.digits)
    adjacent = result_tables.adjacent_table(assessment, name, numbers, wording)
    results = result_tables.aspect_table(assessment, name, numbers, wording)
    return [results] if adjacent is None else [results, adjacent]


def as_data(assessment: Assessment, drawn: Propagation | None, *, budget: bool) -> Json:
    """Return the results contract, with budgets and draws as further keys where they are wanted."""
    found = survey_results(assessment)
    if budget:
        found["budgets"] = {
            name: [_budget(one) for one in roll_budgets(assessment, name)]
            for name, _ in network_quality.surveyed(assessment)
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
        section = uncertainty_section.decision_section(assessment, numbers, wording)
        parts += [text_table(block) for block in section.blocks if isinstance(block, Table)]
    if drawn is not None:
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
        draws = Table(caption, columns, tuple(_draw_row(one, numbers, wording) for one in drawn.slopes))
        parts.append(text_table(draws))
    return "\n\n".join(parts)


def _draw_row(one: Compared, numbers: Numbers, wording: Wording) -> tuple[str, ...]:
    aspect: AspectName = one.aspect
    ends = (one.drawn.low, one.drawn.high, one.low, one.high)
    shown = (numbers.slope(end, one.drawn.u) for end in ends)
    verdict = wording.word("agrees" if one.validated else "differs")
    return (one.roll, wording.word(aspect).lower(), wording.word(one.round).lower(), *shown, verdict)
