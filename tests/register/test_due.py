"""What is due: lines by their last survey, and calibrations that ran out under certificates."""

from dataclasses import replace
from datetime import date
from pathlib import Path

import pytest

from certgen.errors import WrongUsage
from certgen.register.due import calibrations_ran_out, every
from certgen.register.marks import certificates_of, withdraw
from certgen.register.register import Register
from certgen.register.site.holdings import lines_due
from tests.register.fakes import LASER, WHEN, small
from tests.register.site.held import WINDER, WISH, held, register_of, sample_path, site_of

YEAR = every("12 months")
RENEWED = replace(LASER, calibrated="2027-02-01", due="2028-02-01")
LATE = replace(LASER, calibrated="2027-03-01", due="2028-03-01")


@pytest.mark.parametrize(
    ("interval", "day", "after"),
    [
        ("12 months", date(2026, 10, 15), date(2027, 10, 15)),
        ("1 month", date(2026, 1, 31), date(2026, 2, 28)),
        ("2 years", date(2024, 2, 29), date(2026, 2, 28)),
        ("26 weeks", date(2026, 1, 1), date(2026, 7, 2)),
        ("90 Days", date(2026, 1, 1), date(2026, 4, 1)),
    ],
)
def test_interval_leads_to_a_day(interval: str, day: date, after: date) -> None:
    """Months by the calendar, weeks and days by count."""
    assert every(interval).after(day) == after


@pytest.mark.parametrize("text", ["", "months", "0 days", "-1 month", "1.5 years", "12", "1 fortnight"])
def test_other_intervals_are_wrong_usage(text: str) -> None:
    """The message shows how to write one."""
    with pytest.raises(WrongUsage, match="12 months"):
        every(text)


def test_line_is_due_after_its_last_survey(register: Register) -> None:
    """An older survey of it no longer counts, however late it was added; customers are kept apart."""
    register.add(small("A-2", finished="2026-10-15"), WHEN)
    register.add(small("A-1", finished="2025-10-15"), WHEN)
    register.add(small("A-3", finished="2026-03-01", customer="Thornby Tissue"), WHEN)
    assert lines_due(register, date(2027, 2, 28), YEAR) == []
    (first,) = lines_due(register, date(2027, 3, 1), YEAR)
    assert (first.customer, first.surveyed, first.due) == ("Thornby Tissue", "2026-03-01", "2027-03-01")
    both = lines_due(register, date(2027, 10, 15), YEAR)
    assert [one.number for one in both] == ["A-3", "A-2"]
    assert lines_due(register, date(2026, 9, 1), every("6 months"))[0].number == "A-3"


def test_withdrawn_certificate_says_nothing(register: Register) -> None:
    """Neither of its line, whose last visit is the one before, nor of its instruments."""
    register.add(small("A-1", finished="2025-10-15"), WHEN)
    register.add(small("A-2", finished="2026-10-15", instruments=(RENEWED,)), WHEN)
    (of,) = certificates_of(register, "A-2", None)
    withdraw(register, of, "another line", WHEN)
    (one,) = lines_due(register, date(2026, 11, 1), YEAR)
    assert (one.number, one.due, one.because) == ("A-1", "2026-10-15", "interval")
    assert {out.certificates for out in calibrations_ran_out(register, date(2029, 1, 1))} == {(("A-1", 0),)}


def test_line_is_due_by_the_earliest_of_interval_trend_and_certificate(tmp_path: Path) -> None:
    """As the site tells it, for the same reason."""
    text = sample_path("winder_inch").read_text("utf-8")
    plain, asking = tmp_path / "p.yaml", tmp_path / "q.yaml"
    plain.write_text(text.replace(", interval: 12 months", ""), "utf-8")
    asking.write_text(text.replace("interval: 12 months", "interval: 90 days"), "utf-8")
    by_interval = register_of(tmp_path / "a", [held(plain)])
    (one,) = lines_due(by_interval, date(2030, 1, 1), YEAR)
    assert (one.due, one.because) == ("2027-10-15", "interval")
    (one,) = lines_due(by_interval, date(2030, 1, 1), every("1 month"))
    assert (one.due, one.because) == ("2026-11-15", "interval")
    by_trend = register_of(tmp_path / "b", [held(sample_path(name)) for name in WINDER])
    (one,) = lines_due(by_trend, date(2030, 1, 1), YEAR)
    assert one.because == "trend"
    assert date.fromisoformat(one.due) < YEAR.after(date.fromisoformat(one.surveyed))
    by_certificate = register_of(tmp_path / "c", [held(asking)])
    (one,) = lines_due(by_certificate, date(2030, 1, 1), YEAR)
    assert (one.due, one.because) == ("2027-01-13", "certificate")
    index = site_of(by_certificate, replace(WISH, on=date(2026, 12, 1)))["index.html"].decode()
    assert 'by <time datetime="2027-01-13">2027-01-13</time> (certificate)' in index


