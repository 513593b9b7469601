"""A year figure, an apostrophe, and two characters: ``8'31``.

The two characters are either a week, or a sign for the month (1 to 9, O, N, D; the O is often
read as a nought) and a lot figure: ``8'N4`` is November of a year that ends in 8. Which of the
two is not to be seen on one part; above 53 it can only be the month. The rest of the board tells.

Source: common practice.

>>> [(p.form, p.unit, p.number) for p in propose("8'31")]
[('apostrophe.month', 'month', 3), ('apostrophe.week', 'week', 31)]
>>> [(p.form, p.number) for p in propose("8'N4")]
[('apostrophe.month', 11)]
>>> [(p.form, p.number) for p in propose("8'04")]
[('apostrophe.month', 10), ('apostrophe.week', 4)]
>>> list(propose("8'X4"))
[]
>>> write(date(1978, 10, 12))
"8'41"
"""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date

from provenance.markings.expression import Expression
from provenance.markings.schemes.form import FIGURE, WEEKS, Form, proposing

KEY = "apostrophe"
NAME = "year figure, apostrophe, then week or month and lot figure"
SOURCE = "common practice"
LENGTHS = {"0-": (4, 4), "0A-": (4, 4)}
"""Shortest and longest token that is worth trying, by what it is made of: see ``makeup_of``."""

_SHAPE = Expression(r"0'([0A])0")
_MONTH = {sign: place for place, sign in enumerate("123456789OND", 1)} | {"0": 10}


def forms(sample: str) -> Iterator[Form]:
    """What follows the apostrophe as month and lot, and as a week."""
    if match := _SHAPE.fullmatch(sample):
        year = slice(0, 1)
        yield Form(KEY + ".month", 0, 4, year, FIGURE, 10, "month", slice(2, 3), _MONTH)
        if match[1] == "0":
            yield Form(KEY + ".week", 0, 4, year, FIGURE, 10, "week", slice(2, 4), WEEKS)


propose = proposing(forms)


def write(day: date) -> str:
    """Write a day in this scheme, as year and week."""
    year, week, _ = day.isocalendar()
    return f"{year % 10}'{week:02}"
