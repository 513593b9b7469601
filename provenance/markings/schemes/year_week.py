"""Two figures of the year, then two of the week, standing alone.

The commonest date code on packages since the late 1960s. A separator may stand between the two
halves. Nothing says which week convention the house used, so the days are the union of the ISO,
EIA and week-of-1-January conventions. Week 00 is written by a few houses for the days before the
first whole week (common practice); 54 and up is no week.

Source: MIL-DTL-23971D, 3.7.1, and MIL-STD-1285D; IEC 60062 (four-figure year and week code).

>>> [(p.form, p.year, p.number) for p in propose("7841")]
[('year_week', 78, 41)]
>>> [(p.form, p.year, p.number) for p in propose("78-41")]
[('year_week.separated', 78, 41)]
>>> [p.form for p in propose("97-11")]  # more often a year and month
['year_week.separated_month']
>>> list(propose("7854")), list(propose("78410"))
([], [])
>>> write(date(1977, 1, 1))
'7653'
"""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date

from provenance.markings.expression import Expression
from provenance.markings.schemes.proposal import Proposal

KEY = "year_week"
NAME = "year and week, YYWW"
SOURCE = "MIL-DTL-23971D 3.7.1; MIL-STD-1285D; IEC 60062"
LENGTHS = {"0": (4, 4), "0-": (5, 5)}
"""Shortest and longest token that is worth trying, by what it is made of: see ``makeup_of``."""

_SHAPE = Expression(r"([0-9]{2})([-/. ':]?)([0-4][0-9]|5[0-3])")
EXPRESSIONS = (_SHAPE,)
"""What is read fits one of these."""


def propose(token: str) -> Iterator[Proposal]:
    """Read a token as year and week."""
    if match := _SHAPE.fullmatch(token):
        week = int(match[3])
        if match[2]:
            form = KEY + (".separated" if week > 12 else ".separated_month")
        else:
            form = KEY if week else KEY + ".week_00"
        yield Proposal(form, 0, len(token), int(match[1]), 100, "week", week)


def write(day: date) -> str:
    """Write a day in this scheme."""
    year, week, _ = day.isocalendar()
    return f"{year % 100:02}{week:02}"
