"""Delays on the grid: what a code week says of each cell, and how picking becomes fitting.

Knows distributions and the grid. The distributions themselves are in ``stock``.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import timedelta
from functools import cached_property, lru_cache

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
DOUBTFUL = 0.02
"""A reading less probable than this is stood for by its middle week."""
FEW = 64
"""Most code weeks of which is kept what they say of every cell; more would fill the memory."""
TAIL = 1e-5
"""Probability of the longest delays from picking to fitting that is left out."""


@dataclass(frozen=True, eq=False)
class Kernels:
    """The K delays that H hypotheses are mixed from.

    ``running`` (LONGEST + 1, K) are cumulative distributions, ``later`` (LONGEST + 1) the later
    stock's. ``mix`` (H, K) are the shares of each hypothesis.
    """

    hypotheses: tuple[Hypothesis, ...]
    running: Array
    later: Array
    mix: Array

    @property
    def profiles(self) -> tuple[Profile, ...]:
        """The profiles of the hypotheses, each once."""
        return tuple({h.profile.name: h.profile for h in self.hypotheses}.values())


@lru_cache(maxsize=128)
def within(kernels: Kernels, weeks: int) -> Array:
    """(LONGEST + weeks + 1, K): the probability of a delay that ends in a cell of so many weeks, by
    the weeks from the start of the delay to the end of the cell."""
    lag = np.arange(len(kernels.running) + weeks)
    then, now = (kernels.running.take(lag - n, axis=0, mode="clip") for n in (weeks, 0))
    return now - then


@lru_cache(maxsize=64)
def kernels(trade: str | None, profiles: tuple[Profile, ...] = PROFILES) -> Kernels:
    """The kernels of one trade, or of all."""
    found = hypotheses(trade, profiles)
    number: dict[Lognormal, int] = {}
    shares: list[list[tuple[int, float]]] = []
    for h in found:
        shares.append(
            [
                (number.setdefault(h.fresh, len(number)), 1 - h.stock.rho),
                (number.setdefault(h.profile.old(h.stock), len(number)), h.stock.rho),
            ]
        )
    mix = np.zeros((len(found), len(number)))
    for row, parts in zip(mix, shares, strict=True):
        for column, share in parts:
            row[column] += share
    running = np.ascontiguousarray(np.array([cumulative(pmf(shape)) for shape in number]).T)
    return Kernels(found, running, cumulative(later_stock()), mix)


@lru_cache(maxsize=4096)
def span_weeks(span: Span) -> dict[int, float]:
    """The weeks that a span touches, with the share of its days in each.

    A long span is stood for by at most ``MOST_WEEKS`` of its weeks, evenly spaced.
    """
    first, last = week_of(span.first), week_of(span.last)
    if last - first >= MOST_WEEKS:
        # The middle of each of so many equal stretches: with the ends of the span among them, the
        # first and the last stretch would be too heavy.
        middle = first + (2 * np.arange(MOST_WEEKS) + 1) * (last - first + 1) // (2 * MOST_WEEKS)
        return dict.fromkeys(middle.tolist(), 1 / MOST_WEEKS)
    return {
        week: ((min(span.last, sunday(week)) - max(span.first, monday(week))).days + 1) / span.days
        for week in range(first, last + 1)
    }


@dataclass(frozen=True)
class Codes:
    """The E code weeks that the R readings of one marking may mean.

    ``week`` (E); ``reading`` (E): the number of the reading; ``share`` (E): the share of its days.
    """

    week: Weeks
    reading: Weeks
    share: Array

    @classmethod
    def of(cls, readings: Sequence[Reading]) -> Codes:
        """The code weeks of some readings, reading by reading."""
        found = [
            (week, number, share)
            for number, reading in enumerate(readings)
            for week, share in (
                span_weeks(reading.span).items()
                if reading.probability >= DOUBTFUL
                else ((middle_week(reading), 1.0),)
            )
        ]
        week, number, share = zip(*found, strict=True) if found else ((), (), ())
        return cls(np.array(week, np.int64), np.array(number, np.int64), np.array(share, float))

    def by_reading(self, values: Array, readings: int) -> Array:
        """(R): the values (E) of each reading's weeks, weighted by their shares and summed."""
        return np.bincount(self.reading, self.share * values, readings).astype(np.float64)


