"""What a scheme hands to the reader: a date as it is written, with its year still open.

Knows how a written year (one figure, two figures, a letter) opens into calendar years and how a
period becomes days. Leaves weights to ``provenance.markings.weights`` and choice to the reader.
"""

from __future__ import annotations

from datetime import date
from functools import lru_cache
from typing import NamedTuple

from provenance.weeks import Convention, Span, month_span, year_span, year_week_span


class Proposal(NamedTuple):
    """A stretch of a token read as a date in one form of a scheme.

    ``form`` is the scheme's key, or the key, a dot and a variant: weights are kept by form.
    ``year`` repeats every ``cycle`` years (0: a full year; 100, 20, 10). ``unit`` and ``number``
    say which part of the year: ``week``, ``iso week`` and ``eia week`` (number of the week),
    ``month``, ``day`` (month x 100 + day), ``ordinal`` (day of the year), ``year`` (0).
    """

    form: str
    start: int
    end: int
    year: int
    cycle: int
    unit: str
    number: int
    until: int = 0
    """Last number, where unreadable characters leave a run open; 0: the number alone."""

    def span(self, year: int) -> Span:
        """The days in one calendar year. Raises ValueError where the calendar has no such part."""
        return span_of(self.unit, year, self.number, self.until)


_FIGURES = "0123456789"
_CAPITALS = "ABCDEFGHIJKLMNOPQRSTUVWXYZ"
_SAMPLES = str.maketrans(
    dict.fromkeys(_FIGURES, "0")
    | dict.fromkeys(_CAPITALS, "A")
    | dict.fromkeys(_CAPITALS.lower(), "a")
)


def sample_of(token: str) -> str:
    """The token that stands for all of the same shape: figures 0, capitals A, small letters a.

    A token with characters beyond ASCII stands for itself.

    >>> sample_of("TK7841-x"), sample_of("7Ω")
    ('AA0000-a', '7Ω')
    """
    return token.translate(_SAMPLES) if token.isascii() else token


@lru_cache(maxsize=1024)
def makeup_of(sample: str) -> str:
    """What a sample is made of: ``0`` figures, ``A`` letters, ``-`` anything else.

    The kind that it begins with comes first, then the other kinds that it holds, in this order.

    >>> [makeup_of(token) for token in ("7841", "H7841", "7841B", "97-11", "8'N4", "'78", "Ω")]
    ['0', 'A0', '0A', '0-', '0A-', '-0', '-']
    """
    kinds = [
        "-" if not char.isascii() else "0" if char.isdigit() else "A" if char.isalpha() else "-"
        for char in sample
    ]
    return kinds[0] + "".join(kind for kind in "0A-" if kind in kinds and kind != kinds[0])


_CONVENTIONS: dict[str, Convention] = {"week": "any", "iso week": "iso", "eia week": "eia"}


def period(unit: str, year: int, number: int) -> Span:
    """The days of a part of a year. Raises ValueError where the calendar has no such part.

    >>> period("day", 1980, 229) == Span(date(1980, 2, 29), date(1980, 2, 29))
    True
    """
    if unit in _CONVENTIONS:
        return year_week_span(year, number, _CONVENTIONS[unit])
    if unit == "month":
        return month_span(year, number)
    if unit == "year":
        return year_span(year)
    if unit == "day":
        day = date(year, number // 100, number % 100)
    else:
        day = date.fromordinal(date(year, 1, 1).toordinal() + number - 1)
        if day.year != year:
            raise ValueError(f"{year} has no day {number}")
    return Span(day, day)


def span_of(unit: str, year: int, number: int, until: int) -> Span:
    """The days of one part of a year, or of a run of parts as far as ``until`` if that is not 0.

    Raises ValueError where the calendar has no such part.
    """
    first = period(unit, year, number)
    if not until:
        return first
    last = period(unit, year, until)
    return Span(first.first, max(first.last, last.last))


def is_day(month: int, day: int) -> bool:
    """Whether a month can have such a day (29 February included)."""
    return 1 <= month <= 12 and 1 <= day <= (29 if month == 2 else 31 - (month in (4, 6, 9, 11)))


@lru_cache(maxsize=4096)
def calendar_years(year: int, cycle: int, first: int, last: int) -> tuple[int, ...]:
    """The calendar years from ``first`` to ``last`` that a written year can mean.

    >>> calendar_years(8, 10, 1960, 1990)
    (1968, 1978, 1988)
    >>> calendar_years(78, 100, 1960, 1990), calendar_years(1978, 0, 1960, 1990)
    ((1978,), (1978,))
    """
    if cycle == 0:
        return (year,) if first <= year <= last else ()
    return tuple(range(first + (year - first) % cycle, last + 1, cycle))
