"""The cells of whole weeks that the inference runs on: fine where the codes are, coarse elsewhere.

Knows nothing of boards. Weeks are those of ``provenance.weeks``.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property
from itertools import pairwise

import numpy as np
import numpy.typing as npt

Array = npt.NDArray[np.float64]
Weeks = npt.NDArray[np.int64]

FINE, MIDDLE, COARSE = 1, 4, 26
"""Weeks in a cell: where many parts speak, where some do, where none does."""
REACH = 52
"""Weeks after a code in which cells are kept fine; three times as long they are kept middling."""
WARM, HOT = 0.03, 0.25
"""Parts that must speak for a week, counted by probability, for middling and for fine cells."""
FINE_WEEKS, MIDDLE_WEEKS = 200, 720
"""Most weeks in fine cells, and in fine and middling cells together."""


@dataclass(frozen=True)
class Grid:
    """C cells of whole weeks, oldest first, without gaps; W weeks in all."""

    first: Weeks
    length: Weeks

    @cached_property
    def centre(self) -> Weeks:
        """(C): the middle week of each cell."""
        middle: Weeks = self.first + (self.length - 1) // 2
        return middle

    @cached_property
    def runs(self) -> tuple[slice, ...]:
        """The runs of cells of one length."""
        cuts = [0, *(np.flatnonzero(np.diff(self.length)) + 1).tolist(), len(self.length)]
        return tuple(slice(low, high) for low, high in pairwise(cuts))

    @property
    def start(self) -> int:
        """The first week."""
        return int(self.first[0])

    @property
    def stop(self) -> int:
        """The week after the last."""
        return int(self.first[-1] + self.length[-1])

    @property
    def weeks(self) -> Weeks:
        """(W): every week."""
        return np.arange(self.start, self.stop)

    def weekly(self, mass: Array) -> Array:
        """Mass by cell (..., C) spread evenly over the cells' weeks (..., W)."""
        return np.repeat(mass / self.length, self.length, axis=-1)

    def total(self, density: Array) -> Array:
        """Sum over each cell's weeks (..., C) of something by week (..., W)."""
        summed: Array = np.add.reduceat(density, self.first - self.start, axis=-1)
        return summed

    def mean(self, density: Array) -> Array:
        """Mean over each cell's weeks (..., C) of something by week (..., W)."""
        return self.total(density) / self.length


def over(above: Array, below: Array) -> Array:
    """``above`` over ``below``, two of one shape; nothing where there is nothing below."""
    found: Array = np.divide(above, below, out=np.zeros_like(above), where=below > 0)
    return found


def grid_of(start: int, stop: int, spoken: Array) -> Grid:
    """Cells for the weeks from ``start`` up to ``stop``, fine where the codes are.

    ``spoken`` (R, 3) are first week, last week and probability of each dated reading.
    """
    weeks = stop - start
    first, last = spoken[:, :2].astype(np.int64).T
    heats = []
    for reach in (REACH, 3 * REACH):
        low, high = np.maximum(first - 1 - start, 0), np.minimum(last + reach - start, weeks)
        some = low < high
        heat = np.bincount(low[some], spoken[some, 2], weeks + 1)
        heats.append(heat - np.bincount(high[some], spoken[some, 2], weeks + 1))
    near, far = np.cumsum(heats, axis=1)[:, :weeks]
    level = np.full(weeks, COARSE)
    for heat, least, most, size in (
        (far, WARM, MIDDLE_WEEKS, MIDDLE),
        (near, HOT, FINE_WEEKS, FINE),
    ):
        warm = np.flatnonzero(heat > least)
        if len(warm) > most:
            warm = warm[np.argsort(-heat[warm], kind="stable")[:most]]
        level[warm] = size
    lengths: list[int] = []
    # Runs of one level are cut into cells of its size, the last of a run being shorter.
    edges = np.flatnonzero(np.diff(level, prepend=-1, append=-1))
    for low, high in pairwise(edges.tolist()):
        size, run = int(level[low]), high - low
        lengths += [size] * (run // size)
        if run % size:
            lengths.append(run % size)
    length = np.array(lengths)
    return Grid(start + np.cumsum(length) - length, length)
