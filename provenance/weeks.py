"""The calendar: days, weeks, spans of days, and the grid of weeks that the inference runs on.

Knows the week conventions in print (ISO 8601, the EIA code books, makers' data sheets) and how
to go between a day and a week number on the grid. Knows nothing about markings or boards.

The grid counts weeks from Monday 1950-01-02, so week ``w`` is the seven days that begin on
``monday(w)``. Every week of the grid is an ISO 8601 week.

>>> week_of(date(1950, 1, 2)), week_of(date(1977, 1, 1))
(0, 1408)
>>> monday(1408).isoformat()
'1976-12-27'
"""

from __future__ import annotations

from datetime import date, timedelta
from typing import NamedTuple

EPOCH = date(1950, 1, 2)
"""Monday, the first day of week 0 of the grid."""


class Span(NamedTuple):
    """A span of whole days, both ends included."""

    first: date
    last: date

    @property
    def days(self) -> int:
        """Length in days; one for a single day."""
        return (self.last - self.first).days + 1

    def __contains__(self, day: object) -> bool:
        return isinstance(day, date) and self.first <= day <= self.last


def week_of(day: date) -> int:
    """The week of the grid that holds a day."""
    return (day - EPOCH).days // 7


def monday(week: int) -> date:
    """The first day of a week of the grid."""
    return EPOCH + timedelta(weeks=week)


def sunday(week: int) -> date:
    """The last day of a week of the grid."""
    return EPOCH + timedelta(weeks=week, days=6)
