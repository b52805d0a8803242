"""A failed proof in words: the box on page one, what to read again, and which results bear the mark."""

import re
from collections.abc import Iterator, Sequence
from itertools import groupby

from certgen.assessment.assessment import ASPECTS, AspectName, Assessment
from certgen.assessment.doubt import Hold, seatings
from certgen.document.content import Notice
from certgen.network.equations import Label
from certgen.network.quality import Named
from certgen.network.reliability import seating_of
from certgen.network.suspects import Candidate
from certgen.results.network_results import unit_of_size
from certgen.survey.survey import ROUNDS, Round
from certgen.wording.values import Numbers, amount, first_of, joined, numbers_for, run_of, slope
from certgen.wording.wording import Wording

# the end of the path of a reading that is one of a list
_LISTED = re.compile(r"\[(\d+)\]$")

_MOST_SAID = 8  # contradictions of an aspect on page one; the proof lists all

Marks = frozenset[tuple[str, Round]]


def doubt_notice(assessment: Assessment, wording: Wording) -> Notice | None:
    """Return the box that says where the proof failed, None where it holds."""
    texts = tuple(_texts(assessment, wording))
    if not texts:
        return None
    rolls = list(_rolls_in_doubt(assessment, wording))
    settled = wording.word("doubt_settle")
    said = wording.word("doubt_rolls", list=_listed(rolls, wording)) if rolls else wording.word("doubt_none")
    return Notice(wording.word("doubt_title"), (*texts, said, settled))


def _texts(assessment: Assessment, wording: Wording) -> Iterator[str]:
    numbers = numbers_for(assessment.survey, wording.digits)
    for name, doubts in assessment.doubts.items():
        said = doubts.aspect.quality.named if doubts.every else ()
        most = _MOST_SAID if len(said) > _MOST_SAID + 1 else len(said)
        for named in said[:most]:
            yield _what(name, named, numbers, wording)
        if more := len(said) - most:
            section = wording.word("section_network")
            yield wording.word("doubt_more", aspect=wording.word(name), more=more, section=section)
        if doubts.too_large is not None:
            factor = wording.digits.fixed(doubts.too_large, 1)
            yield wording.word("doubt_whole", aspect=wording.word(name), factor=factor)


def _what(name: AspectName, named: Named, numbers: Numbers, wording: Wording) -> str:
    candidates = named.suspect.candidates
    return wording.word(
        "doubt_what",
        aspect=wording.word(name),
        many=len(candidates) > 1,
        list=first_of([candidate_text(one, wording) for one in candidates], wording, _apart(wording)),
        size=_size(candidates[0], numbers),
        cause=f" {wording.word('or')} ".join(_causes(named, wording)),
    )


def _causes(named: Named, wording: Wording) -> Iterator[str]:
    """What would explain it, each with the reading that it explains where there are several."""
    candidates = named.suspect.candidates
    for one, cause in zip(candidates, named.causes, strict=True):
        if cause is not None and cause not in {"monument", "setup"}:
            text = wording.word(f"cause {cause}")
            titled = wording.word("titled", title=candidate_text(one, wording), text=text)
            yield titled if len(candidates) > 1 else text


def _size(one: Candidate, numbers: Numbers) -> str:
    as_slope = unit_of_size(one) == "mm_per_m"
    return slope(numbers, abs(one.blunder), signed=False) if as_slope else amount(numbers, one.blunder)


def _rolls_in_doubt(assessment: Assessment, wording: Wording) -> Iterator[str]:
    """The rolls of each aspect, three or more that follow each other as first and last."""
    for name in ASPECTS:
        found = {roll for roll, _ in marked(assessment, name)}
        runs = [
            [roll.id for roll in group]
            for doubtful, group in groupby(assessment.rolls, key=lambda roll: roll.id in found)
            if doubtful
        ]
        texts = [text for run in runs for text in run_of(run)]
        if texts:
            listed = first_of(texts, wording)
            yield wording.word("titled", title=wording.inline(name), text=listed)


def marked(assessment: Assessment, name: AspectName) -> Marks:
    """Return the rolls and rounds whose result of an aspect is in doubt."""
    doubts = assessment.doubts.get(name)
    if doubts is None:
        return frozenset()
    states = (
        (roll.id, which, roll.aspect(name).in_round(which)) for roll in assessment.rolls for which in ROUNDS
    )
    return frozenset((roll, which) for roll, which, state in states if doubts.casts(roll, which, state))


def read_again_text(hold: Hold, wording: Wording) -> str:
    """Return what has to be read again before a move, the most likely first."""
    names = dict.fromkeys(candidate_text(one.candidate, wording) for one in hold.doubts)
    return first_of(list(names), wording, _apart(wording))


def _apart(wording: Wording) -> str:
    """What stands between texts that hold commas of their own."""
    return wording.word("sheet_apart")


def _listed(texts: Sequence[str], wording: Wording) -> str:
    return _apart(wording).join(texts)


def candidate_text(one: Candidate, wording: Wording) -> str:
    """Return what may have happened: a reading by its place, a monument or a setup that may have moved."""
    label = seating_of(one.readings[0]) if one.kind == "seating" else one.readings[0]
    if one.kind == "setup moved":
        return wording.word("candidate_setup", setup=label.setup)
    if one.kind == "monument moved":
        return wording.word("candidate_monument", monument=label.monument, when=_when(one, wording))
    if "monument moved" in one.kinds:
        reading = reading_text(label, wording)
        return wording.word("candidate_or_moved", reading=reading, when=_when(one, wording))
    return reading_text(label, wording)


def _when(one: Candidate, wording: Wording) -> str:
    before, after = one.between or (None, None)
    if before is None:
        return wording.word("moved_before", after=after)
    key = "moved_during" if before == after else "moved_between"
    return wording.word(key, before=before, after=after)


def readings_text(labels: Sequence[Label], wording: Wording) -> str:
    """Return readings in words, both ends of a seating as one."""
    return _listed([reading_text(label, wording) for label in seatings(labels)], wording)


def gathered_text(labels: Sequence[Label], wording: Wording) -> str:
    """Return many readings in words: what was read of which rolls and monuments, by setup and round."""
    places: dict[str, dict[str, None]] = {}
    for label in labels:
        setup = "" if label.setup is None else f"{wording.inline('setup')} {label.setup}"
        which = "" if label.round is None else wording.inline(label.round)
        place = joined(part for part in (setup, which) if part)
        places.setdefault(place, {})[label.roll or label.monument or ""] = None
    texts = [wording.word("titled", title=place, text=joined(names)) for place, names in places.items()]
    return _listed(texts, wording)


def reading_text(label: Label, wording: Wording) -> str:
    """Return a reading in words: setup, roll or monument, side, round, and which one of several."""
    if label.source == "prior":
        return wording.word("candidate_stated", source=wording.word(f"source_{label.side}"))
    setup = "" if label.setup is None else f"{wording.inline('setup')} {label.setup}"
    side = "" if label.side is None else wording.word(label.side)
    which = "" if label.round is None else wording.inline(label.round)
    again = _LISTED.search(label.where)
    number = "" if again is None else wording.word("reading_number", number=int(again[1]) + 1)
    parts = (setup, label.roll or label.monument or "", side, which, number)
    return joined(part for part in parts if part)
