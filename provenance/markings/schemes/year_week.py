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
from provenance.markings.schemes.form import TWO_FIGURES, WEEKS, Form, proposing

KEY = "year_week"
NAME = "year and week, YYWW"
SOURCE = "MIL-DTL-23971D 3.7.1; MIL-STD-1285D; IEC 60062"
LENGTHS = {"0": (4, 4), "0-": (5, 5)}
"""Shortest and longest token that is worth trying, by what it is made of: see ``makeup_of``."""

_SHAPE = Expression(r"00([-/. ':]?)00")
_EARLY = {"00": 0} | {text: week for text, week in WEEKS.items() if week <= 12}
_LATE = {text: week for text, week in WEEKS.items() if week > 12}
_CLOSED = (("", WEEKS), (".week_00", {"00": 0}))
_SEPARATED = ((".separated", _LATE), (".separated_month", _EARLY))


def forms(sample: str) -> Iterator[Form]:
    """Year and week."""
    if match := _SHAPE.fullmatch(sample):
        year, week, end = slice(0, 2), slice(-2, None), len(sample)
        for variant, weeks in _SEPARATED if match[1] else _CLOSED:
            yield Form(KEY + variant, 0, end, year, TWO_FIGURES, 100, "week", week, weeks)


propose = proposing(forms)


def write(day: date) -> str:
    """Write a day in this scheme."""
    year, week, _ = day.isocalendar()
    return f"{year % 100:02}{week:02}"
