"""The exact inference: every history of a board, summed.

Knows arrays only. A history is: the build in cell ``c0``; later works, each in a cell of its own,
each refitting every fit group with probability ``q``. What is seen of a group depends on its last
fitting alone, and the build's own fitting is the last of at least one group. Works come strictly
after the build, at most one in a cell, with probability ``r[c]``.

Letters are those of docs/model.md. Cells count from the oldest; ``X`` is a set of groups as a
bit mask (bit ``s`` for group ``s``), the groups whose last fitting has been met when the cells
are scanned from the newest to the oldest::

    gamma[c, X]  the weight of everything later than cell c
    T[c, X]      sum over A in X of prod_{s in A} q F_s(c) * gamma[c, X - A]
    gamma[c-1, X] = (1 - r[c]) gamma[c, X] + r[c] (1 - q)^(S - |X|) T[c, X]

    E[c, X]      the build in cell c with exactly the groups outside X, summed over hypotheses
    beta[c, X]   the weight of everything up to cell c, given X:
    beta[c, X] = E[c, X] + (1 - r[c]) beta[c-1, X]
                 + r[c] sum over A outside X of prod_{s in A} q F_s(c)
                   * (1 - q)^(S - |X + A|) beta[c-1, X + A]

    Z = sum over c, X of E[c, X] gamma[c, X]

The two scans are in ``levels`` for few groups and in ``works`` for many.
"""

from __future__ import annotations

from collections.abc import Callable, Container, Iterable, Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import NamedTuple

import numpy as np
import numpy.typing as npt

from provenance.inference.grid import Array
from provenance.inference.levels import LevelWorks, after, before, decay
from provenance.inference.works import Works, members

FEW = 8
"""Most groups for which the scans of ``levels`` are the faster."""
NOTHING = 1e-18
"""The share of Z that may be passed over. A lot's marking seldom makes one week more than some
million times likelier than another, so it is still nothing after that marking is divided out."""


class Spoken(NamedTuple):
    """What is said of the fitting of K single ``groups``, where the build fitted them: it dates the
    build as well. ``ratio`` (2^K, H, C) is what that makes of ``start``, by the set of those groups
    that are original (bit n for the n-th of ``groups``); one for none."""

    groups: tuple[int, ...]
    ratio: Array

    def number(self, later: Container[int]) -> int:
        """The number of the set of those groups that are original, from all groups that are not."""
        return sum(1 << n for n, s in enumerate(self.groups) if s not in later)


@dataclass(frozen=True)
class Problem:
    """What one board asks. C cells, S groups, H hypotheses.

    ``start`` (H, C): prior weight times the likelihood of the build's date, for each hypothesis.
    ``build`` (H, S, C): how probable each group's parts are if the build picked them in the cell.
    ``later`` (S, C): the same if a later work did. ``rate`` (C): r. ``share``: q.
    ``order``: pairs (i, j) of groups, i fitted no later than j. ``held``: further groups that are
    taken to be original, so that every work spares them; ``start`` holds their likelihood.
    ``spoken``: what is said of single groups, if anything.
    """

    start: Array
    build: Array
    later: Array
    rate: Array
    share: float
    order: frozenset[tuple[int, int]] = frozenset()
    held: int = 0
    spoken: Spoken | None = None

    @property
    def groups(self) -> int:
        """S."""
        return len(self.later)

    @property
    def cells(self) -> int:
        """C."""
        return len(self.rate)

    @cached_property
    def met(self) -> npt.NDArray[np.bool_]:
        """(2^S, S): which groups are in each set X."""
        return members(self.groups)

    @cached_property
    def valid(self) -> Array:
        """(2^S): one for the sets that a history can have, nothing for the others."""
        valid = np.ones(1 << self.groups)
        for i, j in self.order:
            # A group met before the one that must be fitted no later than it: impossible.
            valid[self.met[:, i] & ~self.met[:, j]] = 0.0
        if self.groups and not self.held:
            # A board of which nothing is original has no build that its parts could date.
            valid[-1] = 0.0
        return valid

    @cached_property
    def spared(self) -> Array:
        """(2^S): (1 - q)^(S - |X|), what a work must spare; held groups are always spared."""
        missing = self.groups + self.held - self.met.sum(axis=1)
        spared: Array = self.valid * (1.0 - self.share) ** missing
        return spared

    @cached_property
    def most(self) -> Array:
        """(H, C): ``start`` at its best, whichever groups are original."""
        return self.start if self.spoken is None else self.start * self.spoken.ratio.max(axis=0)

    @cached_property
    def cases(self) -> tuple[tuple[Array | float, Array], ...]:
        """The sets X (2^S) of each case, and (H, C) ``start`` in it; one case, if nothing is
        said of single groups."""
        if self.spoken is None:
            return ((1.0, self.start),)
        place = np.zeros(len(self.met), np.int64)
        for n, s in enumerate(self.spoken.groups):
            place += np.where(self.met[:, s], 0, 1 << n)
        return tuple(
            ((place == number).astype(float), self.start * ratio)
            for number, ratio in enumerate(self.spoken.ratio)
        )