@dataclass(frozen=True, eq=False)
class Delays:
    """What code weeks say of the C cells of a grid, by K kernels."""

    grid: Grid
    kernels: Kernels

    @cached_property
    def _edges(self) -> Weeks:
        """(C + 1): where one cell ends the next begins."""
        return np.append(self.grid.first, self.grid.stop)

    @cached_property
    def left(self) -> Weeks:
        """(C): weeks between the middle of each cell and today."""
        weeks: Weeks = np.maximum(self.grid.stop - 1 - self.grid.centre, 0)
        return weeks

    def fitted(self, codes: Weeks, cells: slice) -> Array:
        """(D, N, K): how probable a part with each of D code weeks is to be fitted at a build in
        each of N cells, for each kernel."""
        if len(codes) > FEW:
            return self._within(codes, cells)
        return _everywhere(self, codes.tobytes())[:, cells]

    def _within(self, codes: Weeks, cells: slice) -> Array:
        grid, codes = self.grid, codes[:, None]
        between = np.empty((len(codes), cells.stop - cells.start, self.kernels.mix.shape[1]))
        for run in grid.runs:
            low, high = max(run.start, cells.start), min(run.stop, cells.stop)
            if low < high:
                length = int(grid.length[low])
                ends = grid.first[low:high] + length - codes
                between[:, low - cells.start : high - cells.start] = within(
                    self.kernels, length
                ).take(ends, axis=0, mode="clip")
        return between

    def refitted(self, codes: Weeks, cells: slice) -> Array:
        """(D, N): the same in a later work."""
        edges = self._edges[cells.start : cells.stop + 1]
        return np.diff(self.kernels.later.take(edges - codes[:, None], mode="clip"))

    def served(self, codes: Weeks, cells: slice) -> Array:
        """(D, N): how many weeks' worth of service stock of each code lies between each cell and
        today, for replacements in any of those weeks."""
        now = self.kernels.later.take(self.grid.stop - codes, mode="clip")
        then = self.kernels.later.take(self.grid.centre[cells] + 1 - codes[:, None], mode="clip")
        served: Array = now[:, None] - then
        return served

    def met(self, markings: Sequence[tuple[Codes, Array]]) -> tuple[Array, Array, Array]:
        """What each of L markings says: (L, C, K) as ``fitted`` does and (L, C) as ``refitted``, a
        week, and (L, C) as ``served``. A marking is its code weeks and the probability (E) of each.
        """
        weeks, place = np.unique(
            np.concatenate([codes.week for codes, _ in markings]), return_inverse=True
        )
        each = np.repeat(np.arange(len(markings)), [len(mass) for _, mass in markings])
        mass = np.bincount(
            each * len(weeks) + place,
            np.concatenate([mass for _, mass in markings]),
            len(markings) * len(weeks),
        ).reshape(len(markings), len(weeks))
        cells, length = slice(0, len(self.grid.length)), self.grid.length
        fitted = np.tensordot(mass, self.fitted(weeks, cells), 1)
        fitted /= length[:, None]
        return (
            fitted,
            mass @ self.refitted(weeks, cells) / length,
            mass @ self.served(weeks, cells),
        )


@lru_cache(maxsize=1)
def _everywhere(delays: Delays, codes: bytes) -> Array:
    """(D, C, K): ``fitted`` for every cell; a board's codes are asked for before the sum over
    histories and after it."""
    return delays._within(np.frombuffer(codes, np.int64), slice(0, len(delays.grid.length)))


def middle_week(reading: Reading) -> int:
    """The week of the middle day of a reading."""
    return week_of(reading.first + timedelta(days=(reading.span.days - 1) // 2))


@lru_cache(maxsize=256)
def transit(delay: Lognormal) -> Array:
    """D by week, without the longest delays; sums to one."""
    mass = pmf(delay.once)
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
