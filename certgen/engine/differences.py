"""The uncertainties of the differences between one estimate and all others, in one go."""

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cached_property

import numpy as np

from certgen.engine.estimate import Array, Estimate


@dataclass(frozen=True)
class Differences:
    """Estimates of one network by name, to be held against each of themselves in turn."""

    estimates: Mapping[str, Estimate]

    def u(self, against: str) -> Mapping[str, float]:
        """Return the standard uncertainty of every estimate less the one of that name, in their unit.

        The same as `(estimate - reference).u`: what both share is subtracted before it is squared. Errors of
        blocks that only one of the two has are independent, so their variances add.
        """
        reference, place = self.estimates[against], self._places[against]
        shared = np.sum((self._shared - self._shared[place]) ** 2, axis=1)
        each = np.sqrt(shared + self._own + self._own[place]).tolist()
        found = dict(zip(self.estimates, each, strict=True))
        common = {name for block in reference.own for name in self._members[block]} | {against}
        return found | {name: (self.estimates[name] - reference).u for name in common}

    @cached_property
    def _places(self) -> Mapping[str, int]:
        return {name: place for place, name in enumerate(self.estimates)}

    @cached_property
    def _shared(self) -> Array:
        """The coefficients on shared errors, shape (n, s)."""
        return np.array([one.shared for one in self.estimates.values()])

    @cached_property
    def _own(self) -> Array:
        """The variance that errors of blocks make up, shape (n,)."""
        every = (one.own.values() for one in self.estimates.values())
        return np.array([sum(float(part @ part) for part in parts) for parts in every])

    @cached_property
    def _members(self) -> Mapping[str, list[str]]:
        """The estimates that touch each block."""
        found: dict[str, list[str]] = {}
        for name, one in self.estimates.items():
            for block in one.own:
                found.setdefault(block, []).append(name)
        return found
