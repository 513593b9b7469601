"""The scans of ``works`` for few groups: all cells at once, the sets of groups in order of size.

Knows arrays only; letters are those of ``episodes``. What a work makes of a set comes from smaller
sets, so the sets of one size follow from those of one group less, each by one pass over the cells::

    gamma[c-1, X] = stay[c] gamma[c, X] + r[c] spared[X] (T[c, X] - gamma[c, X])
    T[c, X]       = gamma[c, X] + sum over s in X of w_s(c) T_s[c, X - s]

where ``stay`` is 1 - r[c] + r[c] spared[X] and T_s lets a work refit the groups before s alone, so
that a set of refitted groups is met once, by its last. The scan from the oldest cell to the newest
is the same on complements. For many groups the matrices of ``works`` are faster.
"""

from __future__ import annotations

from collections.abc import Callable
from functools import cache
from math import comb
from typing import NamedTuple

import numpy as np

from provenance.inference.grid import Array, Weeks

LEAST = 1e-30
"""The least product of ``stay`` that is divided by. Where works are so frequent that it is less,
quotients would run out of what a double holds, and the cells are taken one by one."""


class Level(NamedTuple):
    """The n sets of k groups. ``member`` (n, k): their groups, in order. ``less`` (n, k): the row
    of T_s[X - s], s being the i-th of them: X - s has i groups before it."""

    sets: Weeks
    member: Weeks
    less: Weeks


@cache
def levels(groups: int) -> tuple[Level, ...]:
    """The sets of groups by size. A set of k groups has k + 1 rows: none of its groups counted, the
    first of them, the first two, ..."""
    sets = np.arange(1 << groups)
    has = (sets[:, None] >> np.arange(groups)) & 1
    place = np.zeros_like(sets)
    found = []
    for k in range(groups + 1):
        of_size = np.flatnonzero(has.sum(axis=1) == k)
        place[of_size] = np.arange(len(of_size))
        member = np.nonzero(has[of_size])[1].reshape(len(of_size), k)
        count = comb(groups, k - 1) if k else 0
        less = place[of_size[:, None] ^ (1 << member)] + count * np.arange(k)
        found.append(Level(of_size, member, less))
    return tuple(found)


def decay(stay: Array) -> Array:
    """(C): the product of ``stay`` over the cells after each cell."""
    return np.append(np.cumprod(stay[:0:-1])[::-1], 1.0)


def before(source: Array, stay: Array) -> Array:
    """(..., C): x with x[c-1] = stay[c] x[c] + source[c] and x[-1] = 0."""
    found = np.zeros_like(source)
    decayed = decay(stay)
    if decayed[0] < LEAST:
        for c in range(len(stay) - 1, 0, -1):
            found[..., c - 1] = stay[c] * found[..., c] + source[..., c]
        return found
    scaled = source[..., 1:] / decayed[:-1]
    np.cumsum(scaled[..., ::-1], axis=-1, out=found[..., -2::-1])
    found *= decayed
    return found


def after(source: Array, stay: Array) -> Array:
    """(..., C): x with x[c+1] = stay[c] x[c] + source[c] and x[0] = 0."""
    found = np.zeros_like(source)
    decayed = decay(stay)
    if decayed[0] < LEAST:
        for c in range(len(stay) - 1):
            found[..., c + 1] = stay[c] * found[..., c] + source[..., c]
        return found
    np.cumsum((source * decayed)[..., :-1], axis=-1, out=found[..., 1:])
    found[..., 1:] /= decayed[:-1]
    return found


class LevelWorks:
    """What ``works.Works`` is, for few groups."""

    def __init__(self, weights: Array, rate: Array, spared: Array) -> None:
        self._weights, self._rate, self._spared = weights, rate, spared

    def _scan(
        self, own: Callable[[Weeks, Array], Array], *, oldest: int = 0, back: bool = False
    ) -> tuple[Array, Array]:
        """(2^S, M) twice, for the cells from ``oldest`` on: what ``own`` gives for each set, and
        the same with every refit. ``own`` is given sets (n) and (n, M) the refits that lead to
        them; ``back`` takes complements."""
        weights = self._weights[:, oldest:]
        groups, cells = weights.shape
        found = np.empty((2, 1 << groups, cells))
        smaller = np.empty((0, cells))
        for level in levels(groups):
            sets = (1 << groups) - 1 - level.sets if back else level.sets
            n, k = level.member.shape
            rows = np.zeros((k + 1, n, cells))
            for i in range(k):
                # Piece by piece, which the processor's cache can hold.
                np.multiply(smaller[level.less[:, i]], weights[level.member[:, i]], out=rows[i + 1])
                rows[i + 1] += rows[i]
            found[0, sets] = now = own(sets, rows[k])
            rows += now
            found[1, sets] = rows[k]
            smaller = rows.reshape(-1, cells)
        return found[0], found[1]

    def _stay(self, sets: Weeks, oldest: int = 0) -> Array:
        """(M): what the works of a cell that refit nothing leave of the sets, all of one size."""
        rate = self._rate[oldest:]
        stay: Array = 1 - rate + rate * self._spared[sets].max()
        return stay

    def backwards(self) -> tuple[Array, Array]:
        """gamma and T, (C, 2^S) each: the scan from the newest cell to the oldest."""

        def gamma(sets: Weeks, refits: Array) -> Array:
            stay = self._stay(sets)
            if not sets[0]:
                return decay(stay)[None]
            return before(refits * self._spared[sets][:, None] * self._rate, stay)

        found, refitted = self._scan(gamma)
        return np.ascontiguousarray(found.T), refitted.T

    def forwards(self, built: Array, oldest: int) -> Array:
        """(M, 2^S): beta[c-1] times r and what the work spares, from E: the scan from the oldest
        build's cell to the newest cell. ``built`` (N, 2^S) is E of N cells from ``oldest`` on."""

        def weighted(sets: Weeks, refits: Array) -> Array:
            source = refits.copy()
            source[:, : len(built)] += built.T[sets]
            beta = after(source, self._stay(sets, oldest))
            beta *= self._spared[sets][:, None]
            beta *= self._rate[oldest:]
            return beta

        return self._scan(weighted, oldest=oldest, back=True)[0].T

    def joint(self, first: Array, second: Array) -> Array:
        """(S, M): the sum over X without s of first[X + s] second[X], from two (M, 2^S)."""
        groups, cells = len(self._weights), len(first)
        found = np.empty((groups, cells))
        for s in range(groups):
            has, lacks = (x.T.reshape(-1, 2, 1 << s, cells) for x in (first, second))
            np.einsum("xyc,xyc->c", has[:, 1], lacks[:, 0], out=found[s])
        return found
