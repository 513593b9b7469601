"""Year letter and month sign of IEC 60062, two characters: ``L9`` is September 1979.

Year letters repeat every 20 years: A 1970, B 71, C 72, D 73, E 74, F 75, H 76, J 77, K 78, L 79,
M 80, N 81, P 82, R 83, S 84, T 85, U 86, V 87, W 88, X 89, then A 1990 and so on. Months are
1 to 9, then O, N, D. From 1969 to about 1975 the order month-year is met as well. No letter is read
as a year before 1969.

Source: IEC 60062, and DIN 41314 before it.

>>> [(p.form, p.year, p.cycle, p.number) for p in propose("L9")]
[('iec_letters', 19, 20, 9)]
>>> [(p.form, p.year, p.number) for p in propose("DB")]
[('iec_letters.reversed', 11, 12)]
>>> list(propose("G5"))
[]
>>> write(date(1979, 9, 14))
'L9'
"""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date

from provenance.markings.schemes.form import Form, proposing

KEY = "iec_letters"
NAME = "IEC 60062 year letter and month"
SOURCE = "IEC 60062; DIN 41314"
LENGTHS = {"A": (2, 2), "A0": (2, 2), "0A": (2, 2)}
"""Shortest and longest token that is worth trying, by what it is made of: see ``makeup_of``."""

YEAR_LETTERS = "ABCDEFHJKLMNPRSTUVWX"
"""1970 to 1989, and again 1990 to 2009, 2010 to 2029."""
MONTH_SIGNS = "123456789OND"
YEARS = {letter: (1970 + place) % 20 for place, letter in enumerate(YEAR_LETTERS)}
"""What each letter says of the year: its remainder by twenty."""
_MONTH = {sign: place for place, sign in enumerate(MONTH_SIGNS, 1)}


def forms(sample: str) -> Iterator[Form]:
    """Two characters as year letter and month, and the other way round."""
    if sample in ("AA", "A0", "0A"):
        first, second = slice(0, 1), slice(1, 2)
        if sample[0] == "A":
            name = KEY if sample[1] == "0" else KEY + ".letters"
            yield Form(name, 0, 2, first, YEARS, 20, "month", second, _MONTH)
        if sample[1] == "A":
            yield Form(KEY + ".reversed", 0, 2, second, YEARS, 20, "month", first, _MONTH)


propose = proposing(forms)


def write(day: date) -> str:
    """Write a day in this scheme, year letter first."""
    return YEAR_LETTERS[(day.year - 1970) % 20] + MONTH_SIGNS[day.month - 1]
