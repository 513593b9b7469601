"""Week conventions and EDTF against published pairs and independent implementations."""

from __future__ import annotations

import itertools
from datetime import date, timedelta

import edtf
import pytest
from dateutil.parser import isoparser
from edtf_validate.valid_edtf import is_valid
from hypothesis import given
from hypothesis import strategies as st

from provenance.weeks import (
    OpenSpan,
    Span,
    edtf_day,
    edtf_interval,
    monday,
    month_span,
    parse_edtf_interval,
    sunday,
    week_of,
    weeks_in_iso_year,
    year_span,
    year_week_span,
)

days = st.dates(date(1955, 1, 1), date(2035, 12, 31))


@pytest.mark.parametrize(
    ("day", "year", "week", "weekday"),
    [
        (date(2008, 12, 29), 2009, 1, 1),
        (date(2010, 1, 3), 2009, 53, 7),
        (date(1977, 1, 1), 1976, 53, 6),
        (date(1981, 12, 31), 1981, 53, 4),
    ],
)
def test_iso_8601_published_pairs(day: date, year: int, week: int, weekday: int) -> None:
    """ISO 8601-1:2019, week dates: worked pairs."""
    span = year_week_span(year, week, "iso")
    assert span.first + timedelta(days=weekday - 1) == day


def test_years_of_53_weeks() -> None:
    """ISO 8601-1:2019: the years of 53 weeks from 1960 to 2030."""
    long_years = {1964, 1970, 1976, 1981, 1987, 1992, 1998, 2004, 2009, 2015, 2020, 2026}
    for year in range(1960, 2031):
        assert weeks_in_iso_year(year) == (53 if year in long_years else 52)
        if year in long_years:
            assert year_week_span(year, 53, "iso").first == date.fromisocalendar(year, 53, 1)
            assert year_week_span(year, 53, "iso").last == date.fromisocalendar(year, 53, 7)
        else:
            with pytest.raises(ValueError, match="has no week 53"):
                year_week_span(year, 53, "iso")


def test_every_iso_week_against_the_standard_library_and_dateutil() -> None:
    """date.fromisocalendar and dateutil's isoparser are independent of each other."""
    parser = isoparser()
    for year in range(1960, 2031):
        for week in range(1, weeks_in_iso_year(year) + 1):
            span = year_week_span(year, week, "iso")
            assert span.first == date.fromisocalendar(year, week, 1)
            assert span.first == parser.isoparse(f"{year}-W{week:02}-1").date()
            assert span.last == parser.isoparse(f"{year}-W{week:02}-7").date()


def test_eia_worked_example() -> None:
    """ECIA, 'EIA Source Codes': 113-9910 is the week of March 7-13, 1999."""
    span = year_week_span(1999, 10, "eia")
    assert span == Span(date(1999, 3, 7), date(1999, 3, 13))
    assert span.first.isoweekday() == 7
    assert year_week_span(1999, 10, "iso") == Span(date(1999, 3, 8), date(1999, 3, 14))


@given(days)
def test_week_of_the_first_of_january_is_week_1(day: date) -> None:
    """Package legends in data sheets: 'week of January 1 is week 01', weeks from Sunday."""
    new_year = date(day.year, 1, 1)
    before = (new_year.weekday() + 1) % 7
    week = ((day - new_year).days + before) // 7 + 1
    span = year_week_span(day.year, min(week, 53), "january")
    assert day in span


@given(st.integers(1960, 2030), st.integers(0, 54))
def test_any_convention_is_the_union_of_the_three(year: int, week: int) -> None:
    spans = []
    for convention in ("iso", "eia", "january"):
        try:
            spans.append(year_week_span(year, week, convention))
        except ValueError:
            continue
    if not spans:
        with pytest.raises(ValueError, match="has no week"):
            year_week_span(year, week)
        return
    union = year_week_span(year, week)
    assert union.first == min(span.first for span in spans)
    assert union.last == max(span.last for span in spans)
    assert union.days <= 16


@given(days)
def test_an_iso_week_written_down_holds_its_day_under_any_convention(day: date) -> None:
    year, week, _ = day.isocalendar()
    assert day in year_week_span(year, week)


def test_week_0_is_the_days_before_the_first_whole_week() -> None:
    """Common practice: a few houses write week 00 for the first partial week."""
    assert date(1982, 1, 1) in year_week_span(1982, 0)
    assert year_week_span(1982, 0).days <= 7
    with pytest.raises(ValueError, match="has no week 0"):
        year_week_span(1982, 0, "iso")


