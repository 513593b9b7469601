"""One figure of the year, then two of the week: YWW. The decade is left open.

A separator may stand between (``8.41``, ``8-41``, or a gap). Common on small packages.

Source: common practice; the one-figure year is in the EIA code books of the 1950s and 1960s.

>>> [(p.form, p.year, p.cycle, p.number) for p in propose("841")]
[('short_year_week', 8, 10, 41)]
>>> [p.form for p in propose("8 41")], list(propose("861"))
(['short_year_week.separated'], [])
>>> write(date(1978, 10, 12))
'841'
"""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date

from provenance.markings.expression import Expression
from provenance.markings.schemes.form import FIGURE, WEEKS, Form, proposing

KEY = "short_year_week"
NAME = "year figure and week, YWW"
SOURCE = "common practice"
LENGTHS = {"0": (3, 3), "0-": (4, 4)}
"""Shortest and longest token that is worth trying, by what it is made of: see ``makeup_of``."""

_SHAPE = Expression(r"0([-/. ]?)00")


def forms(sample: str) -> Iterator[Form]:
    """One figure of the year and two of the week."""
    if match := _SHAPE.fullmatch(sample):
        name, end = KEY + ".separated" if match[1] else KEY, len(sample)
        yield Form(name, 0, end, slice(0, 1), FIGURE, 10, "week", slice(-2, None), WEEKS)


propose = proposing(forms)


def write(day: date) -> str:
    """Write a day in this scheme."""
    year, week, _ = day.isocalendar()
    return f"{year % 10}{week:02}"
