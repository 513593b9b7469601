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
from provenance.markings.schemes.proposal import WEEK, Proposal

KEY = "short_year_week_plant"
NAME = "year figure and week with plant or line letters"
SOURCE = "common practice"
LENGTHS = {"A0": (4, 24), "0A": (4, 24), "A0-": (8, 24), "0A-": (8, 24)}
"""Shortest and longest token that is worth trying, by what it is made of: see ``makeup_of``."""

_SHAPE = Expression(
    rf"(?P<letters>[A-Z]{{0,3}})([0-9])({WEEK})"
    r"(?:(?P<behind>[A-Z]{0,2})|(?P<lot>[A-Z][0-9][A-Z]|[A-Z]{2,5}|[A-Z]{1,3}[0-9]{2,11}"
    r"[A-Z]{0,2}(?:-[A-Z0-9]{1,6})?))"
)
EXPRESSIONS = (_SHAPE,)
"""What is read fits one of these."""


def propose(token: str) -> Iterator[Proposal]:
    """Read the figure and the two figures that follow it as year and week."""
    if match := _SHAPE.fullmatch(token):
        letters, behind, lot = len(match["letters"]), match["behind"], match["lot"]
        if lot:
            form = KEY + ".lot"
        elif letters and not behind:
            form = KEY + (".before" if letters == 1 else ".before_more")
        elif behind and not letters:
            form = KEY + ".behind"
        else:
            form = KEY + ".both"
        if letters or behind or lot:
            week = int(match[3])
            yield Proposal(form, letters, letters + 3, int(match[2]), 10, "week", week)


def write(day: date) -> str:
    """Write a day in this scheme, with K for the plant."""
    year, week, _ = day.isocalendar()
    return f"K{year % 10}{week:02}"
