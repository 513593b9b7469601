"""A lot number that begins with a year figure and a week: ``8415401``.

Seven figures, or four figures and letters (``8415BARJ``), of which the first is the year and the
next two the week; six on parts of some numberings (``841540``). Many lot numbers are built up
otherwise, so the reading stays doubtful. A letter of the plant in front (``K8415401``) is usual on
processors and memories, and leaves less doubt; a dash and the number within the lot may follow
(``K8415401-0123``).

Source: common practice.

>>> [(p.form, p.start, p.end, p.year, p.number) for p in propose("8415401")]
[('short_year_week_lot', 0, 3, 8, 41)]
>>> [(p.form, p.start, p.end, p.year, p.number) for p in propose("K8415401")]
[('short_year_week_lot.plant', 1, 4, 8, 41)]
>>> [p.form for p in propose("K8415401-0123")]
['short_year_week_lot.plant']
>>> [p.form for p in propose("841540")]
['short_year_week_lot.six']
>>> list(propose("8995401")), list(propose("84154"))
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
LENGTHS = {"0": (6, 7), "0A": (7, 9), "A0": (8, 8), "A0-": (12, 13)}
"""Shortest and longest token that is worth trying, by what it is made of: see ``makeup_of``."""

_SHAPE = Expression(
    r"(?:A(?P<plant>0{7})(?:-0{3,4})?|0{7}|(?P<six>0{6})|000(?P<letters>0000A|0A{3,5}))"
)


def forms(sample: str) -> Iterator[Form]:
    """The first three figures as year and week."""
    if match := _SHAPE.fullmatch(sample):
        name = f"{KEY}.{match.lastgroup}" if match.lastgroup else KEY
        start = int(bool(match["plant"]))
        year, week = slice(start, start + 1), slice(start + 1, start + 3)
        yield Form(name, start, start + 3, year, FIGURE, 10, "week", week, WEEKS)


propose = proposing(forms)


def write(day: date) -> str:
    """Write a day in this scheme, with an invented lot."""
    year, week, _ = day.isocalendar()
    return f"{year % 10}{week:02}5401"
