"""The month in Roman numerals with the year: ``XI/78``, ``78-IV``, ``XI 1978``.

Usual on instruments and capacitors from central Europe; a day may stand before (``12.XI.78``).

Source: common practice.

>>> [(p.form, p.year, p.number) for p in propose("XI/78")]
[('roman_month', 78, 11)]
>>> [(p.form, p.year, p.cycle) for p in propose("IV-1978")], [p.year for p in propose("78-IV")]
([('roman_month', 1978, 0)], [78])
>>> [(p.form, p.unit, p.number) for p in propose("12.XI.78")]
[('roman_month.day', 'day', 1112)]
>>> list(propose("XIII/78")), list(propose("IX78B"))
([], [])
>>> write(date(1978, 11, 12))
'XI/78'
"""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date

from provenance.markings.expression import Expression
from provenance.markings.schemes.proposal import Proposal, is_day

KEY = "roman_month"
NAME = "month in Roman numerals and year"
SOURCE = "common practice"
LENGTHS = {"0A-": (4, 12), "A0-": (4, 9)}
"""Shortest and longest token that is worth trying, by what it is made of: see ``makeup_of``."""

ROMAN = ("I", "II", "III", "IV", "V", "VI", "VII", "VIII", "IX", "X", "XI", "XII")
_MONTH = {numeral: place for place, numeral in enumerate(ROMAN, 1)}
_SHAPE = Expression(
    r"(?:([0-9]{1,2})[-./])?([IVX]{1,4})([-./ ])((?:19|20)?[0-9]{2})"
    r"|([0-9]{2})[-./]([IVX]{1,4})"
)
EXPRESSIONS = (_SHAPE,)
"""What is read fits one of these."""


def propose(token: str) -> Iterator[Proposal]:
    """Read a token as a Roman month with its year."""
    if not (match := _SHAPE.fullmatch(token)):
        return
    month, year = _MONTH.get(match[2] or match[6], 0), match[4] or match[5]
    cycle = 100 if len(year) == 2 else 0
    spaced = ".spaced" if match[3] == " " else ""
    if month and not match[1]:
        yield Proposal(KEY + spaced, 0, len(token), int(year), cycle, "month", month)
    elif month and is_day(month, day := int(match[1])):
        yield Proposal(KEY + ".day", 0, len(token), int(year), cycle, "day", month * 100 + day)


def write(day: date) -> str:
    """Write a day in this scheme."""
    return f"{ROMAN[day.month - 1]}/{day.year % 100:02}"
