"""A whole date: ``1978-10-12``, ``19781012``, and six figures, YYMMDD, on displays: ``781012``.

Rubber stamps give the day first (``12.10.78``, ``12 10 78``) or the month first (``10/12/78``);
where both orders make a date, both are proposed. With spaces it may as well be three numbers.

Source: ISO 8601-1:2019 for the full year; common practice for six figures.

>>> [(p.form, p.year, p.number) for p in propose("1978-10-12")]
[('full_date', 1978, 1012)]
>>> [(p.form, p.year, p.number) for p in propose("781012")]
[('full_date.six', 78, 1012)]
>>> [(p.form, p.number) for p in propose("12.10.78")]
[('full_date.day_first', 1012), ('full_date.month_first', 1210)]
>>> list(propose("789912"))
[]
>>> write(date(1978, 10, 12))
'1978-10-12'
"""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date

from provenance.markings.expression import Expression
from provenance.markings.schemes.form import (
    FULL_YEARS,
    TWO_FIGURES,
    Form,
    Table,
    counted,
    days_of,
    of_year,
    proposing,
)

KEY = "full_date"
NAME = "whole date, YYYY-MM-DD, YYMMDD or DD.MM.YY"
SOURCE = "ISO 8601-1:2019; common practice"
LENGTHS = {"0": (6, 8), "0-": (5, 10)}
"""Shortest and longest token that is worth trying, by what it is made of: see ``makeup_of``."""

_FULL = Expression(r"0000([-/.]?)00(?:\1)00")
_SIX = Expression(r"(0{1,2})([-/. ]?)(0{1,2})\2((?:00)?00)")


def forms(sample: str) -> Iterator[Form]:
    """Year, month and day, in the orders that make a date."""
    end = len(sample)
    if match := _FULL.fullmatch(sample):
        day, days = slice(4 + len(match[1]), end), _month_first("00", match[1], "00")
        yield Form(KEY, 0, end, slice(0, 4), FULL_YEARS, 0, "day", day, days)
    elif sample == "000000":
        days = _month_first("00", "", "00")
        yield Form(KEY + ".six", 0, 6, slice(0, 2), TWO_FIGURES, 100, "day", slice(2, 6), days)
    elif (match := _SIX.fullmatch(sample)) and match[2]:
        first, separator, middle, last = match.groups()
        years, cycle = of_year(last)
        year, both = slice(match.start(4), end), slice(0, match.end(3))
        days = days_of(counted(first, 31), separator, counted(middle, 12))
        spaced = "_spaced" if separator == " " else ""
        yield Form(KEY + ".day_first" + spaced, 0, end, year, years, cycle, "day", both, days)
        days = _month_first(first, separator, middle)
        # Where month and day are the same number, both orders mean the same day.
        days = {text: day for text, day in days.items() if day // 100 != day % 100}
        yield Form(KEY + ".month_first" + spaced, 0, end, year, years, cycle, "day", both, days)
        if cycle and len(first) == 2:
            name, year, rest = KEY + ".year_first" + spaced, slice(0, 2), slice(match.start(3), end)
            days = _month_first(middle, separator, last)
            yield Form(name, 0, end, year, TWO_FIGURES, 100, "day", rest, days)


def _month_first(month: str, separator: str, day: str) -> Table:
    """Days by month and day, in so many figures each."""
    return days_of(counted(day, 31), separator, counted(month, 12), month_first=True)


propose = proposing(forms)


def write(day: date) -> str:
    """Write a day in this scheme."""
    return day.isoformat()
