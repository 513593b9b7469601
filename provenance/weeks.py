"""The calendar: days, weeks, spans of days, and the grid of weeks that the inference runs on.

Knows the week conventions in print (ISO 8601, the EIA code books, makers' data sheets), how to
go between a day and a week number on the grid, and how days and spans are written in EDTF.
Knows nothing about markings or boards.

The grid counts weeks from Monday 1950-01-02, so week ``w`` is the seven days that begin on
``monday(w)``. Every week of the grid is an ISO 8601 week.

>>> week_of(date(1950, 1, 2)), week_of(date(1977, 1, 1))
(0, 1408)
>>> monday(1408).isoformat()
'1976-12-27'

A week that is written on a part means different days in different houses. The worked example of
the EIA code books is ``113-9910``, March 7 to 13, 1999:

>>> [str(day) for day in year_week_span(1999, 10, "eia")]
['1999-03-07', '1999-03-13']
>>> [str(day) for day in year_week_span(1999, 10, "iso")]
['1999-03-08', '1999-03-14']
>>> [str(day) for day in year_week_span(1999, 10)]
['1999-02-28', '1999-03-14']
"""

from __future__ import annotations

from datetime import date, timedelta
from functools import lru_cache
from typing import Literal, NamedTuple

EPOCH = date(1950, 1, 2)
"""Monday, the first day of week 0 of the grid."""

Convention = Literal["any", "iso", "eia", "january"]
"""Which days a numbered week holds; see ``year_week_span``."""


class Span(NamedTuple):
    """A span of whole days, both ends included."""

    first: date
    last: date

    @property
    def days(self) -> int:
        """Length in days; one for a single day."""
        return (self.last - self.first).days + 1

    def __contains__(self, day: object) -> bool:
        return isinstance(day, date) and self.first <= day <= self.last


class OpenSpan(NamedTuple):
    """A span of whole days of which an end may be open (None)."""

    first: date | None
    last: date | None

    def __contains__(self, day: object) -> bool:
        return (
            isinstance(day, date)
            and (self.first is None or self.first <= day)
            and (self.last is None or day <= self.last)
        )


def week_of(day: date) -> int:
    """The week of the grid that holds a day."""
    return (day - EPOCH).days // 7


def monday(week: int) -> date:
    """The first day of a week of the grid."""
    return EPOCH + timedelta(weeks=week)


def sunday(week: int) -> date:
    """The last day of a week of the grid."""
    return EPOCH + timedelta(weeks=week, days=6)


def weeks_in_iso_year(year: int) -> int:
    """52 or 53, by ISO 8601: the week that holds 28 December is the year's last."""
    return date(year, 12, 28).isocalendar().week


def year_week_span(year: int, week: int, convention: Convention = "any") -> Span:
    """The days of a numbered week of a year.

    ``iso``      Monday to Sunday, week 1 holds 4 January (ISO 8601-1:2019).
    ``eia``      Sunday to Saturday, one day before the ISO week (the worked example on the ECIA
                 page 'EIA Source Codes'; the page gives no rule for week 1).
    ``january``  Sunday to Saturday, week 1 holds 1 January (package legends in data sheets).
    ``any``      the days that at least one of the three allows.

    Week 53 is a week of the first two conventions in some years only, and of the third in every
    year. Week 0, which a few houses write for the days before the first whole week (common
    practice), is allowed under ``any`` and ``january``. Raises ValueError for any other week, and
    for a year outside 2 to 9998.

    >>> year_week_span(1977, 53, "iso")
    Traceback (most recent call last):
        ...
    ValueError: 1977 has no week 53 (iso)
    """
    if not 1 < year < 9999:
        raise ValueError(f"year {year} is outside the calendar")
    days = weeks_of_year(year, convention)[week] if 0 <= week <= 53 else None
    if days is None:
        raise ValueError(f"{year} has no week {week} ({convention})")
    return Span(*map(date.fromordinal, days))


