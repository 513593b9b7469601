"""A date as tokens of one shape write it: where its year and its number stand, and what they mean.

A scheme whose dates are built up alike in all tokens of a shape says so once for the shape, in
forms: ``forms(sample)``. Which of them a token fits is then looked up in tables, in its characters
at the places of the form. Knows the tables of the usual fields. Leaves the shapes to the schemes.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping
from functools import partial
from typing import NamedTuple

from provenance.markings.schemes.proposal import Proposal, is_day, sample_of

Table = Mapping[str, int]
"""What the characters of a field mean; characters that mean nothing are not in it."""


def counted(figures: str, most: int) -> Table:
    """The numbers from 1 to ``most`` that are written in so many figures, ``0``, ``00`` or ``000``.

    >>> list(counted("0", 12)) == list("123456789"), counted("00", 12)["07"]
    (True, 7)
    """
    width = len(figures)
    return {f"{n:0{width}}": n for n in range(1, most + 1) if n < 10**width}


FIGURE: Table = {str(figure): figure for figure in range(10)}
TWO_FIGURES: Table = {f"{figures:02}": figures for figures in range(100)}
FULL_YEARS: Table = {str(year): year for year in range(1900, 2100)}
WEEKS = counted("00", 53)
MONTHS = counted("00", 12)
SHORT_MONTHS = counted("0", 12)
"""Those in one figure."""
NOTHING: Table = {"": 0}
"""Of a field that is not there."""
NOWHERE = slice(0, 0)
"""Where a field stands that is not there."""


class Form(NamedTuple):
    """One way in which tokens of a shape are a date.

    The fields are those of ``Proposal``; of year and number where they stand, and what the
    characters there mean. A token in which either means nothing is no date of this form.
    """

    name: str
    start: int
    end: int
    year: slice
    years: Table
    cycle: int
    unit: str
    number: slice
    numbers: Table
    until: int = 0

    def read(self, token: str) -> Proposal | None:
        """What a token of the shape means in this form, if it means anything."""
        year, number = self.years.get(token[self.year]), self.numbers.get(token[self.number])
        if year is None or number is None:
            return None
        return Proposal(
            self.name, self.start, self.end, year, self.cycle, self.unit, number, self.until
        )


Forms = Callable[[str], Iterable[Form]]
"""Gives the forms of tokens of the shape that a sample shows: see ``sample_of``."""


def proposing(forms: Forms) -> Callable[[str], Iterator[Proposal]]:
    """The function ``propose`` of a scheme that describes its forms."""
    return partial(_read, forms)  # Unlike a function made here, it passes between processes.


def _read(forms: Forms, token: str) -> Iterator[Proposal]:
    """Read a token in every form that it fits."""
    for form in forms(sample_of(token)):
        if found := form.read(token):
            yield found


def days_of(days: Table, separator: str, months: Table, *, month_first: bool = False) -> Table:
    """Month x 100 + day by how both are written.

    >>> days_of(counted("0", 31), ".", MONTHS)["9.02"]
    209
    >>> days_of(counted("00", 31), "", MONTHS, month_first=True)["1231"]
    1231
    """
    return {
        f"{name}{separator}{text}" if month_first else f"{text}{separator}{name}": month * 100 + day
        for name, month in months.items()
        for text, day in days.items()
        if is_day(month, day)
    }


def of_year(figures: str) -> tuple[Table, int]:
    """What so many figures of the year mean, ``0``, ``00`` or ``0000``, and their cycle."""
    return {"0": (FIGURE, 10), "00": (TWO_FIGURES, 100), "0000": (FULL_YEARS, 0)}[figures]
