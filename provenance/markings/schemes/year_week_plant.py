"""One to four letters of the plant, line or country, then year and week, YYWW.

The letters touch the figures: ``H7841``. A line letter may follow as well (``H7841B``), or a lot:
letters and figures (``N7841BA07``), or two figures and a dash (``C784123-M``). Some plants are
numbered: ``37841``. Programmable logic has the package before the letters: ``PQ84QAB7841``.

Source: common practice.

>>> [(p.form, p.start, p.end, p.year, p.number) for p in propose("H7841")]
[('year_week_plant.one', 1, 5, 78, 41)]
>>> [p.form for p in propose("HT7841B")], [p.form for p in propose("N7841BA07")]
(['year_week_plant.two'], ['year_week_plant.lot'])
>>> [(p.form, p.start, p.year, p.number) for p in propose("37841")]
[('year_week_plant.figure', 1, 78, 41)]
>>> [(p.form, p.start, p.year) for p in propose("PQ84QAB7841")]
[('year_week_plant.package', 7, 78)]
>>> list(propose("H7861"))
[]
>>> write(date(1978, 10, 12))
'K7841'
"""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date

from provenance.markings.expression import Expression
from provenance.markings.schemes.form import TWO_FIGURES, WEEKS, Form, proposing

KEY = "year_week_plant"
NAME = "plant letters, then year and week"
SOURCE = "common practice"
LENGTHS = {"0": (5, 5), "A0": (5, 14), "A0-": (5, 14)}
"""Shortest and longest token that is worth trying, by what it is made of: see ``makeup_of``."""

_SHAPE = Expression(
    r"(A{1,4})0000(?:(A{0,2})|(A{1,2}0{2,4}|(?:00)?-?A{1,2}|0{1,2}))"
    r"|(0)0000|(A{2,3}0{2,3}A{3})0000"
)
_LETTERS = {1: KEY + ".one", 2: KEY + ".two", 3: KEY + ".three", 4: KEY + ".four"}


def forms(sample: str) -> Iterator[Form]:
    """The four figures behind the letters as year and week."""
    if match := _SHAPE.fullmatch(sample):
        start = len(match[1] or match[4] or match[5])
        if match[1]:
            name = KEY + ".lot" if match[3] else _LETTERS[start]
        else:
            name = KEY + (".figure" if match[4] else ".package")
        year, week = slice(start, start + 2), slice(start + 2, start + 4)
        yield Form(name, start, start + 4, year, TWO_FIGURES, 100, "week", week, WEEKS)


propose = proposing(forms)


def write(day: date) -> str:
    """Write a day in this scheme, with K for the plant."""
    year, week, _ = day.isocalendar()
    return f"K{year % 100:02}{week:02}"
