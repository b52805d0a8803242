"""The edition of the rules by which results are computed: what keeps an archived certificate verifiable.

A rule that changes results (what counts as measured, how a source of uncertainty is shared, what a survey
has to state) raises the edition. A certificate records the one it was computed by; whoever recomputes it does
so by that one. Edition 1 recorded none.
"""

from collections.abc import Mapping

FIRST = 1
EDITION = 2


def edition_of(results: Mapping[str, object] | None) -> int:
    """Return the edition that results were computed by; the first for results that do not say.

    Raises ValueError for one that this program does not know.
    """
    found = FIRST if results is None else results.get("edition", FIRST)
    if isinstance(found, bool) or not isinstance(found, int) or not FIRST <= found <= EDITION:
        raise ValueError(f"the results were computed by an unknown edition of the rules, {found!r}")
    return found
