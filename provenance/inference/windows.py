"""Distributions over weeks put as windows, medians and EDTF. Weeks are those of the grid."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date

import numpy as np

from provenance.inference.finding import WeekProbability, Window
from provenance.inference.grid import Array
from provenance.weeks import edtf_interval, monday, sunday

LEVELS = (0.5, 0.8, 0.9, 0.95)
"""The probabilities at which windows are given."""
STATED = 0.9
"""The level that is put in words and in EDTF."""
_SMALLEST = 1e-5
_NOTHING = 1e-12


def shortest(mass: Array, level: float) -> tuple[int, int]:
    """First and last index of the shortest run that holds at least ``level`` of the mass."""
    held = np.flatnonzero(mass > _NOTHING * mass.max())
    low = int(held[0])
    running = np.concatenate(([0.0], np.cumsum(mass[low : held[-1] + 1])))
    goal = level * running[-1] * (1 - 1e-12)
    # From each first week, the first end that reaches the goal; some starts never do.
    starts = np.arange(int(np.searchsorted(running, running[-1] - goal, side="right")))
    ends = np.searchsorted(running, running[starts] + goal)
    ends = np.minimum(ends, len(running) - 1)
    length = ends - starts
    # Of the shortest runs, the one that holds most.
    best = np.flatnonzero(length == length.min())
    best = best[np.argmax(running[ends[best]] - running[starts[best]])]
    return low + int(best), low + int(ends[best]) - 1


def share(probability: float) -> str:
    """A probability as a percentage that claims no more than it bears.

    >>> share(0.9996), share(0.52), share(0.004)
    ('over 99%', '52%', 'under 1%')
    """
    if probability > 0.99:
        return "over 99%"
    return "under 1%" if probability < 0.01 else f"{probability:.0%}"


def listed(names: Sequence[str]) -> str:
    """Names in a sentence: ``U1``, ``U1 and U2``, ``U1, U2 and U3``."""
    *most, last = names
    return f"{', '.join(most)} and {last}" if most else last


def windows(mass: Array, start: int, today: date) -> tuple[Window, ...]:
    """The shortest windows at the usual levels, from mass by week; ``start`` is the first week."""
    found = []
    for level in LEVELS:
        first, last = shortest(mass, level)
        found.append(
            Window(
                probability=level,
                first=monday(start + first),
                last=min(sunday(start + last), today),
            )
        )
    return tuple(found)


def stated(found: tuple[Window, ...]) -> Window:
    """The window at the level that is put in words."""
    return next(w for w in found if w.probability == STATED)


def edtf(found: tuple[Window, ...]) -> str:
    """The stated window as an approximate EDTF interval."""
    window = stated(found)
    return edtf_interval(window.first, window.last, approximate=True)


def median(mass: Array, start: int) -> date:
    """The middle day of the week that halves the mass."""
    running = np.cumsum(mass)
    week = int(np.searchsorted(running, 0.5 * running[-1]))
    return date.fromordinal(monday(start + week).toordinal() + 3)


def by_week(mass: Array, start: int) -> tuple[WeekProbability, ...]:
    """The mass by week without negligible weeks."""
    total = mass.sum()
    return tuple(
        WeekProbability(week=monday(start + int(i)), probability=float(mass[i] / total))
        for i in np.flatnonzero(mass > _SMALLEST * total)
    )
