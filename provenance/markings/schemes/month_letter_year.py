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
from provenance.markings.schemes.proposal import Proposal

KEY = "month_letter_year"
NAME = "month letter and year figure"
SOURCE = "common practice; memory"
LENGTHS = {"A0": (2, 9)}
"""Shortest and longest token that is worth trying, by what it is made of: see ``makeup_of``."""

MONTH_LETTERS = "ABCDEFGHJKLM"
_MONTH = {letter: place for place, letter in enumerate(MONTH_LETTERS, 1)}
_SHAPE = Expression(r"((?:[A-Z]{1,2}[0-9]{2,4})?)([A-HJ-M])([0-9])([A-Z]?)")
EXPRESSIONS = (_SHAPE,)
"""What is read fits one of these."""


def propose(token: str) -> Iterator[Proposal]:
    """Read a letter and a figure as month and year."""
    if match := _SHAPE.fullmatch(token):
        start = match.start(2)
        form = KEY + ".glued" if match[1] else KEY + ".line" if match[4] else KEY
        yield Proposal(form, start, start + 2, int(match[3]), 10, "month", _MONTH[match[2]])


def write(day: date) -> str:
    """Write a day in this scheme."""
    return f"{MONTH_LETTERS[day.month - 1]}{day.year % 10}"
