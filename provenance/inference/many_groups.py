"""Boards of more fit groups than can be summed over at once, with a bound on the error.

The exact sum costs two to the number of groups. Beyond ``EXACT`` groups, those that fit the build
best are held to it and the sum runs over the others. Histories in which a held group was refitted
after all are left out, and their weight is bounded from above, so that no stated probability can
be off by more than ``error_bound``.

The bound. Let k be the number of works after a build in cell c0, p = 1 - q, and kappa the most that
a later work can be better than the build for a held group: the largest F_s(c) with c > c0, over
F_s(c0). Whatever the works are, that group's factor is at most F_s(c0) [kappa + (1 - kappa) p^k],
or F_s(c0) kappa where kappa is over one. The product over n held groups is then a sum over j of the
probability that j of n independent events of probabilities kappa occur (the Poisson binomial
distribution) times p^(k (n - j)), and a factor p^(k m) is what the exact sum gives with m groups
held. The sum over j of those evidences, histories without a work being counted as they are, is an
upper bound of Z. Two distributions of which one is the other cut short differ by at most the share
that was cut.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import replace
from functools import cached_property

import numpy as np

from provenance.inference.episodes import Chain, Histories, Problem, Spoken
from provenance.inference.grid import Array

EXACT = 12
"""Most groups of which every set is summed over."""
FREE = 10
"""Groups that stay free on a larger board."""
LEAST = 1e-300
"""What is less counts as this much, so that it has a logarithm."""
OUT_OF_RANGE = 300.0
"""Natural logarithm of a weight, over the best history's, beyond which the bound says nothing."""
NEGLIGIBLE = 1e-9
"""What starts from less than this share of Z is taken as it starts: nothing can make it more."""


class HeldHistories:
    """The same marginals as ``Histories``, with most groups held to the build."""

    def __init__(self, problem: Problem) -> None:
        self.problem = problem
        self._free = _free_groups(problem)
        self._held = [s for s in range(problem.groups) if s not in self._free]
        place = {s: number for number, s in enumerate(self._free)}
        # With hundreds of groups a product runs out of range; only ratios matter.
        logs = _log(problem.start) + _log(problem.build[:, self._held]).sum(axis=1)
        self._scale = float(logs.max())
        self._exact = Histories(
            replace(
                problem,
                start=np.exp(logs - self._scale),
                build=problem.build[:, self._free],
                later=problem.later[self._free],
                order=frozenset(
                    (place[i], place[j]) for i, j in problem.order if i in place and j in place
                ),
                held=problem.held + len(self._held),
                spoken=_of_free(problem.spoken, place),
            )
        )

    @property
    def evidence(self) -> float:
        """Z with the held groups original."""
        return self._exact.evidence

    @property
    def build(self) -> Array:
        """(H, C): the probability of each hypothesis and cell of the build."""
        return self._exact.build

    @property
    def build_by(self) -> tuple[Array, ...]:
        """The same for each case of what is said of single groups."""
        return self._by_all(self._exact.build_by)

    def original_by(self, group: int) -> tuple[Array, ...]:
        """(H, C) for each case: the probability that the build fitted the group."""
        if group in self._held:
            return self.build_by
        return self._by_all(self._exact.original_by(self._free.index(group)))

    def _by_all(self, cases: tuple[Array, ...]) -> tuple[Array, ...]:
        """Cases of the free groups as cases of all; those that are held are original."""
        spoken, free = self.problem.spoken, self._exact.problem.spoken
        if spoken is None or free is None:
            return cases
        found = [np.zeros_like(cases[0]) for _ in spoken.ratio]
        for number, case in enumerate(cases):
            later = {self._free[s] for n, s in enumerate(free.groups) if not number >> n & 1}
            found[spoken.number(later)] = case
        return tuple(found)

    @property
    def near(self) -> slice:
        """The cells of the builds that matter."""
        return self._exact.near

    @cached_property
    def error_bound(self) -> float:
        """The most that any stated probability can be off."""
        held, count = self._exact.problem, len(self._held)
        reached = np.maximum.accumulate(self.problem.later[self._held, ::-1], axis=1)[:, ::-1]
        after = np.append(reached[:, 1:], np.zeros((count, 1)), axis=1)
        build = self.problem.build[:, self._held]
        logs = _log(self.problem.most) + _log(np.maximum(build, after)).sum(axis=1)
        if logs.max() - self._scale > OUT_OF_RANGE:
            return 1.0
        most = np.exp(logs - self._scale)
        # Without a work nothing can have been refitted: that part is known, the rest is bounded.
        quiet = np.append(np.cumprod(1 - held.rate[:0:-1])[::-1], 1.0) * held.build.prod(axis=1)
        total = float((held.cases[-1][1] * quiet).sum())
        least = NEGLIGIBLE * self.evidence
        told = most >= least / most.size
        total += float(most[~told].sum())
        kappa = np.divide(after, build, out=np.ones_like(build), where=build > 0)
        kappa = np.minimum(kappa, 1.0).transpose(1, 0, 2)[:, told]
        events = np.zeros((count + 1, told.sum()))
        events[0] = 1.0
        for number, one in enumerate(kappa, start=1):
            events[1 : number + 1] = events[1 : number + 1] * (1 - one) + events[:number] * one
            events[0] *= 1 - one
        starts = most[told] * events
        telling = starts.sum(axis=1) >= least
        total += float(starts[~telling].sum())
        # Every set of free groups, all of them too: that a held group is original is not used.
        events_told = np.flatnonzero(telling)[:, None]
        missing = held.groups + held.held - held.met.sum(axis=1) - events_told
        reach = self._exact.reach_if(held.valid * (1.0 - held.share) ** missing)
        total += float((starts[telling] * (reach - quiet)[:, told]).sum())
        return max(1.0 - self.evidence / total, 0.0)

    @cached_property
    def original(self) -> Array:
        """(S, H, C): the probability that the build fitted the group, by hypothesis and cell."""
        found = np.empty((self.problem.groups, *self.build.shape))
        found[self._free] = self._exact.original
        found[self._held] = self.build
        return found

    @cached_property
    def refitted(self) -> Array:
        """(S, C): the probability that a later work in the cell was the last to refit the group."""
        found = np.zeros((self.problem.groups, self.problem.cells))
        found[self._free] = self._exact.refitted
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
        return self._exact.any_refitted(n for n, s in enumerate(self._free) if s in members)

    def together(self, first: int, second: int) -> float:
        """The probability that one later work was the last to refit both groups."""
        if first in self._held or second in self._held:
            return 0.0
        return self._exact.together(self._free.index(first), self._free.index(second))

    def chain(self, blocks: Sequence[frozenset[int]]) -> Chain:
        """One account, as in ``Histories``; its blocks are of free groups."""
        found = self._exact.chain(
            [frozenset(self._free.index(s) for s in block) for block in blocks]
        )
        if (spoken := self.problem.spoken) is None:
            return found
        return replace(found, case=spoken.number({s for block in blocks for s in block}))