def test_calibration_ran_out_with_its_certificates(register: Register) -> None:
    """Not on its last day, and once for all certificates that relied on it."""
    register.add(small("A-1", instruments=(LASER,)), WHEN)
    register.add(small("A-2", instruments=(LASER,)), WHEN)
    assert calibrations_ran_out(register, date(2027, 2, 11)) == []
    (out,) = calibrations_ran_out(register, date(2027, 2, 12))
    assert (out.serial, out.due, out.renewed) == ("SL-0417", "2027-02-11", None)
    assert out.certificates == (("A-1", 0), ("A-2", 0))


def test_calibration_renewed_in_time_is_not_told(register: Register) -> None:
    """The next calibration was made before the last one ran out."""
    register.add(small("A-1", instruments=(LASER,)), WHEN)
    register.add(small("A-2", instruments=(RENEWED,)), WHEN)
    assert calibrations_ran_out(register, date(2027, 6, 1)) == []


def test_calibration_renewed_late_is_told(register: Register) -> None:
    """Between the two nobody knew: the certificates under the first one are named, and the next one."""
    register.add(small("A-2", instruments=(LATE,)), WHEN)
    register.add(small("A-1", instruments=(LASER,)), WHEN)
    (out,) = calibrations_ran_out(register, date(2027, 6, 1))
    assert (out.due, out.renewed, out.certificates) == ("2027-02-11", "2027-03-01", (("A-1", 0),))


def test_certificate_relies_by_its_latest_revision(register: Register) -> None:
    """A revision that names another calibration takes the certificate off the first one."""
    register.add(small("A-1", instruments=(LASER,)), WHEN)
    register.add(small("A-1", 1, instruments=(RENEWED,)), WHEN)
    assert calibrations_ran_out(register, date(2027, 6, 1)) == []
    (out,) = calibrations_ran_out(register, date(2028, 6, 1))
    assert out.certificates == (("A-1", 1),)


def test_line_is_due_by_what_is_in_force(register: Register) -> None:
    """A revision that corrects the day or the asset, or a certificate of another number, stands alone."""
    register.add(small("A-1", finished="2026-10-15"), WHEN)
    register.add(small("A-1", 1, finished="2026-10-05", supersedes="A-1, revision 0"), WHEN)
    (one,) = lines_due(register, date(2027, 12, 1), YEAR)
    assert (one.revision, one.due) == (1, "2027-10-05")
    register.add(small("A-2", 1, asset="LN3-REW", issued="2026-11-01", supersedes="A-1, revision 1"), WHEN)
    (one,) = lines_due(register, date(2027, 12, 1), YEAR)
    assert (one.number, one.asset) == ("A-2", "LN3-REW")
    assert {out.certificates for out in calibrations_ran_out(register, date(2027, 12, 1))} == {(("A-2", 1),)}


def test_calibration_with_two_last_days_is_told_of_both(register: Register) -> None:
    """Two certificates state the same calibration; that one ran out is not hidden by the other."""
    longer = replace(LASER, due="2028-02-11")
    register.add(small("A-1", instruments=(LASER,)), WHEN)
    register.add(small("A-2", instruments=(longer,)), WHEN)
    (out,) = calibrations_ran_out(register, date(2027, 6, 1))
    assert (out.due, out.certificates, out.renewed) == ("2027-02-11", (("A-1", 0),), None)


@pytest.mark.parametrize("interval", ["9999 years", "9999 months", "9999 days"])
def test_line_is_never_due_past_the_calendar(register: Register, interval: str) -> None:
    """No interval is too long to be counted."""
    register.add(small("A-1", finished="9998-10-15"), WHEN)
    assert lines_due(register, date(9999, 1, 1), every(interval)) == []
