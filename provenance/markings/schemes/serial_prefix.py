"""A serial number that begins with years since 1960 and a week: ``1841A01234``.

Two figures of the years since 1960, two of the week, a letter of the country, five figures. On
plates and labels of laboratory instruments and their boards from 1970 on; up to 2004 here, as later
ones would be read as years of this century by everyone else.

Source: common practice; memory.

>>> [(p.form, p.start, p.end, p.year, p.number) for p in propose("1841A01234")]
[('serial_prefix', 0, 4, 1978, 41)]
>>> list(propose("7841A01234")), list(propose("1841A0123"))
([], [])
>>> write(date(1978, 10, 12))
'1841A01234'
"""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date

from provenance.markings.expression import Expression
from provenance.markings.schemes.form import WEEKS, Form, Table, proposing

KEY = "serial_prefix"
NAME = "serial number that begins with years since 1960 and a week"
SOURCE = "common practice; memory"
LENGTHS = {"0A": (10, 10)}
"""Shortest and longest token that is worth trying, by what it is made of: see ``makeup_of``."""

_SHAPE = Expression(r"0000A0{5}")
_YEARS: Table = {f"{count:02}": 1960 + count for count in range(10, 45)}


def forms(sample: str) -> Iterator[Form]:
    """The first four figures as years since 1960 and week."""
    if _SHAPE.fullmatch(sample):
        year, week = slice(0, 2), slice(2, 4)
        yield Form(KEY, 0, 4, year, _YEARS, 0, "week", week, WEEKS)


propose = proposing(forms)


def write(day: date) -> str:
    """Write a day in this scheme, with an invented number."""
    year, week, _ = day.isocalendar()
    return f"{(year - 1960) % 100:02}{week:02}A01234"
