"""A lot number that begins with a year figure and a week: ``8415401``.

Seven figures, or four figures and letters (``8415BARJ``), of which the first is the year and the
next two the week. Many lot numbers are built up otherwise, so the reading stays doubtful.

Source: common practice.

>>> [(p.form, p.start, p.end, p.year, p.number) for p in propose("8415401")]
[('short_year_week_lot', 0, 3, 8, 41)]
>>> list(propose("8995401")), list(propose("841540"))
([], [])
>>> write(date(1978, 10, 12))
'8415401'
"""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date

from provenance.markings.expression import Expression
from provenance.markings.schemes.form import FIGURE, WEEKS, Form, proposing

KEY = "short_year_week_lot"
NAME = "lot number that begins with year figure and week"
SOURCE = "common practice"
LENGTHS = {"0": (7, 7), "0A": (7, 9)}
"""Shortest and longest token that is worth trying, by what it is made of: see ``makeup_of``."""

_SHAPE = Expression(r"000(?:(0000)|0000A|0A{3,5})")


def forms(sample: str) -> Iterator[Form]:
    """The first three figures as year and week."""
    if match := _SHAPE.fullmatch(sample):
        name = KEY if match[1] else KEY + ".letters"
        yield Form(name, 0, 3, slice(0, 1), FIGURE, 10, "week", slice(1, 3), WEEKS)


propose = proposing(forms)


def write(day: date) -> str:
    """Write a day in this scheme, with an invented lot."""
    year, week, _ = day.isocalendar()
    return f"{year % 10}{week:02}5401"
