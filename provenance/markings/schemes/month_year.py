"""The month first, then the year: ``11/97``, ``11-1997``, ``1197``.

Source: common practice.

>>> [(p.form, p.year, p.cycle, p.number) for p in propose("11/97")]
[('month_year.separated', 97, 100, 11)]
>>> [(p.form, p.year, p.cycle) for p in propose("11/1997")], [p.form for p in propose("1197")]
([('month_year.full', 1997, 0)], ['month_year'])
>>> list(propose("13/97"))
[]
>>> write(date(1997, 11, 3))
'11/97'
"""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date

from provenance.markings.expression import Expression
from provenance.markings.schemes.proposal import Proposal

KEY = "month_year"
NAME = "month and year, MM/YY"
SOURCE = "common practice"
LENGTHS = {"0": (4, 4), "0-": (4, 7)}
"""Shortest and longest token that is worth trying, by what it is made of: see ``makeup_of``."""

_SHAPE = Expression(r"(0?[1-9]|1[0-2])([-/. ']?)((?:19|20)?)([0-9]{2})")
EXPRESSIONS = (_SHAPE,)
"""What is read fits one of these."""


def propose(token: str) -> Iterator[Proposal]:
    """Read a token as month and year."""
    if not (match := _SHAPE.fullmatch(token)):
        return
    month = int(match[1])
    if match[3]:
        if match[2]:
            year = int(match[3] + match[4])
            yield Proposal(KEY + ".full", 0, len(token), year, 0, "month", month)
    elif match[2] in "-/" and match[2]:
        yield Proposal(KEY + ".separated", 0, len(token), int(match[4]), 100, "month", month)
    elif len(match[1]) == 2 and not match[2]:
        yield Proposal(KEY, 0, len(token), int(match[4]), 100, "month", month)


def write(day: date) -> str:
    """Write a day in this scheme."""
    return f"{day.month:02}/{day.year % 100:02}"
