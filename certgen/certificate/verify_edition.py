"""Results of an older edition of the rules held against those of the newest: verdicts that differ are named.

Which edition computed a certificate stands in its results, and whoever writes a certificate writes them.
So an older edition is never taken as good as the present one: it could be chosen for what it lets pass.
"""

import json
from collections.abc import Iterator, Mapping
from typing import Any

from certgen.assessment.assess import assess
from certgen.assessment.results import results
from certgen.certificate.archive_record import SURVEY
from certgen.certificate.verification import Check, not_compared
from certgen.engine.accepted import solve_reading
from certgen.errors import CannotCompute, SurveyRefused
from certgen.survey import read_bytes
from certgen.survey.edition import EDITION, edition_of
from certgen.survey.survey import ROUNDS

OTHERWISE = "edition"  # the name of a check that no signer can stand for
SAME = "edition alone"
_NONE = "nothing stated"


def older_edition(survey: bytes, found: Mapping[str, Any]) -> Iterator[Check]:
    """Yield what the newest edition says of a survey whose results an older one computed."""
    edition = edition_of(found)
    if edition == EDITION:
        return
    told = f"The results were computed by edition {edition} of the rules"
    try:
        now = _now(survey)
    except (SurveyRefused, CannotCompute) as error:
        yield not_compared(
            OTHERWISE, f"{told}; by edition {EDITION} this survey is refused", str(error).splitlines()
        )
        return
    was, is_now = dict(_verdicts(found)), dict(_verdicts(now))
    odd = [
        f"{place}: {was.get(place, _NONE)}, by edition {EDITION} {is_now.get(place, _NONE)}"
        for place in {**is_now, **was}
        if was.get(place) != is_now.get(place)
    ]
    if odd:
        yield not_compared(OTHERWISE, f"{told}; by edition {EDITION} these verdicts are others", odd)
    else:
        yield not_compared(SAME, f"{told}; by edition {EDITION} every verdict is the same")


def _now(survey: bytes) -> Mapping[str, Any]:
    found: Mapping[str, Any] = json.loads(
        json.dumps(results(assess(solve_reading(SURVEY, read_bytes(SURVEY, survey)))))
    )
    return found


def _verdicts(found: Mapping[str, Any]) -> Iterator[tuple[str, str]]:
    """Yield where a verdict stands, and the verdict."""
    for which in ROUNDS:
        called = which.replace("_", " ")
        yield f"the line {called}", str(found["overall"][which])
        for one in (*found["adjacent"], *found["rolls"]):
            name = one["id"] if "id" in one else f"{one['from']} and {one['to']}"
            for aspect in ("level", "parallel"):
                state = (one.get(aspect) or {}).get(which)
                if state:
                    yield f"{name} {aspect} {called}", str(state["verdict"])