@lru_cache(maxsize=1024)
def weeks_of_year(year: int, convention: Convention = "any") -> tuple[tuple[int, int] | None, ...]:
    """The weeks 0 to 53 of a year from 2 to 9998, as ``year_week_span`` tells them: the ordinals of
    the first and last day of each, None where the year has no such week.

    >>> [date.fromordinal(day).isoformat() for day in weeks_of_year(1999, "eia")[10]]
    ['1999-03-07', '1999-03-13']
    """
    weeks = [_ordinals_of_week(year, week, convention) for week in (0, 1, 2, 52, 53)]
    # From week 2 to week 51 each begins and ends seven days after the one before.
    first, last = weeks[2]
    weeks[2:3] = zip(range(first, first + 350, 7), range(last, last + 350, 7), strict=True)
    return tuple([days if days[1] else None for days in weeks])


def _ordinals_of_week(year: int, week: int, convention: Convention) -> tuple[int, int]:
    """The ordinals of the first and the last day of a week; the last is 0 if there is no week."""
    new_year, first_monday, weeks = _year(year)
    first, last = _NEVER, 0
    if convention != "january" and 1 <= week <= weeks:
        iso = first_monday + 7 * (week - 1)
        first = iso - (convention != "iso")
        last = iso + (5 if convention == "eia" else 6)
    if convention in ("any", "january"):
        # Ordinal 0 is a Sunday, so the remainder is the day of the week, Sunday being 0.
        sunday = new_year - new_year % 7 + 7 * (week - 1)
        if week == 0:
            # The days before the first whole week, Sunday or Monday based.
            first, last = new_year, new_year + 6 - (new_year - 1) % 7
        else:
            # A day or two that would be week 54 goes with week 53, which ends the year.
            until = sunday + (6 if week < 53 else 13)
            first = min(first, max(sunday, new_year))
            last = max(last, min(until, _year(year + 1)[0] - 1))
    return first, last


_NEVER = date.max.toordinal()
"""The ordinal of a day that is later than any."""


@lru_cache(maxsize=1024)
def _year(year: int) -> tuple[int, int, int]:
    """The ordinals of 1 January and of the Monday of ISO week 1, and the number of ISO weeks."""
    monday_one = date.fromisocalendar(year, 1, 1)
    return date(year, 1, 1).toordinal(), monday_one.toordinal(), weeks_in_iso_year(year)


