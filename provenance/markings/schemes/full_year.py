"""The year alone, in full: ``1978``, or with an apostrophe, ``'78``.

Without a copyright sign before it, a year may be the year of manufacture; far more often it is a
design year, so the reading weighs little.

Source: common practice.

>>> [(p.form, p.year, p.unit) for p in propose("1978")]
[('full_year', 1978, 'year')]
>>> [(p.form, p.year) for p in propose("'78")], list(propose("2178"))
([('full_year.apostrophe', 78)], [])
>>> write(date(1978, 10, 12))
'1978'
"""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date

from provenance.markings.expression import Expression
from provenance.markings.schemes.proposal import Proposal

KEY = "full_year"
NAME = "year alone"
SOURCE = "common practice"
LENGTHS = {"0": (4, 4), "-0": (3, 3)}
"""Shortest and longest token that is worth trying, by what it is made of: see ``makeup_of``."""

_SHAPE = Expression(r"(?:(19[5-9][0-9]|20[0-4][0-9])|'([0-9]{2}))")
EXPRESSIONS = (_SHAPE,)
"""What is read fits one of these."""


def propose(token: str) -> Iterator[Proposal]:
    """Read a token as a year."""
    if match := _SHAPE.fullmatch(token):
        if match[1]:
            yield Proposal(KEY, 0, 4, int(match[1]), 0, "year", 0)
        else:
            yield Proposal(KEY + ".apostrophe", 0, 3, int(match[2]), 100, "year", 0)


def write(day: date) -> str:
    """Write a day in this scheme."""
    return f"{day.year:04}"
