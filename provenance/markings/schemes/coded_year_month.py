"""Two letters, a year figure or the letter that counts for it, and a month: ``AQE9``.

A counts for 1, B for 2, and so on to J for 0; the month is 1 to 9, then X, Y, Z. Houses change
from the figure to the letter when a decade comes round, so the letter does not settle the decade.

Source: common practice.

>>> [(p.form, p.year, p.number) for p in propose("AQE9")]
[('coded_year_month', 5, 9)]
>>> [(p.form, p.year, p.number) for p in propose("AQ3X")]
[('coded_year_month.figure', 3, 10)]
>>> list(propose("AQK9"))
[]
>>> write(date(2005, 9, 1))
'AQE9'
"""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date

from provenance.markings.expression import Expression
from provenance.markings.schemes.form import FIGURE, Form, proposing

KEY = "coded_year_month"
NAME = "letters, coded year figure, month sign"
SOURCE = "common practice"
LENGTHS = {"A": (4, 4), "A0": (4, 4)}
"""Shortest and longest token that is worth trying, by what it is made of: see ``makeup_of``."""

_YEARS = "JABCDEFGHI"
_SIGNS = "123456789XYZ"
_LETTERS = {letter: figure for figure, letter in enumerate(_YEARS)}
_MONTH = {sign: place for place, sign in enumerate(_SIGNS, 1)}
_SHAPE = Expression(r"AA([0A])([0A])")


def forms(sample: str) -> Iterator[Form]:
    """The third character as the year and the fourth as the month."""
    if match := _SHAPE.fullmatch(sample):
        years = FIGURE if match[1] == "0" else _LETTERS
        name = KEY + (".figure" if match[1] == "0" else "" if match[2] == "0" else ".letters")
        yield Form(name, 2, 4, slice(2, 3), years, 10, "month", slice(3, 4), _MONTH)


propose = proposing(forms)


def write(day: date) -> str:
    """Write a day in this scheme, behind two invented letters."""
    return f"AQ{_YEARS[day.year % 10]}{_SIGNS[day.month - 1]}"
