"""A year figure, a sign for the month and two figures of the lot: ``8B07``, ``2782``.

Usual on small supply and reset chips, under a part number of four figures. Months are 1 to 9,
then A, B, C (or X, Y, Z; or O, N, D). When the hundred lots of a month are used up, letters from
J on (without O) may stand for the same months again; that series is inferred from how it falls
among the other codes of a board, and weighs little. A package letter may follow (``4R72W``).
Elsewhere months are letters, A to M without I, and the figure behind is the week of the month:
``8F21``.

Source: common practice (months A to M without I and the week of the month: memory).

>>> [(p.form, p.year, p.number) for p in propose("2782")]
[('year_month_lot.figures', 2, 7)]
>>> [(p.form, p.year, p.number) for p in propose("8B07")]
[('year_month_lot', 8, 11)]
>>> [(p.form, p.year, p.number) for p in propose("8F21")]
[('year_month_lot.letter', 8, 6)]
>>> [(p.form, p.number) for p in propose("8Q70")]
[('year_month_lot.second', 7)]
>>> list(propose("8I07")), list(propose("8B0"))
([], [])
>>> write(date(1998, 11, 3))
'8B07'
"""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date

from provenance.markings.expression import Expression
from provenance.markings.schemes.form import FIGURE, SHORT_MONTHS, Form, proposing
from provenance.markings.schemes.year_digit_month import MONTH_LETTERS

KEY = "year_month_lot"
NAME = "year figure, month sign, two figures of the lot"
SOURCE = "common practice; memory"
LENGTHS = {"0": (4, 4), "0A": (4, 5)}
"""Shortest and longest token that is worth trying, by what it is made of: see ``makeup_of``."""

_MONTH = {sign: place for place, sign in enumerate("123456789ABC", 1)}
_SHAPE = Expression(r"0([0A])00A?")
_FIRST = {"A": 10, "B": 11, "C": 12}
_OTHER = {"X": 10, "Y": 11, "Z": 12, "O": 10, "N": 11, "D": 12}
_SECOND = {sign: place for place, sign in enumerate("JKLMNPQRSTUV", 1)}
_LETTER_AND_WEEK = {
    letter + week: place for place, letter in enumerate(MONTH_LETTERS, 1) for week in "12345"
}
_LETTERS = (("", _FIRST), (".other", _OTHER), (".second", _SECOND))


def forms(sample: str) -> Iterator[Form]:
    """The first two characters as year and month."""
    if match := _SHAPE.fullmatch(sample):
        for variant, months in _LETTERS if match[1] == "A" else ((".figures", SHORT_MONTHS),):
            name = KEY + variant
            yield Form(name, 0, 2, slice(0, 1), FIGURE, 10, "month", slice(1, 2), months)
        if match[1] == "A":
            name, months = KEY + ".letter", _LETTER_AND_WEEK
            yield Form(name, 0, 2, slice(0, 1), FIGURE, 10, "month", slice(1, 3), months)


propose = proposing(forms)


def write(day: date) -> str:
    """Write a day in this scheme, with an invented lot."""
    return f"{day.year % 10}{'123456789ABC'[day.month - 1]}07"
