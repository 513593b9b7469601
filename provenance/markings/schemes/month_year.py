"""The month first, then the year: ``11/97``, ``11-1997``, ``11.97``, ``1197``.

Usual on parts with Cyrillic letters (``0786``), on relays, capacitors and batteries.

Source: common practice.

>>> [(p.form, p.year, p.cycle, p.number) for p in propose("11/97")]
[('month_year.separated', 97, 100, 11)]
>>> [(p.form, p.year, p.cycle) for p in propose("11/1997")], [p.form for p in propose("1197")]
([('month_year.full', 1997, 0)], ['month_year'])
>>> [(p.form, p.year, p.number) for p in propose("7.83")], list(propose("8.41"))
([('month_year.dotted_short', 83, 7)], [])
>>> list(propose("13/97"))
[]
>>> write(date(1997, 11, 3))
'11/97'
"""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date

from provenance.markings.expression import Expression
from provenance.markings.schemes.form import (
    MONTHS,
    SHORT_MONTHS,
    TWO_FIGURES,
    Form,
    of_year,
    proposing,
)

KEY = "month_year"
NAME = "month and year, MM/YY"
SOURCE = "common practice"
LENGTHS = {"0": (4, 4), "0-": (4, 7)}
"""Shortest and longest token that is worth trying, by what it is made of: see ``makeup_of``."""

_NO_WEEKS = {text: year for text, year in TWO_FIGURES.items() if year > 53}
"""Years that cannot be weeks: ``8.41`` is a year and a week, ``7.83`` a month and a year."""
_SHAPE = Expression(r"(0{1,2})([-/. ']?)(00|0000)")


def forms(sample: str) -> Iterator[Form]:
    """Month and year."""
    if not (match := _SHAPE.fullmatch(sample)):
        return
    months = MONTHS if len(match[1]) == 2 else SHORT_MONTHS
    years, cycle = of_year(match[3])
    if not cycle and match[2]:
        name = KEY + ".full"
    elif cycle and match[2] in ("-", "/"):
        name = KEY + ".separated"
    elif cycle and match[2] == ".":
        name = KEY + ".dotted"
        if months is SHORT_MONTHS:
            name, years = name + "_short", _NO_WEEKS
    elif cycle and not match[2] and months is MONTHS:
        name = KEY
    else:
        return
    month, year = slice(0, match.end(1)), slice(match.start(3), None)
    yield Form(name, 0, len(sample), year, years, cycle, "month", month, months)


propose = proposing(forms)


def write(day: date) -> str:
    """Write a day in this scheme."""
    return f"{day.month:02}/{day.year % 100:02}"
