"""When to survey a line next, and which rolls that day says nothing of.

Two visits give one difference, and no rate that could be told from a sudden movement or from its own spread:
no day follows from it. The interval that the plant has set, as the latest survey states it, holds then; with
more visits it bounds what is foretold.
"""

from collections.abc import Iterator, Mapping, Sequence
from datetime import date

from certgen.assessment.assessment import ASPECTS, AspectName
from certgen.assessment.trend_records import AspectTrend, NextSurvey, RollTrend
from certgen.survey.survey import Visit

FEWEST_VISITS = 3  # with fewer, a change has no spread of its own to tell a rate from

_Known = Mapping[tuple[str, AspectName], AspectTrend]


def next_survey(rolls: Sequence[RollTrend], outlook_ends: date, latest: Visit) -> NextSurvey:
    """Return the first day on which some roll no longer keeps its tolerance with 95 %, at most that day.

    `rolls` are those of the latest survey, made at the visit `latest`. No later than its interval ends.
    """
    known = {(roll.name, name): roll.aspect(name) for roll in rolls for name in ASPECTS}
    outlooks = {key: one.outlook for key, one in known.items() if one.outlook is not None}
    kept = {key: one.kept_until for key, one in outlooks.items() if one.kept_until is not None}
    ends = {key: until for key, until in kept.items() if not outlooks[key].open_ended}
    foretold = min((*ends.values(), outlook_ends)) if kept else None
    by_plant = latest.interval.after(latest.finished) if latest.interval is not None else None
    day = min((one for one in (foretold, by_plant) if one is not None), default=None)
    return NextSurvey(
        day=day,
        because=tuple(key for key, until in ends.items() if until == day),
        by_interval=day is not None and day == by_plant and foretold != by_plant,
        not_kept=tuple(key for key, one in known.items() if one.kept_now is False),
        not_foretold=tuple(_too_little(known)),
    )


def _too_little(known: _Known) -> Iterator[tuple[str, AspectName]]:
    """Rolls with a tolerance of which the readings say neither where they go nor that they stand outside."""
    for key, one in known.items():
        unsteady = one.drift is not None and one.drift.unsteady
        judged = one.outlook is not None or one.kept_now is False
        if one.points and one.limit_mm_per_m is not None and not judged and not unsteady:
            yield key
