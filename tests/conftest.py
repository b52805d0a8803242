"""What holds for all tests: where every part must be there, a skipped test counts as a failed one."""

import os
from collections.abc import Iterator

import pytest

# As the command line has it, before anything loads the library that reads it.
os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")

# Set where a missing system part (poppler) must be a fault of the machine, not a reason to test less.
REQUIRE_ALL = os.environ.get("CERTGEN_REQUIRE_ALL") == "1"


@pytest.hookimpl(wrapper=True)
def pytest_runtest_makereport() -> Iterator[None]:
    """Turn the report of a skipped test into that of a failed one."""
    report = yield
    return _strict(report)


@pytest.hookimpl(wrapper=True)
def pytest_make_collect_report() -> Iterator[None]:
    """Turn the report of a skipped file into that of a failed one."""
    report = yield
    return _strict(report)


def _strict(report: pytest.TestReport | pytest.CollectReport) -> pytest.TestReport | pytest.CollectReport:
    # schemas that are not the project's to carry are no part that a machine lacks
    elsewhere = "CERTGEN_DCC_SCHEMA" in str(report.longrepr)
    if REQUIRE_ALL and report.skipped and not elsewhere and not hasattr(report, "wasxfail"):
        report.outcome = "failed"
        report.longrepr = f"skipped, although CERTGEN_REQUIRE_ALL asks for everything: {report.longrepr}"
    return report
