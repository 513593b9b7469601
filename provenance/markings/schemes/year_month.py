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
from provenance.markings.schemes.form import MONTHS, Form, of_year, proposing

KEY = "year_month"
NAME = "year and month, YYMM or YY-MM"
SOURCE = "ISO 8601-1:2019; common practice"
LENGTHS = {"0": (4, 6), "0-": (5, 7)}
"""Shortest and longest token that is worth trying, by what it is made of: see ``makeup_of``."""

_SHAPE = Expression(r"(00|0000)([-/. ']?)00")


def forms(sample: str) -> Iterator[Form]:
    """Year and month."""
    if match := _SHAPE.fullmatch(sample):
        years, cycle = of_year(match[1])
        name = KEY + ("" if cycle and not match[2] else ".separated" if cycle else ".full")
        year, month = slice(0, match.end(1)), slice(-2, None)
        yield Form(name, 0, len(sample), year, years, cycle, "month", month, MONTHS)


propose = proposing(forms)


def write(day: date) -> str:
    """Write a day in this scheme."""
    return f"{day.year % 100:02}-{day.month:02}"
