"""A register of five certificates of three lines, and its site."""

import pytest

from certgen.register.register import Register
from tests.register.site.held import SAMPLES, Files, held, register_of, sample_path, site_of


@pytest.fixture(scope="package")
def kept(tmp_path_factory: pytest.TempPathFactory) -> Register:
    """Three visits to one line, one visit to two others."""
    return register_of(tmp_path_factory.mktemp("kept"), (held(sample_path(name)) for name in SAMPLES))


@pytest.fixture(scope="package")
def files(kept: Register) -> Files:
    """The files of its site."""
    return site_of(kept)
