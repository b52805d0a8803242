"""The content of a certificate, every section in reading order, and the letter that hands it over."""

from collections.abc import Collection, Iterator, Sequence
from dataclasses import replace
from html import unescape
from itertools import chain
from textwrap import fill

from certgen.assessment.assessment import ASPECTS, Assessment
from certgen.assessment.rules import FAILING, SEVERITY
from certgen.document import (
    figure_tables,
    first_page,
    moves_section,
    network_quality,
    readings_annex,
    result_tables,
    statements,
    survey_facts,
    uncertainty_section,
    web_margin,
)
from certgen.document.content import Block, Content, Figure, Paragraphs, Section, Statements
from certgen.document.first_page import fits
from certgen.document.survey_facts import dates_of_work
from certgen.errors import WrongUsage
from certgen.moves.plan import plan_of
from certgen.wording.values import Numbers, joined, numbers_for
from certgen.wording.wording import Wording, unhyphenated

ANNEXES = "ABCDEFGH"
_WIDTH = 76


def compose(
    assessment: Assessment, wording: Wording, *, annexes: Collection[str] = ANNEXES, draft: bool = False
) -> Content:
    """Return everything the certificate says, in order, as records; `annexes` are the letters wanted."""
    return next(contents(assessment, wording, annexes=annexes, draft=draft))


def contents(
    assessment: Assessment, wording: Wording, *, annexes: Collection[str] = ANNEXES, draft: bool = False
) -> Iterator[Content]:
    """Yield the certificate with page one full, then with less and less on it, as page one may give way."""
    survey, head = assessment.survey, assessment.survey.certificate
    title = "title_one_round" if assessment.one_round else "title"
    every = [_titled(section, wording) for section in _annexes(assessment, wording)]
    wanted = [section for section in every if section.annex in annexes]
    absent = [section for section in every if section.annex not in annexes]
    said = _absent(absent, wording)
    after = (*_body(assessment, wording), *wanted)
    whole = Content(
        title=wording.word(title),
        identification=wording.word("number", number=head.number, revision=head.revision),
        contractor=survey.contractor.name,
        author=survey.contractor.name,
        language=wording.language,
        sections=after,
        end=wording.word("end", number=head.number, revision=head.revision),
        letterhead=wording.look.letterhead,
        draft=wording.word("draft") if draft else "",
    )
    for fit in fits():
        first = first_page.summary_section(assessment, wording, fit, said)
        yield replace(whole, sections=(first, *after))


def annex_letters(text: str) -> str:
    """Return the letters that are asked for: "none", "all" or letters with commas; WrongUsage otherwise."""
    if text.strip().lower() in {"none", "all"}:
        return ANNEXES if text.strip().lower() == "all" else ""
    letters = [part.strip().upper() for part in text.split(",") if part.strip()]
    wrong = [letter for letter in letters if letter not in ANNEXES or len(letter) != 1]
    if wrong or not letters:
        known = ", ".join(ANNEXES)
        raise WrongUsage(f"There is no annex {', '.join(wrong)}; write none, all, or some of {known}.")
    return "".join(sorted(set(letters)))


def _titled(section: Section, wording: Wording) -> Section:
    """An annex under its letter, beginning with what it is for."""
    head = wording.word("annex_title", letter=section.annex, title=section.title)
    about = () if section.annex in "BE" else (Paragraphs((wording.word(f"about {section.annex}"),)),)
    return replace(section, annex_title=head, blocks=(*about, *section.blocks))


def _absent(sections: Sequence[Section], wording: Wording) -> str:
    """The annexes that are not printed; what they show is inside the file all the same."""
    titles = joined(f"{section.annex} ({section.title})" for section in sections)
    return wording.word("annexes_absent", list=titles) if titles else ""


def _body(assessment: Assessment, wording: Wording) -> Iterator[Section]:
    """Three or four pages: the line drawn, results, moves, how it was measured, safety."""
    survey, numbers = assessment.survey, numbers_for(assessment.survey, wording.digits)
    yield Section(wording.word("section_diagram"), (Figure("line"),))
    yield _results_section(assessment, numbers, wording)
    yield moves_section.moves_section(assessment, numbers, wording)
    yield statements.instruments_section(survey, wording)
    yield statements.method_section(assessment, wording)
    yield statements.notes_section(survey, wording)
    yield statements.safety_section(wording)


def _results_section(assessment: Assessment, numbers: Numbers, wording: Wording) -> Section:
    tables = (
        result_tables.aspect_table(assessment, name, numbers, wording)
        for name, _ in network_quality.surveyed(assessment)
    )
    return Section(wording.word("section_results"), tuple(tables))


