"""The scans of the exact inference: works as linear steps on vectors over the sets of groups.

Knows arrays only; letters are those of ``episodes``. For a cell c and weights ``w_s(c)``, one a
group, what a work can refit and the transpose of it are::

    T[X] = sum over A in X of       prod_{s in A} w_s(c) * x[X - A]
    B[X] = sum over A outside X of  prod_{s in A} w_s(c) * x[X + A]

A sum over A is a product of one two-by-two matrix a group, [[1, 0], [w, 1]] (a Kronecker product),
so that a step costs S 2^S, not 3^S: F. Yates, The design and analysis of factorial experiments
(1937). The matrices of ``RUN`` groups are multiplied out, which is the fastest in numpy. For few
groups ``levels`` is faster.
"""

from __future__ import annotations

from collections.abc import Iterator
from functools import cached_property
from itertools import pairwise
from typing import NamedTuple

import numpy as np
import numpy.typing as npt

from provenance.inference.grid import Array

RUN = 5
"""Most groups whose matrices are multiplied out together."""


def members(groups: int) -> npt.NDArray[np.bool_]:
    """(2^S, S): which groups are in each set X."""
    sets = np.arange(1 << groups)[:, None]
    found: npt.NDArray[np.bool_] = (sets >> np.arange(groups)) & 1 == 1
    return found


def _has_and_lacks(groups: int) -> tuple[npt.NDArray[np.int64], npt.NDArray[np.int64]]:
    """(n, 2^(n-1)) twice: for each group the sets that have it, and the same sets without it."""
    has = np.nonzero(members(groups).T)[1].reshape(groups, (1 << groups) // 2)
    return has, has ^ (1 << np.arange(groups))[:, None]


def _multiplied(weights: Array) -> Array:
    """(C, 2^n, 2^n) from (n, C): [new X, old X], the product of the matrices of n groups."""
    cells = weights.shape[1]
    matrix = np.ones((cells, 1, 1))
    for weight in weights:
        size = matrix.shape[1]
        # The later group is the higher bit, so it is the outer factor.
        grown = np.zeros((cells, 2 * size, 2 * size))
        grown[:, :size, :size] = grown[:, size:, size:] = matrix
        grown[:, size:, :size] = weight[:, None, None] * matrix
        matrix = grown
    return matrix


class _Run(NamedTuple):
    """Groups whose bits stand together in X: a vector is (above, size, below), ``matrix`` works on
    the middle axis. ``groups`` is their number."""

    above: int
    size: int
    below: int
    groups: int
    matrix: Array

    def step(self, matrix: Array, vector: Array, out: Array) -> None:
        """The matrix of one cell, applied to vectors (..., 2^S) and written to others."""
        if self.below == 1:
            shape = (-1, self.size)
            np.dot(vector.reshape(shape), matrix.T, out=out.reshape(shape))
        elif self.above == vector.ndim == 1:
            shape = (self.size, self.below)
            np.dot(matrix, vector.reshape(shape), out=out.reshape(shape))
        else:
            box = (-1, self.size, self.below)
            np.matmul(matrix, vector.reshape(box), out=out.reshape(box))

    def joint(self, first: Array, second: Array) -> Array:
        """(C, n): sum over X of first[X + s] second[X], for each group s that X has not."""
        # [X, Y] of the run's own bits, summed over the others; wanted is X = Y + s.
        cells, rows = len(first), (self.above, self.size)
        if self.below == 1:
            pairs = first.reshape(cells, *rows).transpose(0, 2, 1) @ second.reshape(cells, *rows)
        else:
            box = (cells, *rows, self.below)
            a, b = first.reshape(box), second.reshape(box).transpose(0, 1, 3, 2)
            pairs = a[:, 0] @ b[:, 0]
            for n in range(1, self.above):
                pairs += a[:, n] @ b[:, n]
        has, lacks = _has_and_lacks(self.groups)
        total: Array = pairs[:, has, lacks].sum(axis=2)
        return total


class Works:
    """The works of C cells: ``weights`` (S, C) as above, ``rate`` (C) the probability of a work in
    the cell, ``spared`` (2^S) the weight of what it must spare to leave the groups of X as the
    last met; (J, 2^S) for ``newest_first``."""

    def __init__(self, weights: Array, rate: Array, spared: Array) -> None:
        groups, self._cells = weights.shape
        self._stays, self._rate, self._spared = 1 - rate, rate, spared
        count = max(-(-groups // RUN), 1)
        cuts = [groups * number // count for number in range(count + 1)]
        self._runs = [
            _Run(
                above=1 << groups - high,
                size=1 << high - low,
                below=1 << low,
                groups=high - low,
                matrix=_multiplied(weights[low:high]),
            )
            for low, high in pairwise(cuts)
        ]

    @cached_property
    def _spared_by(self) -> list[Array]:
        """(..., 2^S) for each cell: r times ``spared``; cells of one length share theirs."""
        rates, which = np.unique(self._rate, return_inverse=True)
        scaled = [r * self._spared for r in rates]
        return [scaled[i] for i in which]

    def _step(self, cell: int, vector: Array, out: Array, *, back: bool = False) -> None:
        """T of one cell from x (..., 2^S), or B, written to ``out``."""
        for run in self._runs[:-1]:
            to = np.empty_like(out)
            run.step(run.matrix[cell].T if back else run.matrix[cell], vector, to)
            vector = to
        run = self._runs[-1]
        run.step(run.matrix[cell].T if back else run.matrix[cell], vector, out)

    def backwards(self) -> tuple[Array, Array]:
        """gamma and T, (C, 2^S) each: the scan from the newest cell to the oldest."""
        gamma, refitted = (np.empty((self._cells, len(self._spared))) for _ in range(2))
        for c, now, moved in self.newest_first():
            gamma[c], refitted[c] = now, moved
        return gamma, refitted

    def newest_first(self) -> Iterator[tuple[int, Array, Array]]:
        """Each cell, its gamma and its T (..., 2^S), from the newest cell to the oldest; none is
        kept."""
        gamma, refitted = np.zeros_like(self._spared), np.empty_like(self._spared)
        gamma[..., 0] = 1.0
        for c in range(self._cells - 1, -1, -1):
            self._step(c, gamma, refitted)
            yield c, gamma, refitted
            refitted *= self._spared_by[c]
            gamma *= self._stays[c]
            gamma += refitted

    def forwards(self, built: Array, oldest: int) -> Array:
        """(M, 2^S): beta[c-1] times r and what the work spares, from E: the scan from the oldest
        build's cell to the newest cell. ``built`` (N, 2^S) is E of N cells from ``oldest`` on."""
        weighted = np.empty((self._cells - oldest, len(self._spared)))
        now, moved = np.zeros((2, len(self._spared)))
        stays = self._stays.tolist()
        for n, out in enumerate(weighted):
            np.multiply(self._spared_by[oldest + n], now, out=out)
            self._step(oldest + n, out, moved, back=True)
            now *= stays[oldest + n]
            now += moved
            if n < len(built):
                now += built[n]
        return weighted

    def joint(self, first: Array, second: Array) -> Array:
        """(S, M): the sum over X without s of first[X + s] second[X], from two (M, 2^S)."""
        return np.concatenate([run.joint(first, second) for run in self._runs], axis=1).T
