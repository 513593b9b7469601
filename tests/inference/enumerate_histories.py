"""Brute force: every history of a small problem, one by one, as an independent reference.

Knows what a history is and nothing of how the inference sums them.
"""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass
from itertools import product

import numpy as np

from provenance.inference.episodes import Problem
from tests.inference.near import Array

Blocks = tuple[frozenset[int], ...]


@dataclass(frozen=True)
class Enumerated:
    """The marginals of a problem; shapes as in ``episodes``. ``accounts`` are probabilities."""

    evidence: float
    build: Array
    original: Array
    refitted: Array
    together: Array
    sets: Array
    accounts: dict[Blocks, float]


def enumerate_histories(problem: Problem) -> Enumerated:  # noqa: PLR0912
    """Sum over the build's cell, the cells with a work, and who was refitted in each."""
    hypotheses, count = problem.start.shape
    groups = problem.groups
    q = problem.share
    evidence = 0.0
    build = np.zeros((hypotheses, count))
    original = np.zeros((groups, hypotheses, count))
    refitted = np.zeros((groups, count))
    together = np.zeros((groups, groups))
    sets = np.zeros(1 << groups)
    accounts: defaultdict[Blocks, float] = defaultdict(float)
    for c0 in range(count):
        after = list(range(c0 + 1, count))
        for works in product((0, 1), repeat=len(after)):
            p_works = 1.0
            cells = []
            for c, work in zip(after, works, strict=True):
                p_works *= problem.rate[c] if work else 1 - problem.rate[c]
                if work:
                    cells.append(c)
            for refits in product(range(1 << groups), repeat=len(cells)):
                p = p_works
                last = [c0] * groups
                for c, mask in zip(cells, refits, strict=True):
                    for s in range(groups):
                        p *= q if mask >> s & 1 else 1 - q
                        if mask >> s & 1:
                            last[s] = c
                if groups and all(c != c0 for c in last):
                    continue
                if any(last[i] > last[j] for i, j in problem.order):
                    continue
                later = [s for s in range(groups) if last[s] != c0]
                weight = p * problem.start[:, c0]
                if problem.spoken is not None:
                    case = 0
                    for n, s in enumerate(problem.spoken.groups):
                        case += 0 if s in later else 2**n
                    weight = weight * problem.spoken.ratio[case, :, c0]
                for s in range(groups):
                    weight = weight * (
                        problem.later[s, last[s]] if s in later else problem.build[:, s, c0]
                    )
                total = float(weight.sum())
                evidence += total
                build[:, c0] += weight
                sets[sum(1 << s for s in later)] += total
                for s in range(groups):
                    if s in later:
                        refitted[s, last[s]] += total
                    else:
                        original[s, :, c0] += weight
                for s, other in product(later, repeat=2):
                    if s != other and last[s] == last[other]:
                        together[s, other] += total
                whens = sorted({last[s] for s in later})
                accounts[tuple(frozenset(s for s in later if last[s] == c) for c in whens)] += total
    return Enumerated(
        evidence,
        build / evidence,
        original / evidence,
        refitted / evidence,
        together / evidence,
        sets / evidence,
        {blocks: total / evidence for blocks, total in accounts.items()},
    )
