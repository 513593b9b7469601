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
from provenance.markings.schemes.form import Form, counted, days_of, of_year, proposing

KEY = "roman_month"
NAME = "month in Roman numerals and year"
SOURCE = "common practice"
LENGTHS = {"0A-": (4, 12), "A0-": (4, 9)}
"""Shortest and longest token that is worth trying, by what it is made of: see ``makeup_of``."""

ROMAN = ("I", "II", "III", "IV", "V", "VI", "VII", "VIII", "IX", "X", "XI", "XII")
_MONTH = {numeral: place for place, numeral in enumerate(ROMAN, 1)}
_SHAPE = Expression(r"(?:(0{1,2})([-./]))?(A{1,4})([-./ ])((?:00)?00)|(00)[-./](A{1,4})")


def forms(sample: str) -> Iterator[Form]:
    """A Roman month with its year; the day may stand before it."""
    if not (match := _SHAPE.fullmatch(sample)):
        return
    years, cycle = of_year(match[5] or match[6])
    year, month = slice(*match.span(5 if match[5] else 6)), slice(*match.span(3 if match[3] else 7))
    if match[1]:
        days = days_of(counted(match[1], 31), match[2], _MONTH)
        day = slice(0, month.stop)
        yield Form(KEY + ".day", 0, len(sample), year, years, cycle, "day", day, days)
    else:
        name = KEY + ".spaced" if match[4] == " " else KEY
        yield Form(name, 0, len(sample), year, years, cycle, "month", month, _MONTH)


propose = proposing(forms)


def write(day: date) -> str:
    """Write a day in this scheme."""
    return f"{ROMAN[day.month - 1]}/{day.year % 100:02}"
