"""What one work can refit, as a linear step on vectors over the sets of groups.

Knows arrays only. For a cell c and weights ``w_s(c)``, one a group, the step and its transpose are::

    T[X] = sum over A in X of       prod_{s in A} w_s(c) * x[X - A]
    B[X] = sum over A outside X of  prod_{s in A} w_s(c) * x[X + A]

A sum over A is a product of one two-by-two matrix a group, [[1, 0], [w, 1]] (a Kronecker product),
so that a step costs S 2^S, not 3^S: F. Yates, The design and analysis of factorial experiments
(1937). The matrices of ``RUN`` groups are multiplied out, which is the fastest in numpy.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from provenance.inference.grid import Array

RUN = 4
"""Groups whose matrices are multiplied out together."""


def has_and_lacks(groups: int) -> tuple[npt.NDArray[np.int64], npt.NDArray[np.int64]]:
    """(n, 2^(n-1)) twice: for each group the sets that have it, and the same sets without it."""
    sets = np.arange(1 << groups)
    has = np.array([sets[sets >> s & 1 == 1] for s in range(groups)], dtype=np.int64)
    has = has.reshape(groups, len(sets) // 2)
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


@dataclass(frozen=True)
class _Run:
    """Groups whose bits stand together in X: a vector is (above, size, below), ``matrix`` works on
    the middle axis. ``groups`` is their number."""

    above: int
    size: int
    below: int
    groups: int
    matrix: Array

    def step(self, matrix: Array, vector: Array, out: Array) -> None:
        """The matrix of one cell, applied to a vector (2^S) and written to another."""
        if self.below == 1:
            shape = (self.above, self.size)
            np.dot(vector.reshape(shape), matrix.T, out=out.reshape(shape))
        elif self.above == 1:
            shape = (self.size, self.below)
            np.dot(matrix, vector.reshape(shape), out=out.reshape(shape))
        else:
            box = (self.above, self.size, self.below)
            np.matmul(matrix, vector.reshape(box), out=out.reshape(box))

    def joint(self, first: Array, second: Array) -> Array:
        """(C, n): sum over X of first[X + s] second[X], for each group s that X has not."""
        # [X, Y] of the run's own bits, summed over the others; wanted is X = Y + s.
        if self.below == 1:
            box = (len(first), self.above, self.size)
            pairs = first.reshape(box).transpose(0, 2, 1) @ second.reshape(box)
        else:
            box = (len(first), self.above, self.size, self.below)
            a, b = first.reshape(box), second.reshape(box).transpose(0, 1, 3, 2)
            pairs = a[:, 0] @ b[:, 0]
            for n in range(1, self.above):
                pairs += a[:, n] @ b[:, n]
        has, lacks = has_and_lacks(self.groups)
        total: Array = pairs[:, has, lacks].sum(axis=2)
        return total


class Refits:
    """The steps of C cells; ``weights`` are (S, C)."""

    def __init__(self, weights: Array) -> None:
        groups = len(weights)
        self._runs = [
            _Run(
                above=1 << max(groups - low - RUN, 0),
                size=1 << min(groups - low, RUN),
                below=1 << low,
                groups=min(groups - low, RUN),
                matrix=_multiplied(weights[low : low + RUN]),
            )
            for low in range(0, max(groups, 1), RUN)
        ]
        self._between = np.empty((2, 1 << groups))

    def forth(self, cell: int, vector: Array, out: Array) -> None:
        """T of one cell from x (2^S), written to ``out``."""
        for number, run in enumerate(self._runs, start=1):
            to = out if number == len(self._runs) else self._between[number % 2]
            run.step(run.matrix[cell], vector, to)
            vector = to

    def back(self, cell: int, vector: Array, out: Array) -> None:
        """B of one cell from x (2^S), written to ``out``."""
        for number, run in enumerate(self._runs, start=1):
            to = out if number == len(self._runs) else self._between[number % 2]
            run.step(run.matrix[cell].T, vector, to)
            vector = to

    def joint(self, first: Array, second: Array) -> Array:
        """(S, C): the sum over X without s of first[X + s] second[X], from two (C, 2^S)."""
        return np.concatenate([run.joint(first, second) for run in self._runs], axis=1).T
