"""A year letter of the IEC cycle, then two figures of the week: ``K41``.

Letters repeat every 20 years, as in ``iec_letters``. A plant letter may stand before (``AK41``).
A letter and two figures are far more often a lot or a line, so the reading weighs little.

Source: common practice; the letters are those of IEC 60062.

>>> [(p.form, p.year, p.cycle, p.number) for p in propose("K41")]
[('letter_year_week', 18, 20, 41)]
>>> [(p.form, p.start) for p in propose("AK41")], list(propose("K61"))
([('letter_year_week.plant', 1)], [])
>>> write(date(1978, 10, 12))
'K41'
"""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date

from provenance.markings.expression import Expression
from provenance.markings.schemes.form import WEEKS, Form, proposing
from provenance.markings.schemes.iec_letters import YEAR_LETTERS, YEARS

KEY = "letter_year_week"
NAME = "year letter and week"
SOURCE = "common practice; letters of IEC 60062"
LENGTHS = {"A0": (3, 4)}
"""Shortest and longest token that is worth trying, by what it is made of: see ``makeup_of``."""

_SHAPE = Expression(r"(A?)A00")


def forms(sample: str) -> Iterator[Form]:
    """A letter and two figures as year and week."""
    if match := _SHAPE.fullmatch(sample):
        name, start = KEY + ".plant" if match[1] else KEY, len(match[1])
        year, week = slice(start, start + 1), slice(start + 1, None)
        yield Form(name, start, len(sample), year, YEARS, 20, "week", week, WEEKS)


propose = proposing(forms)


def write(day: date) -> str:
    """Write a day in this scheme."""
    year, week, _ = day.isocalendar()
    return f"{YEAR_LETTERS[(year - 1970) % 20]}{week:02}"