def _annexes(assessment: Assessment, wording: Wording) -> Iterator[Section]:
    """The annexes under their letters; one that has nothing to show is not there."""
    survey, numbers = assessment.survey, numbers_for(assessment.survey, wording.digits)
    adjacent = [
        table
        for name in ASPECTS
        if (table := result_tables.adjacent_table(assessment, name, numbers, wording)) is not None
    ]
    if adjacent:
        yield Section(wording.word("section_adjacent"), tuple(adjacent), "A")
    yield _figures_section(assessment, numbers, wording)
    yield replace(network_quality.network_section(assessment, numbers, wording), annex="C")
    yield replace(uncertainty_section.decision_section(assessment, numbers, wording), annex="D")
    readings = tuple(readings_annex.readings_blocks(assessment, wording))
    yield Section(wording.word("section_readings"), readings, "E")
    tolerances = survey_facts.tolerance_statements(survey, wording)
    rolls = survey_facts.roll_table(survey, numbers, wording)
    web = chain.from_iterable(
        (Statements(((one.title, ""),)), *one.blocks)
        for one in web_margin.web_sections(assessment, numbers, wording)
    )
    yield Section(wording.word("section_rolls"), (tolerances, rolls, *web), "F")
    yield replace(statements.checklist_section(survey, wording), annex="H")


def _figures_section(assessment: Assessment, numbers: Numbers, wording: Wording) -> Section:
    blocks: list[Block] = [Paragraphs((wording.word("figures_intro", slope=numbers.slope_signs()),))]
    for name, _ in network_quality.surveyed(assessment):
        blocks.append(figure_tables.figures_table(assessment, name, numbers, wording))
    blocks.append(Figure("plot"))
    return Section(wording.word("section_figures"), tuple(blocks), "B")


def letter_text(assessment: Assessment, wording: Wording) -> str:
    """Return the letter, ending in a line break; nothing in it is of the moment."""
    survey = assessment.survey
    sender = wording.look.letterhead or (
        survey.contractor.name,
        survey.contractor.address,
        survey.contractor.contact,
    )
    blocks = [
        "\n".join(sender),
        "\n".join((survey.customer.name, survey.customer.address, survey.customer.contact)),
        wording.date(survey.certificate.issued),
        fill(_subject(assessment, wording), _WIDTH),
        wording.word("letter_greeting"),
        *_paragraphs(assessment, wording),
        wording.word("letter_close"),
        f"{survey.contractor.surveyed_by}\n{survey.contractor.name}",
    ]
    return unhyphenated("\n\n".join(blocks)) + "\n"


def _subject(assessment: Assessment, wording: Wording) -> str:
    head = assessment.survey.certificate
    name = assessment.survey.line.name
    return wording.word("letter_subject", number=head.number, revision=head.revision, line=name)


def _paragraphs(assessment: Assessment, wording: Wording) -> Iterator[str]:
    survey, head = assessment.survey, assessment.survey.certificate
    failing, judged = list(_failing(assessment, wording)), len(list(_judged(assessment)))
    texts = wording.paragraphs(
        "letter",
        number=head.number,
        revision=head.revision,
        line=survey.line.name,
        asset=survey.line.asset,
        order=survey.customer.order,
        dates=dates_of_work(survey, wording),
        found=wording.word(assessment.overall["as_found"]),
        left=wording.word(assessment.overall["as_left"]),
        outside=len(failing),
        judged=judged,
        rule=wording.word(survey.decision),
        failing=joined(failing),
        moves=bool(plan_of(assessment).moving),
        unmeasured=joined(f"{one.roll} ({wording.inline(one.aspect)})" for one in assessment.unread),
        surveyed_left="as_left" in assessment.surveyed,
        doubt=assessment.in_doubt,
    )
    for text in texts:
        yield fill(unescape(text.striptags()), _WIDTH)


def _judged(assessment: Assessment) -> Iterator[tuple[str, str, str]]:
    """Who, in what, and the verdict as left; as found where nothing was read as left."""
    last = assessment.last_round
    for name in ASPECTS:
        yield from (
            (roll.id, name, verdict)
            for roll in assessment.rolls
            if (verdict := roll.aspect(name).verdict(last)) in SEVERITY
        )
        for pair in assessment.adjacent:
            if last in pair.aspect(name):
                yield f"{pair.from_} – {pair.to}", name, pair.aspect(name)[last].verdict


def _failing(assessment: Assessment, wording: Wording) -> Iterator[str]:
    for who, name, verdict in _judged(assessment):
        if verdict in FAILING:
            yield f"{who} ({wording.inline(name)})"
