"""Parts of a year as days, against the calendars of general-purpose libraries."""

from __future__ import annotations

import calendar
from datetime import date, datetime

import pytest
from hypothesis import given
from hypothesis import strategies as st

from provenance.markings.periods import (
    ABSENT,
    FIRST_YEAR,
    LAST_YEAR,
    PARTS,
    calendar_years,
    days_of_run,
)
from provenance.markings.reader import read_marking
from provenance.weeks import year_week_span

years = st.integers(FIRST_YEAR, LAST_YEAR)


def days(unit: str, year: int, number: int) -> tuple[date, date] | None:
    (found,) = PARTS[unit]([year], number)
    if found == ABSENT:
        return None
    first, last = map(date.fromordinal, found)
    return first, last


@given(year=years, week=st.integers(0, 53))
def test_iso_weeks_are_those_of_the_standard_library(year: int, week: int) -> None:
    """ISO 8601-1:2019, as the standard library counts it."""
    try:
        known = date.fromisocalendar(year, week, 1), date.fromisocalendar(year, week, 7)
    except ValueError:
        known = None
    assert days("iso week", year, week) == known


@given(year=years, number=st.integers(0, 400))
def test_days_of_the_year_are_those_of_the_standard_library(year: int, number: int) -> None:
    """``%j`` of ISO C and POSIX, as the standard library reads it."""
    try:
        known = datetime.strptime(f"{year:04} {number:03}", "%Y %j").date()
    except ValueError:
        known = None
    # The library reads day 366 of a common year as one of the next.
    is_known = known is not None and known.year == year
    assert days("ordinal", year, number) == ((known, known) if is_known else None)


@given(year=years, number=st.integers(0, 14))
def test_months_end_where_the_standard_library_ends_them(year: int, number: int) -> None:
    if 1 <= number <= 12:
        last = calendar.monthrange(year, number)[1]
        known = date(year, number, 1), date(year, number, last)
        assert days("month", year, number) == known
        assert days("day", year, number * 100 + last) == (known[1], known[1])
        assert days("day", year, number * 100 + last + 1) is None
    else:
        assert days("month", year, number) is None


@given(year=years)
def test_a_year_is_its_months(year: int) -> None:
    first, last = days("month", year, 1), days("month", year, 12)
    assert first
    assert last
    assert days("year", year, 0) == (first[0], last[1])


@given(year=years, week=st.integers(0, 53))
def test_weeks_are_those_of_the_calendar(year: int, week: int) -> None:
    assert days("week", year, week) == year_week_span(year, week)


@given(year=years, first=st.integers(1, 26), more=st.integers(1, 26))
def test_a_run_of_weeks_holds_each_of_them(year: int, first: int, more: int) -> None:
    ((begin, end),) = days_of_run("week", [year], first, first + more)
    for week in range(first, first + more + 1):
        ((low, high),) = PARTS["week"]([year], week)
        assert begin <= low <= high <= end


def test_a_run_that_a_year_has_not_is_absent() -> None:
    assert days_of_run("ordinal", [1979, 1980], 360, 366)[0] == ABSENT
    assert days_of_run("ordinal", [1979, 1980], 360, 366)[1] != ABSENT


@given(year=st.integers(0, 99), first=years, length=st.integers(0, 300))
def test_written_years_open_into_all_that_end_like_them(year: int, first: int, length: int) -> None:
    last = min(first + length, LAST_YEAR)
    known = [one for one in range(first, last + 1) if one % 100 == year]
    assert list(calendar_years(year, 100, first, last)) == known


@pytest.mark.parametrize("marking", ["7841", "841", "29 FEB 80", "78366", "DEC 99"])
def test_no_bounds_of_the_years_are_too_wide(marking: str) -> None:
    reading = read_marking(marking, years=(1, 9999), today=date(9999, 12, 31))
    assert reading.readings
    assert all(FIRST_YEAR <= one.first.year <= LAST_YEAR for one in reading.readings)
