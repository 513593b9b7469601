"""The week first, then two figures of the year (``4178``) or one (``418``).

Rarer than the other order; where both are possible the board has to tell.

Source: common practice.

>>> [(p.form, p.year, p.cycle, p.number) for p in propose("4178")]
[('week_year', 78, 100, 41)]
>>> [(p.form, p.year, p.cycle, p.number) for p in propose("41/78")]
[('week_year.separated', 78, 100, 41)]
>>> [(p.form, p.year, p.cycle, p.number) for p in propose("418")]
[('week_year.short', 8, 10, 41)]
>>> list(propose("6178"))
[]
>>> write(date(1978, 10, 12))
'4178'
"""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date

from provenance.markings.expression import Expression
from provenance.markings.schemes.proposal import WEEK, Proposal

KEY = "week_year"
NAME = "week and year, WWYY or WWY"
SOURCE = "common practice"
LENGTHS = {"0": (3, 4), "0-": (4, 5), "A0": (4, 6), "A0-": (5, 7)}
"""Shortest and longest token that is worth trying, by what it is made of: see ``makeup_of``."""

_SHAPE = Expression(rf"(W?K?)({WEEK})([-/. ']?)([0-9]{{1,2}})")
EXPRESSIONS = (_SHAPE,)
"""What is read fits one of these."""


def propose(token: str) -> Iterator[Proposal]:
    """Read a token as week and year."""
    if match := _SHAPE.fullmatch(token):
        start, figures = len(match[1]), len(match[4])
        form = KEY if figures == 2 else KEY + ".short"
        if match[3] or start:
            form = KEY + (".separated" if figures == 2 else ".short_separated")
        cycle = 100 if figures == 2 else 10
        yield Proposal(form, start, len(token), int(match[4]), cycle, "week", int(match[2]))


def write(day: date) -> str:
    """Write a day in this scheme."""
    year, week, _ = day.isocalendar()
    return f"{week:02}{year % 100:02}"
