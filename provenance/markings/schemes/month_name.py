"""The month by its English name or first three letters, with the year: ``NOV 78``, ``78NOV``.

A day may stand before (``12 NOV 78``, ``12-NOV-78``), and the year may be full.

Source: common practice.

>>> [(p.form, p.year, p.number) for p in propose("NOV 78")]
[('month_name', 78, 11)]
>>> [(p.year, p.cycle) for p in propose("NOVEMBER 1978")], [p.year for p in propose("78NOV")]
([(1978, 0)], [78])
>>> [(p.form, p.unit, p.number) for p in propose("12-NOV-78")]
[('month_name.day', 'day', 1112)]
>>> list(propose("NOW 78"))
[]
>>> write(date(1978, 11, 12))
'NOV 78'
"""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date

from provenance.markings.expression import Expression
from provenance.markings.schemes.proposal import Proposal, is_day

KEY = "month_name"
NAME = "month by name and year"
SOURCE = "common practice"
LENGTHS = {"0A": (5, 15), "0A-": (6, 17), "A0": (5, 13), "A0-": (6, 17)}
"""Shortest and longest token that is worth trying, by what it is made of: see ``makeup_of``."""

NAMES = (
    "JANUARY", "FEBRUARY", "MARCH", "APRIL", "MAY", "JUNE", "JULY", "AUGUST", "SEPTEMBER",
    "OCTOBER", "NOVEMBER", "DECEMBER",
)  # fmt: skip
MONTHS = {name: place for place, name in enumerate(NAMES, 1)}
MONTHS |= {name[:3]: place for name, place in MONTHS.items()} | {"SEPT": 9}
_SHAPE = Expression(
    r"(?:([0-9]{1,2})[-./ ]?)?([A-Z]{3,9})(?:[-./ ']|\. )?((?:19|20)?[0-9]{2})"
    r"|((?:19|20)?[0-9]{2})[-./ ]?([A-Z]{3,9})"
)
EXPRESSIONS = (_SHAPE,)
"""What is read fits one of these."""


def propose(token: str) -> Iterator[Proposal]:
    """Read a token as a month by name with its year."""
    if not (match := _SHAPE.fullmatch(token)):
        return
    month, year = MONTHS.get(match[2] or match[5], 0), match[3] or match[4]
    cycle = 100 if len(year) == 2 else 0
    if month and not match[1]:
        yield Proposal(KEY, 0, len(token), int(year), cycle, "month", month)
    elif month and is_day(month, day := int(match[1])):
        yield Proposal(KEY + ".day", 0, len(token), int(year), cycle, "day", month * 100 + day)


def write(day: date) -> str:
    """Write a day in this scheme."""
    return f"{NAMES[day.month - 1][:3]} {day.year % 100:02}"
