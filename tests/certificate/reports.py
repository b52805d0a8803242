"""The four kinds of report, for tests that hold all of them to the same."""

from collections.abc import Callable, Mapping
from functools import cache

from certgen.document.content import Content
from certgen.network.solution import Solution
from certgen.pdf.reports import (
    comparison_pdf,
    compose_comparison,
    compose_study,
    compose_trend,
    study_pdf,
    trend_pdf,
)
from certgen.pdf.work_sheet_pages import work_sheet_pdf
from certgen.reference_study.study import study
from certgen.results.move_results import all_moves
from certgen.results.report_results import comparison_results, study_results, trend_results
from certgen.survey.survey import Paper
from certgen.visits.comparison import compare, within
from certgen.visits.trend import trend
from certgen.wording.wording import Wording
from tests.certificate.samples import WORDING, sample

VISITS = ("winder_inch", "winder_inch_next_year", "winder_inch_third_year")
# kind of report -> the samples it is made from
SAMPLES: Mapping[str, tuple[str, ...]] = {
    "study": ("coater_mm",),
    "comparison": VISITS[:2],
    "comparison within": ("dryer_mixed",),
    "trend": VISITS,
    "work sheet": ("dryer_mixed",),
}
KINDS = tuple(SAMPLES)

_PRINT: Mapping[str, Callable[[Wording, Paper], bytes]] = {
    "study": lambda words, paper: study_pdf(study(_visits("study")[0], "as_found"), words, paper),
    "comparison": lambda words, paper: comparison_pdf(compare(*_visits("comparison")), words, paper),
    "comparison within": lambda words, paper: comparison_pdf(
        within(*_visits("comparison within")), words, paper
    ),
    "trend": lambda words, paper: trend_pdf(trend(_visits("trend")), words, paper),
    "work sheet": lambda words, paper: work_sheet_pdf(sample("dryer_mixed"), words, paper),
}
_RESULTS: Mapping[str, Callable[[], Mapping[str, object]]] = {
    "study": lambda: study_results(study(_visits("study")[0], "as_found")),
    "comparison": lambda: comparison_results(compare(*_visits("comparison"))),
    "comparison within": lambda: comparison_results(within(*_visits("comparison within"))),
    "trend": lambda: trend_results(trend(_visits("trend"))),
    "work sheet": lambda: all_moves(sample("dryer_mixed")),
}


_COMPOSE: Mapping[str, Callable[[Wording], Content]] = {
    "study": lambda words: compose_study(study(_visits("study")[0], "as_found"), words),
    "comparison": lambda words: compose_comparison(compare(*_visits("comparison")), words),
    "comparison within": lambda words: compose_comparison(within(*_visits("comparison within")), words),
    "trend": lambda words: compose_trend(trend(_visits("trend")), words),
}


def _visits(kind: str) -> list[Solution]:
    return [sample(name).solution for name in SAMPLES[kind]]


def made(kind: str, wording: Wording, paper: Paper) -> bytes:
    """Return a report in that wording on that paper, made anew."""
    return _PRINT[kind](wording, paper)


@cache
def report(kind: str) -> bytes:
    """Return a report in English on A4."""
    return made(kind, WORDING, "A4")


def composed(kind: str, wording: Wording) -> Content | None:
    """Return the records of a report; None for a work sheet, which has records of its own."""
    return _COMPOSE[kind](wording) if kind in _COMPOSE else None


def results_of(kind: str) -> Mapping[str, object]:
    """Return the results of a report, as its command prints them for machines."""
    return _RESULTS[kind]()
