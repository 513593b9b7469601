"""Dates as a survey writes them: EDTF text in, first and last day out.

Knows the part of EDTF (Library of Congress; ISO 8601-2:2019) that a person at the bench needs: a
year, a month, a day, a decade or century with ``X``, an interval of two of these with ``..`` for
an open end, and the qualifiers ``~`` ``?`` ``%``. Seasons, sets and years beyond four figures are
left out on purpose. What a date means for a board is left to the inference.

>>> edtf_days("1979-08")
Days(first=datetime.date(1979, 8, 1), last=datetime.date(1979, 8, 31), qualifier='')
>>> edtf_days("1977/..").last is None
True
>>> edtf_days("197X~")
Days(first=datetime.date(1970, 1, 1), last=datetime.date(1979, 12, 31), qualifier='~')
"""

from __future__ import annotations

import re
from datetime import date, timedelta
from typing import NamedTuple

from dateutil import parser as dateutil_parser
from dateutil.relativedelta import relativedelta

_POINT = re.compile(
    r"(?P<year>[0-9]{4}|[0-9]{3}X|[0-9]{2}XX)(?:-(?P<month>[0-9]{2})(?:-(?P<day>[0-9]{2}))?)?"
    r"(?P<qualifier>[~?%])?",
    re.ASCII,
)
_ISO = dateutil_parser.isoparser()
_LONGEST = 40


class Days(NamedTuple):
    """The days that a date allows, both included; ``None`` is an open end.

    ``qualifier`` is EDTF's: ``~`` approximate, ``?`` uncertain, ``%`` both, empty for neither.
    The days are those of the date as written: a qualifier does not widen them.
    """

    first: date | None
    last: date | None
    qualifier: str = ""

    @property
    def certain(self) -> bool:
        """Whether the date stands without a qualifier."""
        return not self.qualifier


class DateError(ValueError):
    """A text is not a date that can be used; ``problem`` and ``fix`` are plain sentences."""

    def __init__(self, problem: str, fix: str) -> None:
        super().__init__(problem)
        self.problem = problem
        self.fix = fix


def edtf_days(text: str) -> Days:
    """The first and last day that an EDTF date allows. Raises DateError with the likely fix."""
    text = text.strip()
    if len(text) > _LONGEST:
        raise DateError("this is too long for a date", "write a date such as 1979-08-02")
    first_text, slash, last_text = text.partition("/")
    if not slash:
        return _point(first_text)
    if "/" in last_text:
        raise DateError(f"'{text}' is not a date in EDTF", _likely(text))
    first = Days(None, None) if first_text in ("", "..") else _point(first_text)
    last = Days(None, None) if last_text in ("", "..") else _point(last_text)
    if first.first is None and last.last is None:
        raise DateError(f"'{text}' is open at both ends", "give at least one end, such as 1977/..")
    if first.first and last.last and last.last < first.first:
        raise DateError(
            f"the window '{text}' ends before it begins", f"write {last_text}/{first_text}"
        )
    return Days(first.first, last.last, first.qualifier or last.qualifier)


def _point(text: str) -> Days:
    """The days of one date without a slash."""
    match = _POINT.fullmatch(text)
    if match is None:
        raise DateError(f"'{text}' is not a date in EDTF", _likely(text))
    year, month, day = match["year"], match["month"], match["day"]
    qualifier = match["qualifier"] or ""
    open_figures = year.count("X")
    if open_figures and month:
        raise DateError(
            f"'{text}' has a month in an open year", f"write {year}, or the year in full"
        )
    first_year = year.replace("X", "0")
    length = relativedelta(years=10**open_figures)
    if month:
        length = relativedelta(days=1) if day else relativedelta(months=1)
    try:
        first = _ISO.parse_isodate("-".join(filter(None, (first_year, month, day))))
        last = first + length - timedelta(days=1)
    except (ValueError, OverflowError):
        raise DateError(f"there is no such date as '{text}'", _no_such(year, month, day)) from None
    return Days(first, last, qualifier)


def _no_such(year: str, month: str | None, day: str | None) -> str:
    """What to write instead of a date that the calendar does not have."""
    if month and not 1 <= int(month) <= 12:
        if day is None and int(month) > 12:
            return (
                f"months run from 01 to 12; for an interval of years write "
                f"{year}/{year[:2]}{month}; a date code belongs in marking"
            )
        return "months run from 01 to 12; write year-month-day"
    if day:
        return f"write {year}-{month} if the day is in doubt"
    return "write a date such as 1979-08-02"


def _likely(text: str) -> str:
    """What to write instead, guessed from what people write."""
    advice = "write 1979, 1979-08, 1979-08-02, 197X, or an interval such as 1977/1983"
    if re.fullmatch(r"[0-9]{2}", text):
        return f"write the year in full, such as 19{text}"
    if years := re.fullmatch(r"([0-9]{4})\s*(?:-|–|—|to|\.\.)\s*([0-9]{4})", text):
        return f"write {years[1]}/{years[2]}"
    if text.lower().startswith(("c.", "ca", "circa", "about")) and (
        year := re.search(r"[0-9]{4}", text)
    ):
        return f"write {year[0]}~ for about {year[0]}"
    if re.fullmatch(r"[0-9]{3}0s", text):
        return f"write {text[:3]}X"
    if re.fullmatch(r"[0-9]{1,2}([./-])[0-9]{1,2}\1[0-9]{2,4}", text):
        return "write year-month-day, such as 1979-08-02"
    guess = _by_dateutil(text)
    return f"write {guess}" if guess else advice


def _by_dateutil(text: str) -> str | None:
    """The EDTF form of a date in words or with single figures, where dateutil can read it.

    Read twice with different defaults: what differs between the two was not in the text.
    """
    if not re.search(r"[0-9]{4}", text):
        return None
    try:
        one = dateutil_parser.parse(text, default=dateutil_parser.parse("2001-01-01"))
        two = dateutil_parser.parse(text, default=dateutil_parser.parse("2004-02-02"))
    except (ValueError, OverflowError, TypeError):
        return None
    if one.year != two.year:
        return None
    if one.month != two.month:
        return f"{one.year:04}"
    if one.day != two.day:
        return f"{one.year:04}-{one.month:02}"
    return f"{one.year:04}-{one.month:02}-{one.day:02}"
