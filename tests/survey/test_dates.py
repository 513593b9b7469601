"""Dates of a survey, against the specification and an independent reader of EDTF."""

from __future__ import annotations

from datetime import date, timedelta

import edtf
import pytest
from hypothesis import given
from hypothesis import strategies as st

from provenance.survey.dates import DateError, edtf_days, in_edtf

ACCEPTED = [
    ("1979", "1979-01-01", "1979-12-31", ""),
    ("1979-08", "1979-08-01", "1979-08-31", ""),
    ("1980-02", "1980-02-01", "1980-02-29", ""),
    ("1979-08-02", "1979-08-02", "1979-08-02", ""),
    ("1977/1983", "1977-01-01", "1983-12-31", ""),
    ("1978-11/1979-02", "1978-11-01", "1979-02-28", ""),
    ("1977/..", "1977-01-01", None, ""),
    ("../1983", None, "1983-12-31", ""),
    ("1979~", "1979-01-01", "1979-12-31", "~"),
    ("1979?", "1979-01-01", "1979-12-31", "?"),
    ("1979-08%", "1979-08-01", "1979-08-31", "%"),
    ("197X", "1970-01-01", "1979-12-31", ""),
    ("1977~/1983?", "1977-01-01", "1983-12-31", "~?"),
]


@pytest.mark.parametrize(("text", "first", "last", "qualifier"), ACCEPTED)
def test_the_forms_of_edtf_that_a_survey_takes(
    text: str, first: str | None, last: str | None, qualifier: str
) -> None:
    """Forms from the Library of Congress specification, levels 0 and 1."""
    days = edtf_days(text)
    assert days.first == (date.fromisoformat(first) if first else None)
    assert days.last == (date.fromisoformat(last) if last else None)
    assert days.qualifier == qualifier
    assert days.certain is (qualifier == "")


@pytest.mark.parametrize("text", [text for text, *_ in ACCEPTED])
def test_the_edtf_package_gives_the_same_days(text: str) -> None:
    """The package edtf is an independent reader of the specification."""
    parsed = edtf.parse_edtf(text)
    days = edtf_days(text)
    if days.first is not None:
        assert date(*parsed.lower_strict()[:3]) == days.first
    if days.last is not None:
        assert date(*parsed.upper_strict()[:3]) == days.last


@given(st.dates(date(1950, 1, 1), date(2050, 12, 31)), st.sampled_from([4, 7, 10]))
def test_any_day_month_or_year_reads_as_the_edtf_package_reads_it(day: date, length: int) -> None:
    text = day.isoformat()[:length]
    parsed = edtf.parse_edtf(text)
    assert edtf_days(text)[:2] == (
        date(*parsed.lower_strict()[:3]),
        date(*parsed.upper_strict()[:3]),
    )


@pytest.mark.parametrize(
    ("week", "edtf_text"),
    [
        # Worked pairs of ISO 8601-1:2019: 2008-12-29 = 2009-W01-1 and so on.
        ("2009-W01-1", "2008-12-29"),
        ("2009-W53-7", "2010-01-03"),
        ("1976-W53-6", "1977-01-01"),
        ("1981-W53-4", "1981-12-31"),
        ("1979W334", "1979-08-16"),
        ("1979W33", "1979-08-13/1979-08-19"),
    ],
)
def test_week_dates_become_edtf(week: str, edtf_text: str) -> None:
    assert in_edtf(week) == edtf_text


@given(st.integers(1950, 2050), st.integers(1, 53))
def test_a_week_is_its_monday_to_its_sunday(year: int, week: int) -> None:
    """date.fromisocalendar is an independent reader of ISO 8601 week dates."""
    try:
        monday = date.fromisocalendar(year, week, 1)
    except ValueError:
        with pytest.raises(DateError, match="there is no week"):
            in_edtf(f"{year}-W{week:02}")
        return
    days = edtf_days(in_edtf(f"{year}-W{week:02}"))
    assert days[:2] == (monday, monday + timedelta(days=6))


@pytest.mark.parametrize(
    ("text", "problem", "fix"),
    [
        ("79", "'79' is not a date in EDTF", "write the year in full, such as 1979"),
        ("1979-8", "'1979-8' is not a date in EDTF", "write 1979-08"),
        ("1977-1983", "'1977-1983' is not a date in EDTF", "write 1977/1983"),
        ("1977 to 1983", "'1977 to 1983' is not a date in EDTF", "write 1977/1983"),
        ("circa 1979", "'circa 1979' is not a date in EDTF", "write 1979~ for about 1979"),
        ("c. 1979", "'c. 1979' is not a date in EDTF", "write 1979~ for about 1979"),
        ("1970s", "'1970s' is not a date in EDTF", "write 197X"),
        ("197x", "'197x' is not a date in EDTF", "write 197X"),
        ("2 Aug 1979", "'2 Aug 1979' is not a date in EDTF", "write 1979-08-02"),
        ("August 1979", "'August 1979' is not a date in EDTF", "write 1979-08"),
        (
            "02/08/1979",
            "'02/08/1979' is not a date in EDTF",
            "write year-month-day, such as 1979-08-02",
        ),
        ("1979-13", "'1979-13': there is no month 13", "months run from 01 to 12"),
        (
            "1979-02-30",
            "'1979-02-30': there is no day 30 in that month",
            "write 1979-02 if the day is in doubt",
        ),
        ("1983/1977", "'1983/1977' ends before it begins", "write 1977/1983"),
        (
            "last spring",
            "'last spring' is not a date in EDTF",
            "write 1979, 1979-08, 1979-08-02, 197X, or an interval such as 1977/1983",
        ),
        (
            "1979-W54",
            "there is no week '1979-W54'",
            "weeks run from 01 to 52, in some years 53",
        ),
        ("9" * 50, "this is too long for a date", "write a date such as 1979-08-02"),
    ],
)
def test_what_people_write_instead_is_put_right(text: str, problem: str, fix: str) -> None:
    with pytest.raises(DateError) as caught:
        in_edtf(text)
    assert (caught.value.problem, caught.value.fix) == (problem, fix)


@given(st.text(max_size=45))
def test_any_text_is_a_date_or_is_refused_in_words(text: str) -> None:
    try:
        said = str(edtf_days(in_edtf(text)))
    except DateError as error:
        said = error.problem and error.fix
    assert said
