"""An assessment as text for a terminal: verdicts, tables, moves, fit."""

from textwrap import fill

from certgen.assessment.assessment import AspectName, Assessment
from certgen.certificate import moving, opening, proof, tables, uncertainty, web_margin
from certgen.certificate.content import Notice, Table, Verdicts
from certgen.certificate.doubt_words import marked
from certgen.certificate.numbers import numbers_for
from certgen.certificate.wording import Wording
from certgen.cli.text_table import text_table

_WIDTH = 100


def summary_text(assessment: Assessment, wording: Wording) -> str:
    """Return the results of a survey in the units and the words of its certificate."""
    numbers = numbers_for(assessment.survey, wording.digits)
    found = [table for name, _ in proof.surveyed(assessment) for table in _tables(assessment, name, wording)]
    sections = (
        moving.moves_section(assessment, numbers, wording),
        proof.network_section(assessment, numbers, wording),
    )
    web = web_margin.web_table(assessment, numbers, wording)
    found += [] if web is None else [web]
    found += [block for section in sections for block in section.blocks if isinstance(block, Table)]
    return "\n\n".join([*_opening(assessment, wording), *map(text_table, found)])


def _tables(assessment: Assessment, name: AspectName, wording: Wording) -> list[Table]:
    numbers = numbers_for(assessment.survey, wording.digits)
    adjacent = tables.adjacent_table(assessment, name, numbers, wording)
    results = tables.result_table(assessment.rolls, name, numbers, wording, marked(assessment, name))
    return [results] if adjacent is None else [results, adjacent]


def _opening(assessment: Assessment, wording: Wording) -> list[str]:
    """The verdicts, and under them what the proof puts in doubt."""
    survey = assessment.survey
    head = wording.word("number", number=survey.certificate.number, revision=survey.certificate.revision)
    blocks = opening.verdict_section(assessment, wording).blocks
    boxes = [box for block in blocks if isinstance(block, Verdicts) for box in block.boxes]
    notices = [block for block in blocks if isinstance(block, Notice)]
    titled = [(box.title, f"{box.verdict} ({box.detail})") for box in boxes]
    lines = [(head, survey.line.name), *titled]
    verdicts = "\n".join(wording.word("titled", title=title, text=text) for title, text in lines)
    conform = "\n".join(fill(text, _WIDTH) for text in uncertainty.all_conform_texts(assessment, wording))
    return [
        verdicts,
        *([conform] if conform else []),
        *("\n".join((one.title, *(fill(text, _WIDTH) for text in one.texts))) for one in notices),
    ]