@lru_cache(maxsize=4096)
def month_span(year: int, month: int) -> Span:
    """The days of a month. Raises ValueError for a month that does not exist.

    >>> month_span(1980, 2).days
    29
    """
    first = date(year, month, 1)
    following = date(year + month // 12, month % 12 + 1, 1)
    return Span(first, following - timedelta(days=1))


@lru_cache(maxsize=512)
def year_span(year: int) -> Span:
    """The days of a year."""
    return Span(date(year, 1, 1), date(year, 12, 31))


def _qualifier(approximate: bool, uncertain: bool) -> str:
    if approximate and uncertain:
        return "%"
    return "~" if approximate else "?" if uncertain else ""


def edtf_day(day: date, *, approximate: bool = False, uncertain: bool = False) -> str:
    """A day in EDTF (ISO 8601-2:2019): ``~`` approximate, ``?`` uncertain, ``%`` both.

    >>> edtf_day(date(1979, 8, 3)), edtf_day(date(1979, 8, 3), approximate=True, uncertain=True)
    ('1979-08-03', '1979-08-03%')
    """
    return day.isoformat() + _qualifier(approximate, uncertain)


def edtf_interval(
    first: date | None,
    last: date | None,
    *,
    approximate: bool = False,
    uncertain: bool = False,
) -> str:
    """A span of days in EDTF, as short as it can be said exactly; None is an open end.

    >>> edtf_interval(date(1978, 11, 1), date(1979, 2, 28), approximate=True)
    '1978-11~/1979-02~'
    >>> edtf_interval(date(1985, 4, 12), None), edtf_interval(date(1984, 1, 1), date(1984, 12, 31))
    ('1985-04-12/..', '1984')

    Raises ValueError when the last day comes before the first.
    """
    mark = _qualifier(approximate, uncertain)
    if first is None or last is None:
        ends = ("" if day is None else day.isoformat() + mark for day in (first, last))
        return "/".join(end or ".." for end in ends)
    if last < first:
        raise ValueError(f"a span cannot end ({last}) before it begins ({first})")
    if first == last:
        return edtf_day(first, approximate=approximate, uncertain=uncertain)
    if first.day == 1 and last == month_span(last.year, last.month).last:
        whole_years = first.month == 1 and last.month == 12
        cut = 4 if whole_years else 7
        start, end = first.isoformat()[:cut], last.isoformat()[:cut]
        return start + mark if start == end else f"{start}{mark}/{end}{mark}"
    return f"{first.isoformat()}{mark}/{last.isoformat()}{mark}"


def _parse_edtf_point(text: str) -> Span:
    """The days that one EDTF date allows: year, month or day, with ``X`` and qualifiers."""
    bare = text.rstrip("~?%")
    if len(text) - len(bare) > 1:
        raise ValueError(f"{text!r} has more than one of ~ ? %")
    fields = bare.split("-")
    if not bare.isascii() or any(
        len(field) != width for field, width in zip(fields, (4, 2, 2), strict=False)
    ):
        raise ValueError(f"{text!r} is not a date in EDTF (write 1978, 1978-11 or 1978-11-04)")
    year, *rest = fields
    known = year.rstrip("X")
    if len(known) < 2 or not known.isdigit() or len(rest) > 2 or (len(known) < 4 and rest):
        raise ValueError(f"{text!r} is not a date in EDTF (write 1978, 1978-11 or 1978-11-04)")
    low, high = int(known.ljust(4, "0")), int(known.ljust(4, "9"))
    if not 1 < low <= high < 9999:
        raise ValueError(f"{text!r} is outside the calendar")
    if not rest or rest[0] == "XX":
        if rest[1:] not in ([], ["XX"]):
            raise ValueError(f"{text!r} gives a day but no month")
        return Span(date(low, 1, 1), date(high, 12, 31))
    if not all(field.isdigit() or field == "XX" for field in rest):
        raise ValueError(f"{text!r} is not a date in EDTF (write 1978, 1978-11 or 1978-11-04)")
    month = int(rest[0])
    if not 1 <= month <= 12:
        raise ValueError(f"{text!r}: there is no month {rest[0]}")
    if len(rest) == 1 or rest[1] == "XX":
        return month_span(low, month)
    try:
        day = date(low, month, int(rest[1]))
    except ValueError:
        raise ValueError(f"{text!r}: there is no day {rest[1]} in that month") from None
    return Span(day, day)


def parse_edtf_interval(text: str) -> Span | OpenSpan:
    """The days that an EDTF date or interval allows (levels 0 and 1, years of four figures).

    An end that is ``..`` or left empty is open, and comes back as None in an ``OpenSpan``.
    Raises ValueError with a plain sentence for anything else.

    >>> parse_edtf_interval("1977/1983") == Span(date(1977, 1, 1), date(1983, 12, 31))
    True
    >>> parse_edtf_interval("1985-04~/..").last is None
    True
    >>> parse_edtf_interval("198X").last.isoformat()
    '1989-12-31'
    >>> parse_edtf_interval("1979-13")
    Traceback (most recent call last):
        ...
    ValueError: '1979-13': there is no month 13
    """
    text = text.strip()
    start, slash, end = text.partition("/")
    if not slash:
        return _parse_edtf_point(start)
    first = None if start in ("", "..") else _parse_edtf_point(start).first
    last = None if end in ("", "..") else _parse_edtf_point(end).last
    if first is None and last is None:
        raise ValueError(f"{text!r} is open at both ends and says nothing")
    if first is not None and last is not None:
        if last < first:
            raise ValueError(f"{text!r} ends before it begins")
        return Span(first, last)
    return OpenSpan(first, last)
