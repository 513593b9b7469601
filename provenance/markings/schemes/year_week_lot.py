"""Year and week, YYWW, then a line letter or a lot, all in one.

``7841B`` has a letter behind (on capacitors also in brackets, ``7841(M)``), ``7841E9006`` letters
and figures, ``78413`` a figure, ``78413PK`` a figure and a lot, ``7841104-D``
three figures and a letter. Figures behind a dash (``7841-2``) are seldom more than two: house part
numbers are written like that.

Source: common practice.

>>> [(p.form, p.year, p.number) for p in propose("7841B")]
[('year_week_lot.letter', 78, 41)]
>>> [p.form for p in propose("7841EP9006")], [p.form for p in propose("78413")]
(['year_week_lot.lot'], ['year_week_lot.figure'])
>>> [p.form for p in propose("7841(M)")], [p.form for p in propose("78413PK")]
(['year_week_lot.letter'], ['year_week_lot.figure_lot'])
>>> list(propose("7841")), list(propose("7899B"))
([], [])
>>> write(date(1978, 10, 12))
'7841B'
"""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date

from provenance.markings.expression import Expression
from provenance.markings.schemes.form import TWO_FIGURES, WEEKS, Form, proposing

KEY = "year_week_lot"
NAME = "year and week, then a line letter or lot"
SOURCE = "common practice"
LENGTHS = {"0": (5, 5), "0A": (5, 14), "0-": (6, 9), "0A-": (6, 14)}
"""Shortest and longest token that is worth trying, by what it is made of: see ``makeup_of``."""

_SHAPE = Expression(
    r"0000(?:(?P<letter>-?[Aa]{1,3}|\(A\)?)"
    r"|(?P<lot>A{1,3}-?0{1,6}A?|0A000|000-A)"
    r"|(?P<figure_lot>0A[0A])"
    r"|(?P<dash>-00?)|(?P<dash_long>-000|-0000)"
    r"|(?P<figure>0))"
)

_YEARS = {text: year for text, year in TWO_FIGURES.items() if year not in (19, 20)}


def forms(sample: str) -> Iterator[Form]:
    """The first four figures as year and week."""
    if match := _SHAPE.fullmatch(sample):
        name = f"{KEY}.{match.lastgroup}"
        # ``2004-06`` is a year and a month.
        years = _YEARS if sample == "0000-00" else TWO_FIGURES
        yield Form(name, 0, 4, slice(0, 2), years, 100, "week", slice(2, 4), WEEKS)


propose = proposing(forms)


def write(day: date) -> str:
    """Write a day in this scheme, with B for the line."""
    year, week, _ = day.isocalendar()
    return f"{year % 100:02}{week:02}B"
