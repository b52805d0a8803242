"""A line surveyed every half year for long, as certificates of a few bytes that carry whole surveys."""

import re
from collections.abc import Iterator
from datetime import date

from certgen.register.entries import Held
from certgen.resources import sample_surveys
from tests.register.fakes import held_of, small

LINE = "Winder of many visits"
_DAY = re.compile(r"\b(\d{4})-(\d\d)-(\d\d)\b")
_FIRST = 1980


def visits(count: int) -> Iterator[Held]:
    """Yield so many visits to the twelve rolls of a sample, half a year apart."""
    text = (sample_surveys() / "winder_inch.yaml").read_text("utf-8")
    for number in range(count):
        named = f"Y-{number:03d}"
        survey = _later(text.replace("FC-2026-031", named), number).encode()
        started = date(_FIRST + number // 2, 4 + 6 * (number % 2), 14).isoformat()
        one = small(named, line=LINE, asset="LN3-WND", started=started, finished=started).certificate
        yield held_of(one, survey)


def _later(text: str, number: int) -> str:
    """The survey with its days in that half year; calibrations, all earlier in the year, move with it."""
    year, half = _FIRST - 2026 + number // 2, 1 - number % 2

    def moved(day: re.Match[str]) -> str:
        month = int(day[2]) - 6 * half
        return f"{int(day[1]) + year - (month < 1)}-{(month - 1) % 12 + 1:02d}-{min(int(day[3]), 28):02d}"

    return _DAY.sub(moved, text)
