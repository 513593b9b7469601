"""A whole date: ``1978-10-12``, ``19781012``, and six figures, YYMMDD, on displays: ``781012``.

Rubber stamps give the day first (``12.10.78``, ``12 10 78``) or the month first (``10/12/78``);
where both orders make a date, both are proposed.

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
    days_of_months,
    of_year,
    proposing,
)

KEY = "full_date"
NAME = "whole date, YYYY-MM-DD or YYMMDD"
SOURCE = "ISO 8601-1:2019; common practice"
LENGTHS = {"0": (6, 8), "0-": (5, 10)}
"""Shortest and longest token that is worth trying, by what it is made of: see ``makeup_of``."""

_FULL = Expression(r"0000([-/.]?)00(?:\1)00")
_SIX = Expression(r"(0{1,2})([-/. ]?)(0{1,2})\2((?:00)?00)")


def forms(sample: str) -> Iterator[Form]:
    """Year, month and day, in the orders that make a date."""
    end = len(sample)
    if match := _FULL.fullmatch(sample):
        days = days_of_months("00", match[1], "00", "md")
        yield Form(
            KEY, 0, end, slice(0, 4), FULL_YEARS, 0, "day", slice(4 + len(match[1]), end), days
        )
    elif sample == "000000":
        days = days_of_months("00", "", "00", "md")
        yield Form(KEY + ".six", 0, 6, slice(0, 2), TWO_FIGURES, 100, "day", slice(2, 6), days)
    elif (match := _SIX.fullmatch(sample)) and match[2]:
        first, separator, middle, last = match.groups()
        years, cycle = of_year(last)
        year, both = slice(match.start(4), end), slice(0, match.end(3))
        for order, name in (("dm", ".day_first"), ("md", ".month_first")):
            days = days_of_months(first, separator, middle, order)
            if order == "md":
                # The same day, were month and day changed over.
                days = {text: day for text, day in days.items() if day // 100 != day % 100}
            yield Form(KEY + name, 0, end, year, years, cycle, "day", both, days)
        if cycle and len(first) == 2:
            days = days_of_months(middle, separator, last, "md")
            rest = slice(match.start(3), end)
            yield Form(
                KEY + ".year_first", 0, end, slice(0, 2), TWO_FIGURES, 100, "day", rest, days
            )


propose = proposing(forms)


def write(day: date) -> str:
    """Write a day in this scheme."""
    return day.isoformat()