def _products(curves: Array) -> Array:
    """(N, H, 2^n) from (H, n, N): the product of the curves of the groups outside each set."""
    hypotheses, groups, cells = curves.shape
    products = np.ones((cells, hypotheses, 1 << groups))
    for s, curve in enumerate(curves.transpose(1, 2, 0)):
        without = products[..., : 1 << s]
        products[..., 1 << s : 2 << s] = without
        without *= curve[..., None]
    return products


def _halves(build: Array) -> tuple[Array, Array]:
    """The products of F_s (H, S, N) over the groups outside X, (N, H, .) each: a set is split in
    two halves of its bits, low and high, so that a vector over X is a matrix (high, low)."""
    low = (build.shape[1] + 1) // 2
    return _products(build[:, :low]), _products(build[:, low:])


def _square(vector: Array, low: Array) -> Array:
    """A vector over X as a matrix (high, low), after any leading axes."""
    return vector.reshape(*vector.shape[:-1], -1, low.shape[-1])


def _reach(build: Array, gamma: Array) -> Array:
    """(H, N): the weight of everything after a build in the cell, per unit of ``start``."""
    low, high = _halves(build)
    reach: Array = (high @ _square(gamma, low) * low).sum(axis=2).T
    return reach


def _near(problem: Problem, gamma: Array) -> slice:
    """The cells of the builds that matter, by what the best of all hypotheses would reach."""
    best = _reach(problem.build.max(axis=0, keepdims=True), gamma)[0]
    most = problem.most.sum(axis=0) * best
    c = int(most.argmax())
    some = slice(c, c + 1)
    build = problem.build[..., some]
    least = sum(
        float((start[:, some] * _reach(build, gamma[some] * sets)).sum())
        for sets, start in problem.cases
    )
    held = np.flatnonzero(most * len(most) > NOTHING * least)
    return slice(int(held[0]), int(held[-1]) + 1) if len(held) else slice(0, 0)


