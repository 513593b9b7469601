"""A frequency, a line letter, a year figure and a month sign, on crystals: ``3.57C64``.

The month is 1 to 9, then X, Y, Z. The point of the frequency tells it from a part number.

Source: common practice.

>>> [(p.form, p.start, p.end, p.year, p.number) for p in propose("3.57C64")]
[('frequency_month', 5, 7, 6, 4)]
>>> [p.number for p in propose("3.579C8Y")]
[11]
>>> list(propose("3.579545")), list(propose("3.57C60"))
([], [])
>>> write(date(1986, 4, 2))
'4.00C64'
"""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date

from provenance.markings.expression import Expression
from provenance.markings.schemes.form import FIGURE, Form, proposing

KEY = "frequency_month"
NAME = "frequency, line letter, year figure and month sign"
SOURCE = "common practice"
LENGTHS = {"0A-": (6, 14)}
"""Shortest and longest token that is worth trying, by what it is made of: see ``makeup_of``."""

_SIGNS = "123456789XYZ"
_MONTH = {sign: place for place, sign in enumerate(_SIGNS, 1)}
_SHAPE = Expression(r"0{1,2}\.0{1,6}A{1,2}(0)[0A]A?")


def forms(sample: str) -> Iterator[Form]:
    """The two characters behind the line letter as year and month."""
    if match := _SHAPE.fullmatch(sample):
        start, end = match.start(1), match.start(1) + 2
        year, month = slice(start, start + 1), slice(start + 1, end)
        yield Form(KEY, start, end, year, FIGURE, 10, "month", month, _MONTH)


propose = proposing(forms)


def write(day: date) -> str:
    """Write a day in this scheme, behind an invented frequency."""
    return f"4.00C{day.year % 10}{_SIGNS[day.month - 1]}"
