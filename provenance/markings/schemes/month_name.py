"""The month by its English name or first three letters, with the year: ``NOV 78``, ``78NOV``.

A day may stand before (``12 NOV 78``, ``12-NOV-78``), and the year may be full; with a full year
the day may stand behind the month (``NOV 12, 1978``).

Source: common practice.

>>> [(p.form, p.year, p.number) for p in propose("NOV 78")]
[('month_name', 78, 11)]
>>> [(p.year, p.cycle) for p in propose("NOVEMBER 1978")], [p.year for p in propose("78NOV")]
([(1978, 0)], [78])
>>> [(p.form, p.unit, p.number) for p in propose("12-NOV-78")]
[('month_name.day', 'day', 1112)]
>>> [(p.form, p.year, p.number) for p in propose("NOV 12, 1978")]
[('month_name.day_full', 1978, 1112)]
>>> list(propose("NOW 78"))
[]
>>> write(date(1978, 11, 12))
'NOV 78'
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from datetime import date

from provenance.markings.expression import Expression
from provenance.markings.schemes.form import Form, counted, days_of, of_year, proposing

KEY = "month_name"
NAME = "month by name and year"
SOURCE = "common practice"
LENGTHS = {"0A": (5, 15), "0A-": (6, 17), "A0": (5, 13), "A0-": (6, 17)}
"""Shortest and longest token that is worth trying, by what it is made of: see ``makeup_of``."""

NAMES = (
    "JANUARY", "FEBRUARY", "MARCH", "APRIL", "MAY", "JUNE", "JULY", "AUGUST", "SEPTEMBER",
    "OCTOBER", "NOVEMBER", "DECEMBER",
)  # fmt: skip
MONTHS = {name: place for place, name in enumerate(NAMES, 1)}
MONTHS |= {name[:3]: place for name, place in MONTHS.items()} | {"SEPT": 9}
_SHAPE = Expression(
    r"(?:(0{1,2})([-./ ]?))?(A{3,9})(?:[-./ ']|\. )?((?:00)?00)|((?:00)?00)[-./ ]?(A{3,9})"
)
_DAY_BEHIND = Expression(r"(A{3,9} )(0{1,2}),? (0000)")


def forms(sample: str) -> Iterator[Form]:
    """A month by name with its year; the day may stand before it."""
    if match := _DAY_BEHIND.fullmatch(sample):
        yield _day_behind(match)
    if not (match := _SHAPE.fullmatch(sample)):
        return
    years, cycle = of_year(match[4] or match[5])
    year, name = slice(*match.span(4 if match[4] else 5)), slice(*match.span(3 if match[3] else 6))
    months = {text: month for text, month in MONTHS.items() if len(text) == name.stop - name.start}
    if match[1]:
        days = days_of(counted(match[1], 31), match[2], months)
        day = slice(0, name.stop)
        yield Form(
            KEY + (".day" if cycle else ".day_full"),
            0,
            len(sample),
            year,
            years,
            cycle,
            "day",
            day,
            days,
        )
    else:
        form = KEY if cycle else KEY + ".full"
        yield Form(form, 0, len(sample), year, years, cycle, "month", name, months)


def _day_behind(match: re.Match[str]) -> Form:
    """The month, the day and the full year."""
    name, (years, cycle), end = match[1].rstrip(), of_year(match[3]), match.end()
    months = {text: month for text, month in MONTHS.items() if len(text) == len(name)}
    days = days_of(counted(match[2], 31), " ", months, month_first=True)
    year, day = slice(match.start(3), end), slice(0, match.end(2))
    return Form(KEY + ".day_full", 0, end, year, years, cycle, "day", day, days)


propose = proposing(forms)


def write(day: date) -> str:
    """Write a day in this scheme."""
    return f"{NAMES[day.month - 1][:3]} {day.year % 100:02}"
