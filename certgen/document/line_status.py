"""How the line stood in a round, counted in rolls: the sentence of the verdict and what stands under it."""

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass

from certgen.assessment.assessment import ASPECTS, AspectName, Assessment, Measured, RollResult
from certgen.assessment.rules import FAILING, PASSING, SEVERITY
from certgen.document.content import VerdictBox
from certgen.survey.edition import FIRST
from certgen.survey.survey import Round
from certgen.wording.values import first_of, joined
from certgen.wording.wording import Wording

_MOST_NAMED = 8  # of what is missing, or of pairs; the statements below name all


@dataclass(frozen=True, slots=True)
class Judged:
    """What a verdict on a round counts: rolls, the verdicts on pairs, and what is missing of which aspect.

    `pairs` are the verdicts with the name of the pair.
    """

    round: Round
    rolls: Sequence[RollResult]
    pairs: Sequence[tuple[str, str]]
    missing: Sequence[tuple[str, AspectName]]

    def verdicts(self, name: AspectName | None = None) -> list[str]:
        """Return the verdicts that are for or against a roll, of one aspect or both; pairs are not rolls."""
        names = ASPECTS if name is None else (name,)
        return [one for roll in self.rolls for one in self.of(roll, names)]

    def of(self, roll: RollResult, names: Sequence[AspectName] = ASPECTS) -> list[str]:
        """Return the verdicts on a roll that are for or against it."""
        found = (roll.aspect(name).verdict(self.round) for name in names)
        return [one for one in found if one in SEVERITY]

    @property
    def judged(self) -> list[RollResult]:
        """The rolls that are judged, and those that would be had they been measured."""
        short = {roll for roll, _ in self.missing}
        return [roll for roll in self.rolls if roll.id in short or self.of(roll)]

    @property
    def short(self) -> list[RollResult]:
        """The rolls that do not plainly pass in all that they were measured in."""
        return [roll for roll in self.rolls if any(one != SEVERITY[0] for one in self.of(roll))]

    def beyond(self, roll: RollResult) -> bool:
        """Whether the error of a roll is larger than its limit by more than U, in level or in parallel."""
        states = (roll.aspect(name).in_round(self.round) for name in ASPECTS)
        return any(state is not None and _beyond(state) for state in states)


def _beyond(state: Measured) -> bool:
    return state.verdict in FAILING and abs(state.error_mm_per_m) > state.limit_mm_per_m + state.U_mm_per_m


def judged_in(assessment: Assessment, which: Round) -> Judged:
    """Return what the verdict on a round of a survey counts."""
    states = (
        (f"{pair.from_} \N{EN DASH} {pair.to}", pair.aspect(name).get(which))
        for pair in assessment.adjacent
        for name in ASPECTS
    )
    missing = () if assessment.survey.edition == FIRST else assessment.missing[which]
    return Judged(
        round=which,
        rolls=assessment.rolls,
        pairs=[(name, state.verdict) for name, state in states if state is not None],
        missing=[(one.roll, one.aspect) for one in missing],
    )


def verdict_box(
    overall: str, judged: Judged, wording: Wording, *, in_doubt: bool = False, only: bool = False
) -> VerdictBox:
    """Return the verdict on a round: a sentence that counts rolls, details, and the checks not passed.

    `only` says that the visit has no other round.
    """
    verdict = wording.word(overall)
    verdict = f"{verdict}, {wording.word('in_doubt')}" if in_doubt else verdict
    details = [*_details(judged, wording), *_checks(judged, wording)]
    return VerdictBox(
        title=wording.word("line_surveyed" if only else f"line_{judged.round}"),
        verdict=verdict,
        says=wording.word("titled", title=wording.word("verdict"), text=verdict),
        sentence=_sentence(judged, wording),
        details=tuple(details),
        passed=overall in PASSING,
        dashed=judged.round == "as_found" and not only,
    )


def _sentence(judged: Judged, wording: Wording) -> str:
    """Say "outside" only where every roll that is counted is beyond its limit by more than U."""
    rolls, short = len(judged.judged), judged.short
    outside = sum(judged.beyond(roll) for roll in short)
    if not rolls:
        return wording.word("verdict_none")
    if not short and judged.missing:
        missing = len({roll for roll, _ in judged.missing})
        return wording.word("rolls_within", count=rolls - missing, rolls=rolls)
    if not short:
        return wording.word("rolls_all_within", rolls=rolls)
    if outside in (0, len(short)):
        return wording.word("rolls_outside" if outside else "rolls_not_shown", count=len(short), rolls=rolls)
    return wording.word("rolls_not_shown", count=len(short), rolls=rolls)


def _details(judged: Judged, wording: Wording) -> Iterator[str]:
    short = judged.short
    outside = [roll for roll in short if judged.beyond(roll)]
    within = [roll for roll in judged.judged if not any(roll is one for one in short)]
    missing = {roll for roll, _ in judged.missing}
    within = [roll for roll in within if roll.id not in missing]
    if short and outside and len(outside) < len(short):
        yield wording.word("rolls_beyond", count=len(outside))
    for verdict in ("conditional fail", "conditional pass"):
        named = [roll.id for roll in short if _worst(judged.of(roll)) == verdict]
        if named:
            yield wording.word(f"rolls {verdict}", list=joined(named))
    if short and within:
        yield wording.word("rolls_other_within", count=len(within))
    pairs = pairs_short(judged)
    if pairs and not short:
        yield wording.word("rolls_pairs", list=first_of(pairs, wording, most=_MOST_NAMED))
    if judged.missing:
        yield wording.word("rolls_missing", list=missing_text(judged, wording))


def _worst(verdicts: Iterable[str]) -> str:
    return max(verdicts, key=[*map(str, SEVERITY)].index)


def _checks(judged: Judged, wording: Wording) -> Iterator[str]:
    """How many tolerance checks did not pass, by what is checked; nothing where all pass."""
    groups = [(wording.inline(name), judged.verdicts(name)) for name in ASPECTS]
    groups.append((wording.inline("adjacent"), [v for _, v in judged.pairs if v in SEVERITY]))
    counted = [
        wording.word("checks_counted", what=what, count=sum(one in FAILING for one in found), of=len(found))
        for what, found in groups
        if found
    ]
    failing = [one for _, found in groups for one in found if one in FAILING]
    if failing:
        yield wording.word("checks_not_passed", list=joined(counted))


def pairs_short(judged: Judged) -> list[str]:
    """Return the pairs of neighbours that do not pass against each other, each once."""
    return list(dict.fromkeys(name for name, verdict in judged.pairs if verdict in FAILING))


def missing_text(judged: Judged, wording: Wording) -> str:
    """Return what was not measured, the first few by name and how many more there are."""
    return first_of(missing_names(judged.missing, wording), wording, most=_MOST_NAMED)


def missing_names(missing: Iterable[tuple[str, AspectName]], wording: Wording) -> list[str]:
    """Return the rolls that lack something: with the aspect, or alone where both are missing."""
    found: dict[str, list[AspectName]] = {}
    for roll, name in missing:
        found.setdefault(roll, []).append(name)
    return [
        roll if len(names) == len(ASPECTS) else f"{roll} {wording.inline(names[0])}"
        for roll, names in found.items()
    ]
