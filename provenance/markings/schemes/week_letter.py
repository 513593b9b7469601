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

from provenance.markings.schemes.form import FIGURE, Form, proposing

KEY = "week_letter"
NAME = "year figure and week letter"
SOURCE = "common practice; memory"
LENGTHS = {"0A": (2, 2)}
"""Shortest and longest token that is worth trying, by what it is made of: see ``makeup_of``."""

WEEK_LETTERS = "ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz"
_SMALL = {letter: week for week, letter in enumerate(WEEK_LETTERS, 1) if letter.islower()}
_CAPITAL = {letter: week for week, letter in enumerate(WEEK_LETTERS, 1) if letter.isupper()}
_LAST = {"z": _SMALL.pop("z")}


def forms(sample: str) -> Iterator[Form]:
    """A figure and a letter as year and week."""
    year, letter = slice(0, 1), slice(1, 2)
    if sample == "0A":
        yield Form(KEY, 0, 2, year, FIGURE, 10, "week", letter, _CAPITAL)
    elif sample == "0a":
        yield Form(KEY + ".small", 0, 2, year, FIGURE, 10, "week", letter, _SMALL)
        # The last letter serves for the days of a week 53 as well.
        yield Form(KEY + ".small", 0, 2, year, FIGURE, 10, "week", letter, _LAST, until=53)


propose = proposing(forms)


def write(day: date) -> str:
    """Write a day in this scheme; the days of a week 53 take the last letter."""
    year, week, _ = day.isocalendar()
    return f"{year % 10}{WEEK_LETTERS[min(week, 52) - 1]}"
