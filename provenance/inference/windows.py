"""Distributions over weeks put as windows, medians and EDTF. Weeks are those of the grid."""

from __future__ import annotations

from datetime import date

import numpy as np

from provenance.inference.finding import WeekProbability, Window
from provenance.inference.grid import Array
from provenance.survey.prose import MONTHS
from provenance.weeks import edtf_interval, monday, sunday

LEVELS = (0.5, 0.8, 0.9, 0.95)
"""The probabilities at which windows are given."""
STATED = 0.9
"""The level that is put in words and in EDTF; the others are printed in figures."""
APART = 52
"""Weeks without the date's likely weeks after which another spell begins."""
_SMALLEST = 1e-5
_NOTHING = 1e-12


def shortest(mass: Array, *levels: float) -> list[tuple[int, int]]:
    """First and last index of the shortest run that holds at least each level of the mass."""
    held = np.flatnonzero(mass > _NOTHING * mass.max())
    low = int(held[0])
    running = np.concatenate(([0.0], np.cumsum(mass[low : held[-1] + 1])))
    found = []
    for level in levels:
        goal = level * running[-1] * (1 - 1e-12)
        # From each first week, the first end that reaches the goal; some starts never do.
        starts = int(np.searchsorted(running, running[-1] - goal, side="right"))
        begun = running[:starts]
        ends = np.minimum(np.searchsorted(running, begun + goal), len(running) - 1)
        length = ends - np.arange(starts)
        # Of the shortest runs, the one that holds most.
        best = np.flatnonzero(length == length.min())
        first = int(best[np.argmax(running[ends[best]] - begun[best])])
        found.append((low + first, low + int(ends[first]) - 1))
    return found


def share(probability: float) -> str:
    """A probability as a percentage that claims no more than it bears.

    >>> share(0.9996), share(0.52), share(0.004)
    ('over 99%', '52%', 'under 1%')
    """
    if probability > 0.99:
        return "over 99%"
    return "under 1%" if probability < 0.01 else f"{probability:.0%}"


def windows(mass: Array, start: int, today: date) -> tuple[Window, ...]:
    """The shortest windows at the usual levels, from mass by week; ``start`` is the first week."""
    return tuple(
        _window(level, start + first, start + last, today)
        for level, (first, last) in zip(LEVELS, shortest(mass, *LEVELS), strict=True)
    )


def window(mass: Array, start: int, today: date) -> Window:
    """The shortest window at the level that is put in words."""
    ((first, last),) = shortest(mass, STATED)
    return _window(STATED, start + first, start + last, today)


def _window(level: float, first: int, last: int, today: date) -> Window:
    return Window(probability=level, first=monday(first), last=min(sunday(last), today))


def spells(mass: Array, start: int, today: date) -> tuple[Window, ...]:
    """The spells of the likeliest weeks, which hold together the level that is put in words.

    Unlike the shortest window they leave out what lies between; each has its own probability.
    """
    order = np.argsort(-mass, kind="stable")
    count = int(np.searchsorted(np.cumsum(mass[order]), STATED * mass.sum())) + 1
    likely = np.sort(order[:count])
    runs = np.split(likely, np.flatnonzero(np.diff(likely) > APART) + 1)
    return tuple(
        _window(
            float(mass[run].sum() / mass.sum()), start + int(run[0]), start + int(run[-1]), today
        )
        for run in runs
    )


def months(first: date, last: date) -> str:
    """A span of days in whole months.

    >>> months(date(1977, 10, 3), date(1978, 3, 5)), months(date(1980, 4, 1), date(1980, 4, 9))
    ('October 1977 to March 1978', 'April 1980')
    """
    ends = [f"{MONTHS[day.month - 1]} {day.year}" for day in (first, last)]
    if first.year == last.year:
        ends[0] = MONTHS[first.month - 1]
    return ends[1] if first.month == last.month and first.year == last.year else " to ".join(ends)


def stated(found: tuple[Window, ...]) -> Window:
    """The window at the level that is put in words."""
    return next(w for w in found if w.probability == STATED)


def edtf(found: tuple[Window, ...]) -> str:
    """The stated window as an approximate EDTF interval."""
    window = stated(found)
    return edtf_interval(window.first, window.last, approximate=True)


def median(mass: Array, start: int, today: date) -> date:
    """The middle day of the week that halves the mass, or today if that is earlier."""
    running = np.cumsum(mass)
    week = int(np.searchsorted(running, 0.5 * running[-1]))
    return min(date.fromordinal(monday(start + week).toordinal() + 3), today)


def by_week(mass: Array, start: int) -> tuple[WeekProbability, ...]:
    """The mass by week without negligible weeks."""
    share = mass / mass.sum()
    held, first = np.flatnonzero(share > _SMALLEST), monday(start).toordinal()
    days = map(date.fromordinal, (first + 7 * held).tolist())
    return tuple(map(WeekProbability, days, share[held].tolist()))
