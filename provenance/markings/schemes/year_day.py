"""The year and the day of the year: ``78285``, ``8285``. Also called a Julian date.

Two figures of the year or one, then three of the day, 001 to 366. A letter and lot may follow.

Source: ISO 8601-1:2019 (ordinal date) for the count; common practice for the short year.

>>> [(p.form, p.year, p.unit, p.number) for p in propose("78285")]
[('year_day', 78, 'ordinal', 285)]
>>> [(p.form, p.cycle) for p in propose("8285")], list(propose("78399"))
([('year_day.short', 10)], [])
>>> write(date(1978, 10, 12))
'78285'
"""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date

from provenance.markings.expression import Expression
from provenance.markings.schemes.form import Form, counted, of_year, proposing

KEY = "year_day"
NAME = "year and day of the year"
SOURCE = "ISO 8601-1:2019; common practice"
LENGTHS = {"0": (4, 5), "0A": (5, 9)}
"""Shortest and longest token that is worth trying, by what it is made of: see ``makeup_of``."""

_SHAPE = Expression(r"(0{1,2})000(A?|A0{1,3})")
_DAYS = counted("000", 366)
_VARIANTS = {(1, False): ".short", (1, True): ".short_lot", (2, False): "", (2, True): ".lot"}


def forms(sample: str) -> Iterator[Form]:
    """The figures as a year and the day of the year."""
    if match := _SHAPE.fullmatch(sample):
        length = len(match[1])
        years, cycle = of_year(match[1])
        name, end = KEY + _VARIANTS[length, bool(match[2])], length + 3
        year, day = slice(0, length), slice(length, end)
        yield Form(name, 0, end, year, years, cycle, "ordinal", day, _DAYS)


propose = proposing(forms)


def write(day: date) -> str:
    """Write a day in this scheme."""
    return f"{day.year % 100:02}{day.timetuple().tm_yday:03}"
