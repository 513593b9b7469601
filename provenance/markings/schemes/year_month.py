"""Two figures of the year and two of the month: ``97-11`` on batteries, ``9711`` elsewhere.

Full years are met too (``1997-11``, ``199711``).

Source: ISO 8601-1:2019 for ``1997-11``; common practice for the rest.

>>> [(p.form, p.year, p.number) for p in propose("97-11")]
[('year_month.separated', 97, 11)]
>>> [(p.form, p.year, p.cycle) for p in propose("1997-11")], list(propose("97-13"))
([('year_month.full', 1997, 0)], [])
>>> write(date(1997, 11, 3))
'97-11'
"""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date

from provenance.markings.expression import Expression
from provenance.markings.schemes.proposal import MONTH, Proposal

KEY = "year_month"
NAME = "year and month, YYMM or YY-MM"
SOURCE = "ISO 8601-1:2019; common practice"
LENGTHS = {"0": (4, 6), "0-": (5, 7)}
"""Shortest and longest token that is worth trying, by what it is made of: see ``makeup_of``."""

_SHAPE = Expression(rf"((?:19|20)?)([0-9]{{2}})([-/. ']?)({MONTH})")
EXPRESSIONS = (_SHAPE,)
"""What is read fits one of these."""


def propose(token: str) -> Iterator[Proposal]:
    """Read a token as year and month."""
    if match := _SHAPE.fullmatch(token):
        if match[1]:
            year, cycle, form = int(match[1] + match[2]), 0, KEY + ".full"
        else:
            year, cycle = int(match[2]), 100
            form = KEY + ".separated" if match[3] else KEY
        yield Proposal(form, 0, len(token), year, cycle, "month", int(match[4]))


def write(day: date) -> str:
    """Write a day in this scheme."""
    return f"{day.year % 100:02}-{day.month:02}"
