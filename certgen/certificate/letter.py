"""The hand-over letter: a few lines of plain text that go with the certificate."""

from collections.abc import Iterator
from html import unescape
from textwrap import fill

from certgen.assessment.assessment import ASPECTS, Assessment
from certgen.assessment.plan import plan_of
from certgen.assessment.rules import FAILING, SEVERITY
from certgen.certificate.numbers import joined
from certgen.certificate.opening import dates_of_work
from certgen.certificate.wording import Wording, unhyphenated

_WIDTH = 76


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
        doubt=any(doubts.any for doubts in assessment.doubts.values()),
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
