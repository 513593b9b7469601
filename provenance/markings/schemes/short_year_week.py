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
from provenance.markings.schemes.proposal import WEEK, Proposal

KEY = "short_year_week"
NAME = "year figure and week, YWW"
SOURCE = "common practice"
LENGTHS = {"0": (3, 3), "0-": (4, 4)}
"""Shortest and longest token that is worth trying, by what it is made of: see ``makeup_of``."""

_SHAPE = Expression(rf"([0-9])([-/. ]?)({WEEK})")
EXPRESSIONS = (_SHAPE,)
"""What is read fits one of these."""


def propose(token: str) -> Iterator[Proposal]:
    """Read a token as one figure of the year and two of the week."""
    if match := _SHAPE.fullmatch(token):
        form = KEY + ".separated" if match[2] else KEY
        yield Proposal(form, 0, len(token), int(match[1]), 10, "week", int(match[3]))


def write(day: date) -> str:
    """Write a day in this scheme."""
    year, week, _ = day.isocalendar()
    return f"{year % 10}{week:02}"
