"""The full year and the week: ``1978-41``, ``197841``, ``1978/41``.

Where the last two figures are 1 to 12 they may as well be a month; the scheme ``year_month``
proposes that.

Source: common practice.

>>> [(p.form, p.year, p.cycle, p.number) for p in propose("1978-41")]
[('full_year_week', 1978, 0, 41)]
>>> [p.form for p in propose("197841")], list(propose("197861"))
(['full_year_week.closed'], [])
>>> write(date(1978, 10, 12))
'1978-41'
"""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date

from provenance.markings.expression import Expression
from provenance.markings.schemes.form import FULL_YEARS, WEEKS, Form, proposing

KEY = "full_year_week"
NAME = "full year and week"
SOURCE = "common practice"
LENGTHS = {"0": (6, 6), "0-": (7, 7)}
"""Shortest and longest token that is worth trying, by what it is made of: see ``makeup_of``."""

_SHAPE = Expression(r"0000([-/. ]?)00")


def forms(sample: str) -> Iterator[Form]:
    """Four figures of the year and two of the week."""
    if match := _SHAPE.fullmatch(sample):
        name, end = KEY if match[1] else KEY + ".closed", len(sample)
        yield Form(name, 0, end, slice(0, 4), FULL_YEARS, 0, "week", slice(-2, None), WEEKS)


propose = proposing(forms)


def write(day: date) -> str:
    """Write a day in this scheme."""
    year, week, _ = day.isocalendar()
    return f"{year:04}-{week:02}"
