"""A year figure and a week, YWW, with letters of plant, line or lot glued on.

Before (``H841``), behind (``841E``), or as a lot of letters and figures behind (``841A262``,
``850U3L``). The decade is left open.

Source: common practice.

>>> [(p.form, p.start, p.year, p.number) for p in propose("H841")]
[('short_year_week_plant.before', 1, 8, 41)]
>>> [p.form for p in propose("841E")], [p.form for p in propose("841U3L")]
(['short_year_week_plant.behind'], ['short_year_week_plant.lot'])
>>> list(propose("H899"))
[]
>>> write(date(1978, 10, 12))
'K841'
"""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date

from provenance.markings.expression import Expression
from provenance.markings.schemes.form import FIGURE, WEEKS, Form, proposing

KEY = "short_year_week_plant"
NAME = "year figure and week with plant or line letters"
SOURCE = "common practice"
LENGTHS = {"A0": (4, 24), "0A": (4, 24), "A0-": (8, 24), "0A-": (8, 24)}
"""Shortest and longest token that is worth trying, by what it is made of: see ``makeup_of``."""

_SHAPE = Expression(
    r"(?P<letters>A{0,3})000"
    r"(?:(?P<behind>A{0,2})|(?P<lot>A0A|A{2,5}|A{1,3}0{2,11}A{0,2}(?:-[A0]{1,6})?))"
)


def forms(sample: str) -> Iterator[Form]:
    """The figure and the two figures that follow it as year and week."""
    if match := _SHAPE.fullmatch(sample):
        start, behind, lot = len(match["letters"]), match["behind"], match["lot"]
        if lot:
            name = KEY + ".lot"
        elif start and not behind:
            name = KEY + (".before" if start == 1 else ".before_more")
        elif behind and not start:
            name = KEY + ".behind"
        else:
            name = KEY + ".both"
        if start or behind or lot:
            year, week = slice(start, start + 1), slice(start + 1, start + 3)
            yield Form(name, start, start + 3, year, FIGURE, 10, "week", week, WEEKS)


propose = proposing(forms)


def write(day: date) -> str:
    """Write a day in this scheme, with K for the plant."""
    year, week, _ = day.isocalendar()
    return f"K{year % 10}{week:02}"