def _log(values: Array) -> Array:
    """Natural logarithms; minus infinity of nothing."""
    with np.errstate(divide="ignore"):
        return np.asarray(np.log(values))


def _free_groups(problem: Problem) -> list[int]:
    """The groups that stay free. A free group's later ones are free too: if they were held to the
    build, the group could not be later either."""
    free: set[int] = set()
    # Groups that are equally out of place stay in order, whatever their last digits.
    for s in np.argsort(-_out_of_place(problem).round(9), kind="stable").tolist():
        more = {s} | {j for i, j in problem.order if i == s}
        if len(free | more) <= FREE:
            free |= more
    return sorted(free)


def _of_free(spoken: Spoken | None, place: Mapping[int, int]) -> Spoken | None:
    """What is said of the groups that stay free, the others being original; ``place`` numbers
    them."""
    if spoken is None:
        return None
    free = [s for s in spoken.groups if s in place]
    numbers = [
        spoken.number({s for n, s in enumerate(free) if not case >> n & 1})
        for case in range(1 << len(free))
    ]
    return Spoken(tuple(place[s] for s in free), spoken.ratio[numbers])


def _out_of_place(problem: Problem) -> Array:
    """(S): how much better each group fits a later work than the build, on a first look: natural
    logarithms. There each group is original or of a work of its own, whichever is the likelier."""
    built = problem.build.mean(axis=0)
    reached = np.maximum.accumulate(problem.later[:, ::-1], axis=1)[:, ::-1]
    after = np.append(reached[:, 1:], np.zeros((problem.groups, 1)), axis=1)
    either = np.maximum(np.maximum(built, problem.share * after), LEAST)
    vote = np.log(problem.most.sum(axis=0) + LEAST) + np.log(either).sum(axis=0)
    c = int(vote.argmax())
    return _log(reached[:, c]) - _log(np.maximum(built[:, c], LEAST))


def solve(problem: Problem) -> Histories | HeldHistories:
    """The exact sum, or beyond ``EXACT`` groups the one with an error bound."""
    return Histories(problem) if problem.groups <= EXACT else HeldHistories(problem)
