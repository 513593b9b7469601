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

from provenance.markings.schemes.form import NOTHING, NOWHERE, TWO_FIGURES, Form, proposing

KEY = "full_year"
NAME = "year alone"
SOURCE = "common practice"
LENGTHS = {"0": (4, 4), "-0": (3, 3)}
"""Shortest and longest token that is worth trying, by what it is made of: see ``makeup_of``."""

_YEARS = {str(year): year for year in range(1950, 2050)}


def forms(sample: str) -> Iterator[Form]:
    """A year by itself."""
    if sample == "0000":
        yield Form(KEY, 0, 4, slice(0, 4), _YEARS, 0, "year", NOWHERE, NOTHING)
    elif sample == "'00":
        name, year = KEY + ".apostrophe", slice(1, 3)
        yield Form(name, 0, 3, year, TWO_FIGURES, 100, "year", NOWHERE, NOTHING)


propose = proposing(forms)


def write(day: date) -> str:
    """Write a day in this scheme."""
    return f"{day.year:04}"
