"""A year figure and a sign for the month: ``8H``, ``9Y``, ``0C``.

Three ways to write the month: letters A to M without I; figures 1 to 9, then A, B, C; figures
1 to 9, then X, Y, Z, or O, N, D. Often something is glued on: a type mark or frequency in front
(``QC8H``, ``32K9Y``), a line letter or lot behind (``8HF``, ``8HU1G``). The decade is left open.
A figure behind may be the week of the month.

Source: common practice (months A to M without I and the week of the month: memory).

>>> sorted((p.form, p.number) for p in propose("8H"))
[('year_digit_month.letter', 8)]
>>> [(p.form, p.year, p.number) for p in propose("9Y")]
[('year_digit_month.figure', 9, 11)]
>>> sorted((p.form, p.number) for p in propose("0C"))
[('year_digit_month.figure', 12), ('year_digit_month.letter', 3)]
>>> [(p.form, p.start, p.end) for p in propose("QC8H")]
[('year_digit_month.letter_glued', 2, 4)]
>>> list(propose("8I"))
[]
>>> write(date(1998, 8, 3))
'8H'
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from datetime import date

from provenance.markings.expression import Expression
from provenance.markings.schemes.form import FIGURE, SHORT_MONTHS, Form, proposing

KEY = "year_digit_month"
NAME = "year figure and month sign"
SOURCE = "common practice; memory"
LENGTHS = {"0": (2, 3), "0A": (2, 11), "A0": (3, 11)}
"""Shortest and longest token that is worth trying, by what it is made of: see ``makeup_of``."""

MONTH_LETTERS = "ABCDEFGHJKLM"
_LETTER = {letter: place for place, letter in enumerate(MONTH_LETTERS, 1)}
_SIGN = {"A": 10, "B": 11, "C": 12, "X": 10, "Y": 11, "Z": 12, "O": 10, "N": 11, "D": 12}
_PLAIN = Expression(r"0([0A])(A?|A[0A]{2,4}|0)")
_GLUED = Expression(r"(?:A{0,2}0{2,3}A{1,4}|A{2,4})0([0A])(A?|0)")
_SUFFIX = ("", "_line", "", "_lot", "_lot", "_long_lot")
"""By the number of characters behind."""


def forms(sample: str) -> Iterator[Form]:
    """A year figure and the character behind it as year and month."""
    if match := _PLAIN.fullmatch(sample):
        yield from _forms(match, _SUFFIX[len(match[2])])
    if match := _GLUED.fullmatch(sample):
        yield from _forms(match, "_glued")


def _forms(match: re.Match[str], suffix: str) -> Iterator[Form]:
    sign, behind = match.start(1), "12345" if match[2] == "0" else ""
    variants = [("figures", SHORT_MONTHS)]
    if match[1] == "A":
        variants = [("letter", _LETTER), ("figure", _SIGN)]
    for variant, months in variants:
        number, table = slice(sign, sign + 1), months
        if behind:
            number = slice(sign, sign + 2)
            table = {text + last: month for text, month in months.items() for last in behind}
        name, year = f"{KEY}.{variant}{suffix}", slice(sign - 1, sign)
        yield Form(name, sign - 1, sign + 1, year, FIGURE, 10, "month", number, table)


propose = proposing(forms)


def write(day: date) -> str:
    """Write a day in this scheme, with a month letter."""
    return f"{day.year % 10}{MONTH_LETTERS[day.month - 1]}"
