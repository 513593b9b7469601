"""A whole date: ``1978-10-12``, ``19781012``, and six figures, YYMMDD, on displays: ``781012``.

Rubber stamps give the day first (``12.10.78``, ``12 10 78``) or the month first (``10/12/78``);
where both orders make a date, both are proposed.

Source: ISO 8601-1:2019 for the full year; common practice for six figures.

>>> [(p.form, p.year, p.number) for p in propose("1978-10-12")]
[('full_date', 1978, 1012)]
>>> [(p.form, p.year, p.number) for p in propose("781012")]
[('full_date.six', 78, 1012)]
>>> [(p.form, p.number) for p in propose("12.10.78")]
[('full_date.day_first', 1012), ('full_date.month_first', 1210)]
>>> list(propose("789912"))
[]
>>> write(date(1978, 10, 12))
'1978-10-12'
"""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date

from provenance.markings.expression import Expression
from provenance.markings.schemes.proposal import Proposal, is_day

KEY = "full_date"
NAME = "whole date, YYYY-MM-DD or YYMMDD"
SOURCE = "ISO 8601-1:2019; common practice"
LENGTHS = {"0": (6, 8), "0-": (5, 10)}
"""Shortest and longest token that is worth trying, by what it is made of: see ``makeup_of``."""

_FULL = Expression(r"((?:19|20)[0-9]{2})([-/.]?)([0-9]{2})([-/.]?)([0-9]{2})")
_SIX = Expression(r"([0-9]{1,2})([-/. ]?)([0-9]{1,2})([-/. ]?)((?:19|20)?)([0-9]{2})")
EXPRESSIONS = (_FULL, _SIX)
"""What is read fits one of these."""


def propose(token: str) -> Iterator[Proposal]:
    """Read a token as year, month and day, in the orders that make a date."""
    length = len(token)
    if (match := _FULL.fullmatch(token)) and match[2] == match[4]:
        month, day = int(match[3]), int(match[5])
        if is_day(month, day):
            yield Proposal(KEY, 0, length, int(match[1]), 0, "day", month * 100 + day)
        return
    if not (match := _SIX.fullmatch(token)) or match[2] != match[4]:
        return
    first, middle, last = int(match[1]), int(match[3]), int(match[6])
    if not match[2]:
        if length == 6 and not match[5] and is_day(middle, last):
            yield Proposal(KEY + ".six", 0, 6, first, 100, "day", middle * 100 + last)
        return
    year, cycle = (int(match[5] + match[6]), 0) if match[5] else (last, 100)
    if is_day(middle, first):
        number = middle * 100 + first
        yield Proposal(KEY + ".day_first", 0, length, year, cycle, "day", number)
    if is_day(first, middle) and first != middle:
        number = first * 100 + middle
        yield Proposal(KEY + ".month_first", 0, length, year, cycle, "day", number)
    if not match[5] and len(match[1]) == 2 and is_day(middle, last):
        number = middle * 100 + last
        yield Proposal(KEY + ".year_first", 0, length, first, 100, "day", number)


def write(day: date) -> str:
    """Write a day in this scheme."""
    return day.isoformat()