class Histories:
    """The sums over all histories of a problem, and the marginals that follow from them.

    Arrays over X have 2^S entries. Every probability is exact for the problem as given: the builds
    outside ``near``, N of the C cells, together weigh less than ``NOTHING`` of Z.
    """

    error_bound = 0.0
    """What is left out is less than a double can tell."""

    def __init__(self, problem: Problem) -> None:
        self.problem = problem
        scans = LevelWorks if problem.groups <= FEW else Works
        self._works = scans(problem.share * problem.later, problem.rate, problem.spared)
        gamma, self._transformed = self._works.backwards()
        self.near = _near(problem, gamma)
        self._gamma = gamma[self.near].copy()

    @cached_property
    def _cases(self) -> tuple[tuple[Array | float, Array], ...]:
        """The sets X (2^S) of each case, and (N, H) ``start`` in it."""
        return tuple(
            (sets, np.ascontiguousarray(start[:, self.near].T))
            for sets, start in self.problem.cases
        )

    def _placed(self, built: Array) -> Array:
        """(H, C): what is (N, H), with nothing in all other cells."""
        placed = np.zeros(self.problem.start.shape[::-1])
        placed[self.near] = built
        return placed.T

    @cached_property
    def _halves(self) -> tuple[Array, Array]:
        """(N, H, .) for the low and high half."""
        return _halves(self.problem.build[..., self.near])

    @cached_property
    def _weighed(self) -> tuple[Array, ...]:
        """(N, H, S + 1) for each case: the weight of a build in the cell and of everything after
        it; with each of the groups original, and in all."""
        low, high = self._halves
        weighed = []
        for sets, start in self._cases:
            gamma = _square(self._gamma if isinstance(sets, float) else self._gamma * sets, low)
            # prod F_s gamma, summed over the other half.
            by_low = (high @ gamma) * low
            by_high = (low @ gamma.transpose(0, 2, 1)) * high
            found = [by_low.sum(axis=2, keepdims=True)]
            for half in (by_high, by_low):
                count = half.shape[2]
                original = (~members(count.bit_length() - 1)).astype(float)
                # One product of matrices, not one a cell.
                found.insert(0, (half.reshape(-1, count) @ original).reshape(*half.shape[:2], -1))
            weighed.append(np.concatenate(found, axis=2))
            weighed[-1] *= start[:, :, None]
        return tuple(weighed)

    def reach_if(self, spared: Array) -> Array:
        """(J, H, C): the weight of everything after a build in the cell, per unit of ``start``, if
        works had to spare otherwise, J times; ``spared`` is (J, 2^S)."""
        problem = self.problem
        low, high = _halves(problem.build)
        reach = np.empty((len(spared), *problem.start.shape))
        works = Works(problem.share * problem.later, problem.rate, spared)
        for c, gamma, _ in works.newest_first():
            reach[:, :, c] = (high[c] @ _square(gamma, low) * low[c]).sum(axis=2)
        return reach

    @cached_property
    def evidence(self) -> float:
        """Z, the probability of everything observed."""
        return sum(float(case[..., -1].sum()) for case in self._weighed)

    @cached_property
    def build(self) -> Array:
        """(H, C): the probability of each hypothesis and cell of the build."""
        return sum(self.build_by[1:], self.build_by[0])

    @cached_property
    def build_by(self) -> tuple[Array, ...]:
        """The same for each case of what is said of single groups."""
        return tuple(self._placed(case[..., -1] / self.evidence) for case in self._weighed)

    @cached_property
    def original(self) -> Array:
        """(S, H, C): the probability that the build fitted the group, by hypothesis and cell."""
        weighed = sum(self._weighed[1:], self._weighed[0])[..., :-1] / self.evidence
        original = np.zeros((self.problem.groups, *self.problem.start.shape[::-1]))
        original[:, self.near] = weighed.transpose(2, 0, 1)
        return original.transpose(0, 2, 1)

    def original_by(self, group: int) -> tuple[Array, ...]:
        """(H, C) for each case of what is said of single groups: the same of one group."""
        return tuple(self._placed(case[..., group] / self.evidence) for case in self._weighed)

    @cached_property
    def _built(self) -> Array:
        """E, (N, 2^S)."""
        low, high = self._halves
        found = []
        for sets, start in self._cases:
            built = (high.transpose(0, 2, 1) @ (low * start[:, :, None])).reshape(len(low), -1)
            built *= self.problem.valid * sets
            found.append(built)
        return sum(found[1:], found[0])

    @cached_property
    def _beta(self) -> Array:
        """(M, 2^S): r (1 - q)^(S - |X|) beta[c-1], as the marginals of c need it, for the cells
        from the oldest build that matters on; before it there is nothing."""
        return self._works.forwards(self._built, self.near.start)

    @cached_property
    def later_sets(self) -> Array:
        """(2^S): the probability that exactly the groups in X were refitted."""
        weight: Array = (self._built * self._gamma).sum(axis=0)
        return weight / self.evidence

    @cached_property
    def refitted(self) -> Array:
        """(S, C): the probability that a later work in the cell was the last to refit the group."""
        refitted, since = np.zeros_like(self.problem.later), slice(self.near.start, None)
        refitted[:, since] = self._works.joint(self._beta, self._transformed[since])
        refitted *= self.problem.share * self.problem.later / self.evidence
        return refitted

    def likely_sets(self, least: float) -> list[tuple[frozenset[int], float]]:
        """The sets of refitted groups that are at least so probable, most probable first."""
        sets = self.later_sets
        ranked = np.flatnonzero(sets >= least)
        # Sets that are equally probable stay in order, whatever their last digits.
        ranked = ranked[np.argsort(-sets[ranked].round(9), kind="stable")]
        groups = range(self.problem.groups)
        return [(frozenset(s for s in groups if x >> s & 1), float(sets[x])) for x in ranked]

    def any_refitted(self, groups: Iterable[int]) -> float:
        """The probability that at least one of the groups was refitted."""
        return float(self.later_sets[self.problem.met[:, list(groups)].any(axis=1)].sum())

    def together(self, first: int, second: int) -> float:
        """The probability that one later work was the last to refit both groups."""
        problem = self.problem
        low, high = sorted((first, second))
        since = slice(self.near.start, None)
        shape = (len(self._beta), -1, 2, 1 << (high - low - 1), 2, 1 << low)
        has = self._beta.reshape(shape)[:, :, 1, :, 1]
        without = self._transformed[since].reshape(shape)[:, :, 0, :, 0]
        weight = np.einsum("cijk,cijk->c", has, without)
        curve = problem.share**2 * problem.later[first, since] * problem.later[second, since]
        return float((curve * weight).sum() / self.evidence)

    def chain(self, blocks: Sequence[frozenset[int]]) -> Chain:
        """One account: the build, then the blocks of groups refitted together, oldest first.

        Works that left no trace are summed over. The probability is zero where the order of the
        groups forbids the account.
        """
        problem = self.problem
        place = {s: number for number, block in enumerate(blocks, start=1) for s in block}
        forbidden = any(place.get(i, 0) > place.get(j, 0) for i, j in problem.order)
        if forbidden or len(place) == problem.groups + problem.held > 0:
            return Chain(0.0, lambda: (np.zeros_like(problem.start), ()))
        q, r, groups = problem.share, problem.rate, problem.groups

        def stay(missing: int) -> Array:
            """What the works of a cell that refit nothing leave."""
            return 1 - r + r * (1 - q) ** missing

        # Stage k of the scan from the newest cell: the last k blocks have been met.
        missing = groups + problem.held
        stays, steps = [stay(missing)], []
        gamma = [decay(stays[0])]
        for block in reversed(blocks):
            missing -= len(block)
            refit = np.prod([q * problem.later[s] for s in block], axis=0)
            steps.append(r * refit * (1 - q) ** missing)
            stays.append(stay(missing))
            gamma.append(before(steps[-1] * gamma[-1], stays[-1]))
        # (N, H): the build with exactly the groups outside the blocks.
        low, high = self._halves
        above, below = divmod(sum(1 << s for s in place), low.shape[2])
        case = 0 if problem.spoken is None else problem.spoken.number(place)
        source = self._cases[case][1] * low[..., below] * high[..., above]
        built = source * gamma[-1][self.near, None]
        total = built.sum()

        def dated() -> tuple[Array, tuple[Array, ...]]:
            if total <= 0:
                return np.zeros_like(problem.start), ()
            beta = np.zeros(problem.cells)
            beta[self.near] = source.sum(axis=1)
            works = []
            for stage in range(len(blocks), 0, -1):
                beta = after(beta, stays[stage]) * steps[stage - 1]
                works.append(beta * gamma[stage - 1] / total)
            return self._placed(built / total), tuple(works)

        return Chain(float(total / self.evidence), dated, case)


@dataclass(frozen=True)
class Chain:
    """One account; most are too improbable for their dates to be asked for."""

    probability: float
    dated: Callable[[], tuple[Array, tuple[Array, ...]]]
    case: int = 0
    """Which of the single groups that something is said of are original."""

    @cached_property
    def _dates(self) -> tuple[Array, tuple[Array, ...]]:
        return self.dated()

    @property
    def built(self) -> Array:
        """(H, C): the build, given the account; sums to one."""
        return self._dates[0]

    @property
    def works(self) -> tuple[Array, ...]:
        """One distribution (C) for each block, oldest first."""
        return self._dates[1]
