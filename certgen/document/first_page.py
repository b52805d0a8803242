"""Page one, which can be filed alone: verdicts, doubt, rolls that did not pass, what remains, who signs."""

from collections.abc import Iterator
from dataclasses import dataclass

from certgen.assessment.assessment import Assessment
from certgen.document import rolls_not_passed
from certgen.document.content import (
    Block,
    Figure,
    Paragraphs,
    Parties,
    Section,
    Signatures,
    VerdictBox,
    Verdicts,
    Verify,
)
from certgen.document.doubt_words import doubt_notice
from certgen.document.line_status import judged_in, verdict_box
from certgen.document.page_statements import statements
from certgen.document.survey_facts import dates_of_work
from certgen.wording.wording import Wording

_MOST_DRAWN = 30  # rolls beyond that are drawn on the pages after it only


@dataclass(frozen=True, slots=True)
class Fit:
    """What gives way where page one is full; nothing that failed ever vanishes, it is named at least.

    `plan`: the drawing shows plan and side view, else the side view alone; `drawing`: there is one at all;
    `worst`: one row per roll, its worst; `unmoved`: the rolls not measured again are listed; `rows`: the most
    rows of the table, the others named under it (None: all).
    """

    plan: bool = True
    worst: bool = False
    unmoved: bool = True
    drawing: bool = True
    rows: int | None = None


def fits() -> Iterator[Fit]:
    """Yield the fits of page one, the fullest first."""
    yield Fit()
    yield Fit(plan=False)
    yield Fit(plan=False, worst=True)
    yield Fit(plan=False, worst=True, unmoved=False)
    for rows in range(16, 5, -2):
        yield Fit(plan=False, worst=True, unmoved=False, rows=rows)
    for rows in range(16, -1, -2):
        yield Fit(plan=False, worst=True, unmoved=False, drawing=False, rows=rows)


def summary_section(
    assessment: Assessment, wording: Wording, fit: Fit | None = None, annexes: str = ""
) -> Section:
    """Return page one, the fullest where no fit is given; `annexes` says what is not printed, if so."""
    fit = fit or Fit()
    doubt = doubt_notice(assessment, wording)
    table = rolls_not_passed.table(assessment, wording, worst=fit.worst, most=fit.rows)
    first, later = statements(assessment, wording, unmoved=fit.unmoved, annexes=annexes)
    drawing = fit.drawing and len(assessment.rolls) <= _MOST_DRAWN
    blocks: list[Block] = [
        Parties(_parties(assessment, wording)),
        Verdicts(verdict_boxes(assessment, wording)),
        *([doubt] if doubt is not None else []),
        *([table] if table is not None else []),
        *([first] if first.pairs else []),
        *([Figure("outline" if fit.plan else "outline_small")] if drawing else []),
        later,
        _signatures(assessment, wording),
        Paragraphs(wording.paragraphs("closing")),
    ]
    return Section(wording.word("section_verdict"), tuple(blocks), one_page=True)


def verdict_boxes(assessment: Assessment, wording: Wording) -> tuple[VerdictBox, ...]:
    """Return the verdict on each round of which there was a survey, the last one with what is in doubt."""
    last = assessment.last_round
    return tuple(
        verdict_box(
            assessment.overall[which],
            judged_in(assessment, which),
            wording,
            in_doubt=assessment.in_doubt and which == last,
            only=assessment.one_round,
        )
        for which in assessment.surveyed
    )


def _parties(assessment: Assessment, wording: Wording) -> tuple[tuple[str, tuple[str, ...]], ...]:
    """Line, customer, contractor and dates (ISO/IEC 17025:2017, 7.8.2.1 b, c, e, i, j)."""
    survey, word = assessment.survey, wording.word
    where = tuple(part for part in (survey.line.asset, survey.line.location) if part)
    customer, contractor = survey.customer, survey.contractor
    order = (word("titled", title=word("order"), text=customer.order),) if customer.order else ()
    issued = word("titled", title=word("date_of_issue"), text=wording.date(survey.certificate.issued))
    return (
        (word("line"), (survey.line.name, *where)),
        (word("customer"), (customer.name, customer.address, customer.contact, *order)),
        (word("contractor"), (contractor.name, contractor.address, contractor.contact)),
        (word("dates_of_work"), (dates_of_work(survey, wording), issued)),
    )


def _signatures(assessment: Assessment, wording: Wording) -> Signatures:
    survey, word = assessment.survey, wording.word
    number, revision = survey.certificate.number, survey.certificate.revision
    identification = word("number", number=number, revision=revision)
    return Signatures(
        (
            (word("surveyed_by"), survey.contractor.surveyed_by),
            (word("approved_by"), survey.contractor.approved_by),
        ),
        word("date"),
        Verify(
            label=word("verify"),
            command="certgen verify",
            text=word("verify_text"),
            digest_label=word("survey_digest"),
            digest=survey.sha256,
            code=f"{identification}\nSHA-256 {survey.sha256}",
        ),
    )
