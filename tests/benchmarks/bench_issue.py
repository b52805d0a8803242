"""What issuing a certificate costs, as ratios measured in one run: `python -m tests.benchmarks.bench_issue`.

Absolute times say more about the machine than about certgen; what it costs beside loading the libraries it
draws with, and how solving grows with the number of rolls, hold on any machine. Each figure is the median of
several runs, taken in turns so that a busy moment hits all of them.
"""

import platform
import subprocess
import sys
import tempfile
from collections.abc import Callable, Mapping
from math import log
from os import cpu_count
from pathlib import Path
from statistics import median
from time import perf_counter

from certgen.assessment.assess import assess
from certgen.network.solution import solve_survey
from certgen.reference_study.study import study
from certgen.resources import sample_surveys
from tests.benchmarks.long_line import long_line

RUNS = 9
SMALL, LARGE = 200, 2000
STUDY_SMALL, STUDY_LARGE = 50, 400
# what a certificate cannot be drawn without, as a plain import and as the parts that do the work
PLAIN = "import reportlab, matplotlib, pint"
PARTS = "import reportlab.platypus, matplotlib.figure, pint"


def seconds(run: Callable[[], object]) -> float:
    """Return how long one run takes."""
    started = perf_counter()
    run()
    return perf_counter() - started


def python(*arguments: str) -> None:
    """Run a fresh interpreter."""
    subprocess.run([sys.executable, *arguments], check=True, stdout=subprocess.DEVNULL)


def medians(runs: Mapping[str, Callable[[], object]], times: int) -> dict[str, float]:
    """Return the median time of each, after one warm-up, taken in turns."""
    for run in runs.values():
        run()
    taken: dict[str, list[float]] = {name: [] for name in runs}
    for _ in range(times):
        for name, run in runs.items():
            taken[name].append(seconds(run))
    return {name: median(each) for name, each in taken.items()}


def issue_times(times: int = RUNS) -> dict[str, float]:
    """Return the times of issuing the inch sample and of the two imports, whole processes each."""
    survey = str(sample_surveys() / "winder_inch.yaml")
    with tempfile.TemporaryDirectory() as folder:
        target = str(Path(folder) / "certificate.pdf")
        return medians(
            {
                "issue": lambda: python("-m", "certgen", "issue", survey, "-o", target, "--replace"),
                "plain": lambda: python("-c", PLAIN),
                "parts": lambda: python("-c", PARTS),
            },
            times,
        )


def solve_times(times: int = 3) -> dict[str, float]:
    """Return the times of solving and judging two lines in this process."""
    small, large = long_line(SMALL), long_line(LARGE)
    return medians(
        {"small": lambda: assess(solve_survey(small)), "large": lambda: assess(solve_survey(large))}, times
    )


def study_times(times: int = 3) -> dict[str, float]:
    """Return the times of studying the references of two solved lines in this process."""
    small, large = solve_survey(long_line(STUDY_SMALL)), solve_survey(long_line(STUDY_LARGE))
    return medians(
        {"small": lambda: study(small, "as_found"), "large": lambda: study(large, "as_found")}, times
    )


def growth(taken: Mapping[str, float], factor: float = LARGE / SMALL) -> float:
    """Return the power of the number of rolls with which these times grow, to `factor` times as many."""
    return log(taken["large"] / taken["small"]) / log(factor)


def processor() -> str:
    """Return the model of the processor as far as the system tells it."""
    about = Path("/proc/cpuinfo")
    lines = about.read_text(encoding="utf-8").splitlines() if about.is_file() else []
    models = (line.split(":", 1)[1].strip() for line in lines if line.startswith("model name"))
    return next(models, platform.processor() or platform.machine())


def report() -> str:
    """Return all figures as a table in Markdown."""
    issue, solve, studied = issue_times(), solve_times(), study_times()
    rows = (
        (f"issue, against `{PARTS}`", f"{issue['issue'] / issue['parts']:.2f}"),
        (f"issue, against `{PLAIN}`", f"{issue['issue'] / issue['plain']:.2f}"),
        (
            f"solving {SMALL} to {LARGE:,} rolls grows with the number of rolls to the power",
            f"{growth(solve):.2f}",
        ),
        (
            f"studying the references of {STUDY_SMALL} to {STUDY_LARGE} rolls, likewise",
            f"{growth(studied, STUDY_LARGE / STUDY_SMALL):.2f}",
        ),
        ("issue, 12 rolls", f"{issue['issue']:.2f} s"),
        (f"solving and judging {LARGE:,} rolls", f"{solve['large']:.2f} s"),
        (f"studying the references of {STUDY_LARGE} rolls", f"{studied['large']:.2f} s"),
    )
    machine = f"{processor()}, {cpu_count()} cores, Python {platform.python_version()}"
    table = "\n".join(f"| {what} | {figure} |" for what, figure in rows)
    return f"Median of {RUNS} runs on {machine}.\n\n| figure | value |\n|---|---|\n{table}"


if __name__ == "__main__":
    sys.stdout.write(report() + "\n")
