"""Boards of more fit groups than can be summed over at once, with a bound on the error.

The exact sum costs two to the number of groups. Beyond ``EXACT`` groups, those that fit the build
best are held to it and the sum runs over the others. What that leaves out is worked out to first
order, one held group at a time, is given back to the group's marginals, and its total is the
error bound: no stated probability can be off by more than the chance that any held group was
refitted after all (Boole's inequality on those first-order chances).
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import replace
from functools import cached_property

import numpy as np

from provenance.inference.episodes import Chain, Histories, Problem
from provenance.inference.grid import Array

EXACT = 10
"""Most groups of which every set is summed over."""
FREE = 8
"""Groups that stay free on a larger board."""
FLOOR = 1e-4
"""In the first look, no group may make a cell less probable than this: later groups must not
drag the build towards themselves."""


class HeldHistories:
    """The same marginals as ``Histories``, with most groups held to the build."""

    def __init__(self, problem: Problem) -> None:
        self.problem = problem
        ranked = np.argsort(-_out_of_place(problem), kind="stable")
        self._free = sorted(int(s) for s in ranked[:FREE])
        self._held = sorted(int(s) for s in ranked[FREE:])
        place = {s: number for number, s in enumerate(self._free)}
        start = problem.start * problem.build[:, self._held].prod(axis=1)
        self._exact = Histories(
            replace(
                problem,
                start=start,
                build=problem.build[:, self._free],
                later=problem.later[self._free],
                order=frozenset(
                    (place[i], place[j]) for i, j in problem.order if i in place and j in place
                ),
                held=problem.held + len(self._held),
            )
        )

    @cached_property
    def evidence(self) -> float:
        """Z with the held groups original."""
        return self._exact.evidence

    @cached_property
    def build(self) -> Array:
        """(H, C): the probability of each hypothesis and cell of the build."""
        return self._exact.build

    @cached_property
    def _first_order(self) -> Array:
        """(number held, C): the chance that a work in the cell refitted each held group."""
        problem, q = self.problem, self.problem.share
        # A work of which a free group tells may have refitted the held group too.
        works = problem.rate + self._exact.refitted.max(axis=0, initial=0.0)
        found = np.zeros((len(self._held), problem.cells))
        for number, s in enumerate(self._held):
            if any(i == s and j not in self._held for i, j in problem.order):
                continue
            curve = problem.build[:, s]
            rest = np.divide(self.build, curve, out=np.zeros_like(curve), where=curve > 0)
            before = np.concatenate(([0.0], np.cumsum(rest.sum(axis=0))[:-1]))
            odds = works * q / (1 - q) * problem.later[s] * before
            found[number] = odds / (1.0 + odds.sum())
        return found

    @cached_property
    def error_bound(self) -> float:
        """The most that any stated probability can be off."""
        return float(min(self._first_order.sum(), 1.0))

    @cached_property
    def original(self) -> Array:
        """(S, H, C): the probability that the build fitted the group, by hypothesis and cell."""
        found = np.empty((self.problem.groups, *self.build.shape))
        found[self._free] = self._exact.original
        spared = 1.0 - self._first_order.sum(axis=1)
        found[self._held] = spared[:, None, None] * self.build
        return found

    @cached_property
    def refitted(self) -> Array:
        """(S, C): the probability that a later work in the cell was the last to refit the group."""
        found = np.empty((self.problem.groups, self.problem.cells))
        found[self._free] = self._exact.refitted
        found[self._held] = self._first_order
        return found

    def likely_sets(self, least: float) -> list[tuple[frozenset[int], float]]:
        """The sets of refitted free groups that are at least so probable."""
        return [
            (frozenset(self._free[s] for s in members), p)
            for members, p in self._exact.likely_sets(least)
        ]

    def any_refitted(self, groups: Iterable[int]) -> float:
        """The probability that at least one of the groups was refitted."""
        members = set(groups)
        free = [n for n, s in enumerate(self._free) if s in members]
        held = [n for n, s in enumerate(self._held) if s in members]
        missed = float(self._first_order[held].sum())
        return min(self._exact.any_refitted(free) + missed, 1.0)

    def together(self, first: int, second: int) -> float:
        """The probability that one later work was the last to refit both groups."""
        if first in self._held or second in self._held:
            return 0.0
        return self._exact.together(self._free.index(first), self._free.index(second))

    def chain(self, blocks: Sequence[frozenset[int]]) -> Chain:
        """One account, as in ``Histories``; its blocks are of free groups."""
        return self._exact.chain(
            [frozenset(self._free.index(s) for s in block) for block in blocks]
        )


def _out_of_place(problem: Problem) -> Array:
    """(S): how much better each group fits a later work than the build, on a first look."""
    shape = problem.build.sum(axis=0)
    floored = np.maximum(shape / shape.max(axis=1, keepdims=True), FLOOR)
    vote = np.log(problem.start.sum(axis=0) + 1e-300) + np.log(floored).sum(axis=0)
    c = int(vote.argmax())
    best_later = np.maximum.accumulate(problem.later[:, ::-1], axis=1)[:, ::-1][:, c]
    return np.asarray(best_later / np.maximum(shape[:, c], 1e-300))


def solve(problem: Problem) -> Histories | HeldHistories:
    """The exact sum, or beyond ``EXACT`` groups the one with an error bound."""
    return Histories(problem) if problem.groups <= EXACT else HeldHistories(problem)
