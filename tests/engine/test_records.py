"""What one stage of the engine hands to the next cannot be changed by it, and holds only what it names."""

import pkgutil
from collections.abc import Iterator
from dataclasses import is_dataclass
from functools import cached_property
from importlib import import_module

import pytest

from certgen.network.reliability import Conditional

STAGES = ("network", "assessment", "moves", "visits", "reference_study")


def records() -> Iterator[type]:
    """Yield every record of the stages."""
    for stage in STAGES:
        package = import_module(f"certgen.{stage}")
        for found in pkgutil.iter_modules(package.__path__):
            module = import_module(f"certgen.{stage}.{found.name}")
            for one in vars(module).values():
                if isinstance(one, type) and is_dataclass(one) and one.__module__ == module.__name__:
                    yield one


@pytest.mark.parametrize("record", list(records()), ids=lambda one: f"{one.__module__}.{one.__name__}")
def test_record_is_frozen_and_has_no_room_for_more(record: type) -> None:
    """But for what it works out once, when first asked, and keeps."""
    keeps = any(isinstance(one, cached_property) for one in vars(record).values())
    frozen = record.__dataclass_params__.frozen  # type: ignore[attr-defined]  # every dataclass has them
    assert frozen != (record is Conditional)  # which grows while blunders are named one after the other
    assert ("__slots__" in vars(record)) != keeps