@given(days)
def test_months_and_years_hold_their_days(day: date) -> None:
    span = month_span(day.year, day.month)
    assert day in span
    assert (span.last + timedelta(days=1)).day == 1
    assert day in year_span(day.year)


@given(days)
def test_grid_of_weeks(day: date) -> None:
    week = week_of(day)
    assert monday(week) <= day <= sunday(week)
    assert monday(week).isoweekday() == 1


def _edges(text: str) -> tuple[date, date]:
    """What the edtf package takes a date or interval to be, at its strict bounds."""
    parsed = edtf.parse_edtf(text)
    low, high = parsed.lower_strict(), parsed.upper_strict()
    return date(*low[:3]), date(*high[:3])


@given(days, st.integers(0, 800), st.booleans(), st.booleans())
def test_edtf_is_valid_and_read_alike(day: date, length: int, about: bool, unsure: bool) -> None:
    """ISO 8601-2:2019, by the packages edtf and edtf-validate."""
    last = day + timedelta(days=length)
    text = edtf_interval(day, last, approximate=about, uncertain=unsure)
    assert is_valid(text)
    assert parse_edtf_interval(text) == Span(day, last)
    plain = edtf_interval(day, last)
    if "/" in plain or len(plain) == 10:
        assert _edges(plain) == (day, last)


@given(days, days)
def test_whole_months_and_years_are_said_shortly(one: date, other: date) -> None:
    first, last = sorted([one, other])
    whole = Span(month_span(first.year, first.month).first, month_span(last.year, last.month).last)
    text = edtf_interval(*whole)
    assert is_valid(text)
    assert len(text) in (4, 7, 9, 15)
    assert parse_edtf_interval(text) == whole
    assert _edges(text) == whole


def test_edtf_examples_of_the_library_of_congress() -> None:
    """The Library of Congress EDTF specification's own spellings."""
    assert edtf_interval(date(1984, 1, 1), date(1984, 12, 31), approximate=True) == "1984~"
    assert edtf_interval(date(1984, 1, 1), date(1984, 12, 31), uncertain=True) == "1984?"
    both = edtf_interval(date(1984, 1, 1), date(1984, 12, 31), approximate=True, uncertain=True)
    assert both == "1984%"
    assert edtf_day(date(1985, 4, 12)) == "1985-04-12"
    assert edtf_interval(date(1985, 4, 12), None) == "1985-04-12/.."
    assert parse_edtf_interval("1985-04-12/..") == OpenSpan(date(1985, 4, 12), None)
    assert parse_edtf_interval("../1985-04-12") == OpenSpan(None, date(1985, 4, 12))
    assert parse_edtf_interval("201X") == Span(date(2010, 1, 1), date(2019, 12, 31))
    assert parse_edtf_interval("2004-XX") == year_span(2004)
    for text in ("1984~", "1984%", "1985-04-12/..", "../1985-04-12", "201X", "2004-XX"):
        assert is_valid(text)


@pytest.mark.parametrize(
    "text",
    ["", "..", "../..", "197", "1979-13", "1979-02-30", "1979/1978", "nineteen", "1979-1", "79",
     "1979-XX-04", "1979~~", "1979-04-12-01", "１９７９", "X979", "1979-0X", "-1979"],
)  # fmt: skip
def test_what_is_no_edtf_is_refused_in_plain_words(text: str) -> None:
    with pytest.raises(ValueError, match=r"[a-z]"):
        parse_edtf_interval(text)


@given(st.text(max_size=20))
def test_parsing_any_text_ends_in_a_span_or_a_plain_error(text: str) -> None:
    try:
        span = parse_edtf_interval(text)
    except ValueError:
        return
    assert span.first is not None or span.last is not None


def test_open_spans_hold_what_lies_on_their_side() -> None:
    span = parse_edtf_interval("1985/..")
    held = [date(1984, 12, 31) in span, date(1985, 1, 1) in span, date(2020, 1, 1) in span]
    assert held == [False, True, True]


def test_interval_must_not_end_before_it_begins() -> None:
    with pytest.raises(ValueError, match="cannot end"):
        edtf_interval(date(1980, 1, 2), date(1980, 1, 1))


def test_no_two_iso_weeks_share_a_day() -> None:
    starts = [
        year_week_span(year, week, "iso").first
        for year in range(1960, 2031)
        for week in range(1, weeks_in_iso_year(year) + 1)
    ]
    assert all(second - first == timedelta(days=7) for first, second in itertools.pairwise(starts))
