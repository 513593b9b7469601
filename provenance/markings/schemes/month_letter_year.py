"""A month letter, then a year figure: ``E9``, mostly glued behind a crystal's type mark.

Letters A to M without I. ``Q419E9`` is a crystal of May in a year that ends in 9; a line letter
may follow (``Q419E9C``). The decade is left open.

Source: common practice; memory.

>>> [(p.form, p.start, p.end, p.year, p.number) for p in propose("Q419E9")]
[('month_letter_year.glued', 4, 6, 9, 5)]
>>> [(p.form, p.number) for p in propose("M8")]
[('month_letter_year', 12)]
>>> list(propose("Q419I9"))
[]
>>> write(date(1989, 5, 9))
'E9'
"""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date

from provenance.markings.expression import Expression
from provenance.markings.schemes.form import FIGURE, Form, proposing
from provenance.markings.schemes.year_digit_month import MONTH_LETTERS

KEY = "month_letter_year"
NAME = "month letter and year figure"
SOURCE = "common practice; memory"
LENGTHS = {"A0": (2, 9)}
"""Shortest and longest token that is worth trying, by what it is made of: see ``makeup_of``."""

_MONTH = {letter: place for place, letter in enumerate(MONTH_LETTERS, 1)}
_SHAPE = Expression(r"((?:A{1,2}0{2,4})?)A0(A?)")


def forms(sample: str) -> Iterator[Form]:
    """A letter and a figure as month and year."""
    if match := _SHAPE.fullmatch(sample):
        start = len(match[1])
        name = KEY + ".glued" if match[1] else KEY + ".line" if match[2] else KEY
        month, year = slice(start, start + 1), slice(start + 1, start + 2)
        yield Form(name, start, start + 2, year, FIGURE, 10, "month", month, _MONTH)


propose = proposing(forms)


def write(day: date) -> str:
    """Write a day in this scheme."""
    return f"{MONTH_LETTERS[day.month - 1]}{day.year % 10}"
