"""Delays on the grid: what a code week says of each cell, and how picking becomes fitting.

Knows distributions and the grid. The distributions themselves are in ``stock``.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import timedelta
from functools import cache, lru_cache

import numpy as np

from provenance.inference.grid import Array, Grid, Weeks
from provenance.inference.stock import (
    PROFILES,
    Hypothesis,
    Lognormal,
    Profile,
    cumulative,
    hypotheses,
    later_stock,
    pmf,
)
from provenance.markings.reading import Reading
from provenance.weeks import Span, monday, sunday, week_of

MOST_WEEKS = 13
"""Most weeks that stand for the span of one reading."""
TAIL = 1e-5
"""Probability of the longest delays from picking to fitting that is left out."""


@dataclass(frozen=True)
class Kernels:
    """The K delays that H hypotheses are mixed from.

    ``running`` (K, LONGEST + 1) are cumulative distributions; the last is the later stock's.
    ``mix`` (H, K - 1) are the shares of each hypothesis.
    """

    hypotheses: tuple[Hypothesis, ...]
    running: Array
    mix: Array

    @property
    def profiles(self) -> tuple[Profile, ...]:
        """The profiles of the hypotheses, each once."""
        return tuple({h.profile.name: h.profile for h in self.hypotheses}.values())


@cache
def kernels(trade: str | None, profiles: tuple[Profile, ...] = PROFILES) -> Kernels:
    """The kernels of one trade, or of all."""
    found = hypotheses(trade, profiles)
    number: dict[Lognormal, int] = {}
    shares: list[list[tuple[int, float]]] = []
    for h in found:
        shares.append(
            [
                (number.setdefault(h.profile.fresh, len(number)), 1 - h.stock.rho),
                (number.setdefault(h.profile.old(h.stock), len(number)), h.stock.rho),
            ]
        )
    mix = np.zeros((len(found), len(number)))
    for row, parts in zip(mix, shares, strict=True):
        for column, share in parts:
            row[column] += share
    running = [cumulative(pmf(shape)) for shape in number] + [cumulative(later_stock())]
    return Kernels(found, np.array(running), mix)


@lru_cache(maxsize=4096)
def span_weeks(span: Span) -> dict[int, float]:
    """The weeks that a span touches, with the share of its days in each.

    A long span is stood for by at most ``MOST_WEEKS`` of its weeks, evenly spaced.
    """
    first, last = week_of(span.first), week_of(span.last)
    if last - first >= MOST_WEEKS:
        spaced = np.linspace(first, last, MOST_WEEKS).round().astype(int)
        return dict.fromkeys(spaced.tolist(), 1 / MOST_WEEKS)
    return {
        week: ((min(span.last, sunday(week)) - max(span.first, monday(week))).days + 1) / span.days
        for week in range(first, last + 1)
    }


@dataclass(frozen=True)
class Slab:
    """What each of D code weeks says of each cell, for delays of one week at a time.

    ``fitted`` (D, K, C): how probable a fitting in the cell is to meet the code, for each kernel,
    a week. ``served`` (D, C): how many weeks' worth of service stock of that code lies between
    the cell and today, for replacements in any of those weeks.
    """

    row: dict[int, int]
    fitted: Array
    served: Array

    @classmethod
    def of(cls, weeks: Iterable[int], running: Array, grid: Grid) -> Slab:
        """One row for each code week."""
        codes = np.array(sorted(set(weeks)), dtype=np.int64)
        by_delay = np.ascontiguousarray(running.T)

        def fewer(than: Weeks) -> Array:
            """(..., K): the probability of a delay of fewer weeks, all for long ones."""
            return np.take(by_delay, than, axis=0, mode="clip")

        # Where one cell ends the next begins.
        edges = np.append(grid.first, grid.stop) - codes[:, None]
        fitted = np.diff(fewer(edges), axis=1) / grid.length[:, None]
        served = (
            fewer(grid.stop - codes)[:, None, -1] - fewer(grid.centre + 1 - codes[:, None])[..., -1]
        )
        rows = {int(week): row for row, week in enumerate(codes)}
        return cls(rows, np.ascontiguousarray(fitted.transpose(0, 2, 1)), served)

    def entries(self, readings: Sequence[Reading]) -> tuple[Weeks, Weeks, Array]:
        """For every code week of every reading: its row, its reading's number, its share."""
        found = [
            (self.row[week], number, share)
            for number, reading in enumerate(readings)
            for week, share in span_weeks(reading.span).items()
        ]
        row, number, share = zip(*found, strict=True) if found else ((), (), ())
        return np.array(row, np.int64), np.array(number, np.int64), np.array(share, np.float64)

    def mass(self, readings: Sequence[Reading]) -> Array:
        """(D): the probability of each code week under the readings of one marking."""
        row, number, share = self.entries(readings)
        probability = np.array([r.probability for r in readings])
        weight = share * probability[number] if len(readings) else share
        return np.bincount(row, weight, len(self.row)).astype(np.float64)


def middle_week(reading: Reading) -> int:
    """The week of the middle day of a reading."""
    return week_of(reading.first + timedelta(days=(reading.span.days - 1) // 2))


@cache
def transit(delay: Lognormal) -> Array:
    """D by week, without the longest delays; sums to one."""
    mass = pmf(delay)
    length = int(np.searchsorted(np.cumsum(mass), 1 - TAIL)) + 1
    short: Array = mass[:length] / mass[:length].sum()
    return short


def onwards(mass: Array, delay: Array) -> Array:
    """(W): the distribution of u + D, from that of u."""
    held = np.flatnonzero(mass)
    if not len(held):
        return np.zeros_like(mass)
    low = int(held[0])
    result = np.zeros_like(mass)
    moved = np.convolve(mass[low : held[-1] + 1], delay)[: len(mass) - low]
    result[low : low + len(moved)] = moved
    return result


def backwards(likelihood: Array, delay: Array) -> Array:
    """(W): the likelihood of u, from that of t = u + D; nothing is known after the last week."""
    return onwards(likelihood[::-1], delay)[::-1]
