"""The week first, then two figures of the year (``4178``) or one (``418``).

Rarer than the other order; where both are possible the board has to tell.

Source: common practice.

>>> [(p.form, p.year, p.cycle, p.number) for p in propose("4178")]
[('week_year', 78, 100, 41)]
>>> [(p.form, p.year, p.cycle, p.number) for p in propose("41/78")]
[('week_year.separated', 78, 100, 41)]
>>> [(p.form, p.year, p.cycle, p.number) for p in propose("418")]
[('week_year.short', 8, 10, 41)]
>>> [(p.form, p.year, p.cycle, p.number) for p in propose("41/1978")]
[('week_year.full_separated', 1978, 0, 41)]
>>> list(propose("6178"))
[]
>>> write(date(1978, 10, 12))
'4178'
"""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date

from provenance.markings.expression import Expression
from provenance.markings.schemes.form import WEEKS, Form, of_year, proposing

KEY = "week_year"
NAME = "week and year, WWYY or WWY"
SOURCE = "common practice"
LENGTHS = {"0": (3, 4), "0-": (4, 7), "A0": (4, 6), "A0-": (5, 7)}
"""Shortest and longest token that is worth trying, by what it is made of: see ``makeup_of``."""

_SHAPE = Expression(r"(A{0,2})00([-/. ']?)(0{1,2}|0000)")
_SIGNS = (("",), ("W", "K"), ("WK",))
"""What may stand before the week, by its length."""


def forms(sample: str) -> Iterator[Form]:
    """Week and year."""
    if match := _SHAPE.fullmatch(sample):
        before, separator, figures = match.groups()
        start, end = len(before), len(sample)
        years, cycle = of_year(figures)
        if cycle:
            apart = "separated" if separator or before else ""
        elif before or separator in ("", "'"):
            return
        else:
            apart = "spaced" if separator == " " else "separated"
        variant = "_".join(filter(None, ({0: "full", 10: "short"}.get(cycle), apart)))
        name = f"{KEY}.{variant}" if variant else KEY
        weeks = {sign + text: week for sign in _SIGNS[start] for text, week in WEEKS.items()}
        week, year = slice(0, start + 2), slice(end - len(figures), end)
        yield Form(name, start, end, year, years, cycle, "week", week, weeks)


propose = proposing(forms)


def write(day: date) -> str:
    """Write a day in this scheme."""
    year, week, _ = day.isocalendar()
    return f"{week:02}{year % 100:02}"
