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
from provenance.markings.schemes.proposal import DAY_OF_YEAR, Proposal

KEY = "year_day"
NAME = "year and day of the year"
SOURCE = "ISO 8601-1:2019; common practice"
LENGTHS = {"0": (4, 5), "0A": (5, 9)}
"""Shortest and longest token that is worth trying, by what it is made of: see ``makeup_of``."""

_SHAPE = Expression(rf"([0-9]{{1,2}})({DAY_OF_YEAR})([A-Z]?|[A-Z][0-9]{{1,3}})")
EXPRESSIONS = (_SHAPE,)
"""What is read fits one of these."""


def propose(token: str) -> Iterator[Proposal]:
    """Read the figures as a year and the day of the year."""
    if match := _SHAPE.fullmatch(token):
        short = len(match[1]) == 1
        form = KEY + (".short" if short else "") + ("_lot" if match[3] and short else "")
        if match[3] and not short:
            form = KEY + ".lot"
        cycle = 10 if short else 100
        yield Proposal(form, 0, match.end(2), int(match[1]), cycle, "ordinal", int(match[2]))


def write(day: date) -> str:
    """Write a day in this scheme."""
    return f"{day.year % 100:02}{day.timetuple().tm_yday:03}"
