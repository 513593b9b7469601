"""From a year as it is written and a part of the year to calendar years and days.

Knows the units in which dates are written. Leaves to ``weeks`` the calendar itself, and to
``spreading`` which years are allowed.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from datetime import date
from functools import lru_cache, partial

from provenance.markings.kept import Kept
from provenance.weeks import Span, month_span, weeks_of_year, year_span

FIRST_YEAR, LAST_YEAR = 2, 9998
"""Of which every week is in the calendar."""
Days = tuple[int, int]
"""The ordinals of the first and the last day, both included: see ``date.toordinal``.

Of the days that a marking may mean few are ever told, and a number costs far less than a date.
"""
ABSENT: Days = (date.max.toordinal() + 1, 0)
"""What stands for days that the calendar has not: later than any."""
Part = Callable[[Sequence[int], int], tuple[Days, ...]]
"""The days of a numbered part of each of some years."""


LETTER_CYCLE, LETTERS_SINCE = 20, 1969
"""Years after which year letters come again, and the first that was written with one: IEC 60062 and
DIN 41314 before it."""


def since(cycle: int, first: int) -> int:
    """The first year that a written year can mean where years from ``first`` on are allowed."""
    return max(first, LETTERS_SINCE) if cycle == LETTER_CYCLE else first


@lru_cache(maxsize=4096)
def calendar_years(year: int, cycle: int, first: int, last: int) -> tuple[int, ...]:
    """The calendar years from ``first`` to ``last`` that a written year can mean.

    >>> calendar_years(8, 10, 1960, 1990)
    (1968, 1978, 1988)
    >>> calendar_years(78, 100, 1960, 1990), calendar_years(1978, 0, 1960, 1990)
    ((1978,), (1978,))

    Year letters were not written before 1969.

    >>> calendar_years(2, 20, 1960, 2010)
    (1982, 2002)
    """
    if cycle == 0:
        return (year,) if first <= year <= last else ()
    first = since(cycle, first)
    return tuple(range(first + (year - first) % cycle, last + 1, cycle))


def _numbered(parts_of: Callable[[int], Sequence[Days | None]]) -> Part:
    """The parts that a year has so many of; ``parts_of`` gives them from number 0 on."""

    def of_year(year: int) -> Sequence[Days]:
        return [days or ABSENT for days in parts_of(year)]

    kept = Kept(of_year, 1024)

    def part(years: Sequence[int], number: int) -> tuple[Days, ...]:
        try:
            return tuple([kept[year][number] for year in years])
        except IndexError:
            return (ABSENT,) * len(years)

    return part


def _months(year: int) -> Sequence[Days | None]:
    return None, *[_ends(month_span(year, month)) for month in range(1, 13)]


def _whole(years: Sequence[int], _: int) -> tuple[Days, ...]:
    return tuple(_ends(year_span(year)) for year in years)


def _ends(span: Span) -> Days:
    return span.first.toordinal(), span.last.toordinal()


def _days(years: Sequence[int], number: int) -> tuple[Days, ...]:
    """A day is written as month x 100 + day."""
    found = []
    for year in years:
        try:
            day = date(year, number // 100, number % 100).toordinal()
        except (ValueError, OverflowError):
            found.append(ABSENT)
        else:
            found.append((day, day))
    return tuple(found)


def _ordinals(years: Sequence[int], number: int) -> tuple[Days, ...]:
    """Days are counted from 1 January, which is 1."""
    days = [_before[year] + number for year in years]
    if 1 <= number <= 365:
        return tuple(zip(days, days, strict=True))
    return tuple(
        (day, day) if number == 366 and day == _before[year + 1] else ABSENT
        for year, day in zip(years, days, strict=True)
    )


def _day_before(year: int) -> int:
    """The ordinal of the day before a year."""
    return date(year, 1, 1).toordinal() - 1


_before = Kept(_day_before, 16384)

PARTS: dict[str, Part] = {
    "week": _numbered(weeks_of_year),
    "iso week": _numbered(partial(weeks_of_year, convention="iso")),
    "eia week": _numbered(partial(weeks_of_year, convention="eia")),
    "month": _numbered(_months),
    "day": _days,
    "ordinal": _ordinals,
    "year": _whole,
}
"""By the unit of a proposal; years are those from ``FIRST_YEAR`` to ``LAST_YEAR``.

>>> leap_day = date(1980, 2, 29).toordinal()
>>> PARTS["day"]([1980, 1981], 229) == ((leap_day, leap_day), ABSENT)
True
"""


def days_of_run(unit: str, years: Sequence[int], number: int, until: int) -> tuple[Days, ...]:
    """The days of a run of parts of each of some years."""
    return tuple(
        ABSENT if ABSENT in (one, end) else (one[0], max(one[1], end[1]))
        for one, end in zip(PARTS[unit](years, number), PARTS[unit](years, until), strict=True)
    )
