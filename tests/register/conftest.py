"""Every test of the register runs on both databases."""

from collections.abc import Iterator
from pathlib import Path

import pytest

from certgen.register.register import Register
from tests.register.places import schema


@pytest.fixture(params=["sqlite", "postgresql"])
def where(request: pytest.FixtureRequest, tmp_path: Path) -> Iterator[str]:
    """A place for a register: a folder or an address."""
    if request.param == "sqlite":
        yield str(tmp_path / "register")
        return
    with schema() as address:
        yield address


@pytest.fixture
def register(where: str) -> Register:
    """An empty register."""
    return Register.open(where, create=True)
