"""One to six letters of the plant, line or country, then year and week, YYWW.

The letters touch the figures: ``H7841``. A line letter may follow as well (``H7841B``), or a lot:
letters and figures (``N7841BA07``), or two figures and a dash (``C784123-M``). Some plants are
numbered: ``37841``. Figures of a lot may stand between the letters: ``K12M7841``. Programmable
logic has the package before the letters: ``PQ84QAB7841``.

Source: common practice.

>>> [(p.form, p.start, p.end, p.year, p.number) for p in propose("H7841")]
[('year_week_plant.one', 1, 5, 78, 41)]
>>> [p.form for p in propose("HT7841B")], [p.form for p in propose("N7841BA07")]
(['year_week_plant.two'], ['year_week_plant.lot'])
>>> [(p.form, p.start, p.year, p.number) for p in propose("37841")]
[('year_week_plant.figure', 1, 78, 41)]
>>> [(p.form, p.start, p.year) for p in propose("PQ84QAB7841")]
[('year_week_plant.package', 7, 78)]
>>> [(p.form, p.start) for p in propose("K12M7841")]
[('year_week_plant.mixed', 4)]
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
    r"|(0)0000|(A{2,3}0{2,3}A{3})0000|(A{5,6})0000|(A0{2,4}A)0000"
)
_LETTERS = {1: ".one", 2: ".two", 3: ".three", 4: ".four"}
"""By the number of letters in front."""
_KINDS = {3: ".lot", 4: ".figure", 5: ".package", 6: ".more", 7: ".mixed"}
"""By the last group of the pattern; others go by the number of letters."""


def forms(sample: str) -> Iterator[Form]:
    """The four figures behind the letters as year and week."""
    if match := _SHAPE.fullmatch(sample):
        group = match.lastindex or 0
        start = len(match[1] or match[group])
        name = KEY + (_KINDS.get(group) or _LETTERS[start])
        year, week = slice(start, start + 2), slice(start + 2, start + 4)
        yield Form(name, start, start + 4, year, TWO_FIGURES, 100, "week", week, WEEKS)


propose = proposing(forms)


def write(day: date) -> str:
    """Write a day in this scheme, with K for the plant."""
    year, week, _ = day.isocalendar()
    return f"K{year % 100:02}{week:02}"
