"""A year figure and a letter for the week: ``8C`` is week 3, ``8c`` week 29.

Capitals A to Z stand for weeks 1 to 26, small letters for weeks 27 to 52; a few houses underline
the letter instead of writing it small. Used on packages too small for more. Capitals are far more
often months.

Source: common practice; memory.

>>> [(p.form, p.year, p.number) for p in propose("8c")]
[('week_letter.small', 8, 29)]
>>> [(p.form, p.number) for p in propose("8C")]
[('week_letter', 3)]
>>> list(propose("c8"))
[]
>>> write(date(1978, 10, 12))
'8o'
"""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date

from provenance.markings.expression import Expression
from provenance.markings.schemes.proposal import Proposal

KEY = "week_letter"
NAME = "year figure and week letter"
SOURCE = "common practice; memory"
LENGTHS = {"0A": (2, 2)}
"""Shortest and longest token that is worth trying, by what it is made of: see ``makeup_of``."""

WEEK_LETTERS = "ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz"
_SHAPE = Expression(r"([0-9])([A-Za-z])")
EXPRESSIONS = (_SHAPE,)
"""What is read fits one of these."""


def propose(token: str) -> Iterator[Proposal]:
    """Read a figure and a letter as year and week."""
    if match := _SHAPE.fullmatch(token):
        form = KEY + ".small" if match[2].islower() else KEY
        week = WEEK_LETTERS.index(match[2]) + 1
        # The last letter serves for the days of a week 53 as well.
        until = 53 if week == 52 else 0
        yield Proposal(form, 0, 2, int(match[1]), 10, "week", week, until)


def write(day: date) -> str:
    """Write a day in this scheme; the days of a week 53 take the last letter."""
    year, week, _ = day.isocalendar()
    return f"{year % 10}{WEEK_LETTERS[min(week, 52) - 1]}"
