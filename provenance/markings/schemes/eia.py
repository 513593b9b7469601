"""The EIA source and date code: a source symbol, then year and week.

The symbol is three or four figures, assigned to the factory; the date is two figures of the year
(one in older marks) and two of the week, usually behind a dash; a line letter may follow. The week
runs Sunday to Saturday. Worked example on the ECIA page: ``113-9910`` is the week of March 7 to 13,
1999.

Source: ECIA, 'EIA Source Codes' (source and date code books, 1946 to 2001).

>>> [(p.form, p.start, p.end, p.year, p.number) for p in propose("113-9910")]
[('eia', 4, 8, 99, 10)]
>>> [(p.form, p.year, p.cycle) for p in propose("113-910")]
[('eia.short', 9, 10)]
>>> [p.form for p in propose("1139910")], list(propose("113-9961"))
(['eia.closed'], [])
>>> write(date(1999, 3, 9))
'113-9910'
"""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date, timedelta

from provenance.markings.expression import Expression
from provenance.markings.schemes.form import WEEKS, Form, of_year, proposing

KEY = "eia"
NAME = "EIA source and date code"
SOURCE = "ECIA, 'EIA Source Codes' page and code books 1946-2001"
LENGTHS = {"0": (7, 8), "0-": (7, 9), "0A-": (8, 10)}
"""Shortest and longest token that is worth trying, by what it is made of: see ``makeup_of``."""

_CLOSED = Expression(r"0{3,4}()(00)00")
_SEPARATED = Expression(r"0{3,4}([- ])(0{1,2})00A?")


def forms(sample: str) -> Iterator[Form]:
    """The figures behind the source symbol as year and week."""
    if match := _CLOSED.fullmatch(sample) or _SEPARATED.fullmatch(sample):
        years, cycle = of_year(match[2])
        name = KEY + (".closed" if not match[1] else ".short" if cycle == 10 else "")
        start, middle = match.span(2)
        end = middle + 2
        year, week = slice(start, middle), slice(middle, end)
        yield Form(name, start, end, year, years, cycle, "eia week", week, WEEKS)


propose = proposing(forms)


def write(day: date) -> str:
    """Write a day in this scheme, with the symbol of the worked example."""
    year, week, _ = (day + timedelta(days=1)).isocalendar()
    return f"113-{year % 100:02}{week:02}"
