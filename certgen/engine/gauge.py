"""The gauge of the monuments: their common offset is free, so one monument of each group is fixed."""

from certgen.survey.survey import Setup


def fixed_monuments(setups: tuple[Setup, ...], line: tuple[str, ...]) -> frozenset[str]:
    """Return the monuments held at zero: those of the offset line `line`, and the first of every other group.

    Monuments belong to one group where setups that read them share monuments with each other.
    """
    fixed = set(line)
    for group in _groups(setups):
        if not group & fixed:
            fixed.add(_first_read(setups, group))
    return frozenset(fixed)


def _groups(setups: tuple[Setup, ...]) -> list[set[str]]:
    groups: list[set[str]] = []
    for setup in setups:
        merged = {reading.monument for reading in setup.monuments}
        apart = [group for group in groups if not group & merged]
        merged.update(*(group for group in groups if group & merged))
        groups = [*apart, merged] if merged else apart
    return groups


def _first_read(setups: tuple[Setup, ...], group: set[str]) -> str:
    return next(r.monument for setup in setups for r in setup.monuments if r.monument in group)
