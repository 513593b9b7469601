"""The ISO 8601 week date with its full year: ``1978-W41``, ``1978W41``, ``1978-W41-4``.

Found on labels and test stickers more than on packages. The week runs Monday to Sunday.

Source: ISO 8601-1:2019.

>>> [(p.form, p.year, p.cycle, p.unit, p.number) for p in propose("1978-W41")]
[('iso_week', 1978, 0, 'iso week', 41)]
>>> [p.unit for p in propose("1978W41")], list(propose("1978-W54"))
(['iso week'], [])
>>> write(date(1977, 1, 1))
'1976-W53'
"""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date

from provenance.markings.expression import Expression
from provenance.markings.schemes.form import FULL_YEARS, WEEKS, Form, proposing

KEY = "iso_week"
NAME = "ISO 8601 week with its full year"
SOURCE = "ISO 8601-1:2019"
LENGTHS = {"0A": (7, 8), "0A-": (8, 10)}
"""Shortest and longest token that is worth trying, by what it is made of: see ``makeup_of``."""

_SHAPE = Expression(r"0000-?(A00(-?0)?)")


def forms(sample: str) -> Iterator[Form]:
    """A full year and a week marked with W; a day of the week may follow."""
    if match := _SHAPE.fullmatch(sample):
        behind = [match[2][:-1] + day for day in "1234567"] if match[2] else [""]
        weeks = {f"W{text}{day}": week for text, week in WEEKS.items() for day in behind}
        week, end = slice(match.start(1), None), len(sample)
        yield Form(KEY, 0, end, slice(0, 4), FULL_YEARS, 0, "iso week", week, weeks)


propose = proposing(forms)


def write(day: date) -> str:
    """Write a day in this scheme."""
    year, week, _ = day.isocalendar()
    return f"{year:04}-W{week:02}"
