"""Two sets of results compared value by value."""

from collections.abc import Iterator
from math import inf, isclose
from typing import Any

from certgen.engine.travel import ROUNDING_MM

# Another processor or another linear algebra library may round the last digits of a float otherwise; a value
# that differs by less than this is the same result, and none of it can be seen on a page.
RELATIVE, ABSOLUTE = 1e-9, 1e-12

# what results have held since the first certificate; a later program may add to it, none leaves it out
_ALWAYS = frozenset(
    """format survey_sha256 certificate number revision issued reference decision coverage_factor positive
    network rolls adjacent excluded overall id name from to level parallel as_found as_left change verdict
    adjusted slope_mm_per_m target_mm_per_m error_mm_per_m u_mm_per_m U_mm_per_m limit_mm_per_m
    over_bearings_mm conformance_probability""".split()  # noqa: SIM905  # shorter so
)


def exact(one: object, other: object) -> bool:
    """Tell whether two results are the same to the last bit, kinds of values included."""
    return type(one) is type(other) and one == other and repr(one) == repr(other)


def differing(path: str, carried: Any, computed: Any, *, more_allowed: bool) -> Iterator[str]:
    """Yield, in words, each value that differs by more than the tolerance.

    `more_allowed`: computed results may hold keys that the carried ones lack, as a later program's do, but
    none of those that results have always held.
    """
    if isinstance(carried, dict) and isinstance(computed, dict):
        added = {key for key in computed.keys() - carried.keys() if more_allowed and key not in _ALWAYS}
        for key in sorted({*carried, *computed} - added, key=str):
            place = f"{path}.{key}" if path else str(key)
            if key not in computed or key not in carried:
                yield f"{place} stands only in the {'certificate' if key in carried else 'computed results'}"
            else:
                yield from differing(place, carried[key], computed[key], more_allowed=more_allowed)
    elif isinstance(carried, list) and isinstance(computed, list) and len(carried) != len(computed):
        some = _of_something(carried) if more_allowed else carried
        if len(some) == len(computed):
            yield from differing(path, some, computed, more_allowed=more_allowed)
        else:
            yield f"{path} is {_shown(carried)}, computed {_shown(computed)}"
    elif isinstance(carried, list) and isinstance(computed, list):
        for index, pair in enumerate(zip(carried, computed, strict=True)):
            yield from differing(f"{path}[{index}]", *pair, more_allowed=more_allowed)
    elif not _alike(carried, computed):
        yield f"{path} is {_shown(carried)}, computed {_shown(computed)}"


def _of_something(steps: list[Any]) -> list[Any]:
    """Leave out moves of nothing, which earlier programs kept among the steps of a move."""
    return [one for one in steps if not isinstance(one, dict) or _amount(one) > ROUNDING_MM]


def _amount(step: dict[str, Any]) -> float:
    """How far a step moves a bearing; infinite for what is no step."""
    found = [step[key] for key in ("up_mm", "downstream_mm") if isinstance(step.get(key), float)]
    return abs(found[0]) if found else inf


def _alike(one: object, other: object) -> bool:
    if isinstance(one, float) and isinstance(other, float):
        return isclose(one, other, rel_tol=RELATIVE, abs_tol=ABSOLUTE)
    return type(one) is type(other) and one == other


def _shown(value: object) -> str:
    text = repr(value)
    return text if len(text) <= 60 else f"{text[:57]}..."
