"""Random small problems for the exact inference, drawn so that nothing in them is typical."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from provenance.inference.episodes import Problem, Spoken
from tests.inference.near import Array

SIZES = ((0, 5), (1, 7), (2, 4), (2, 5), (2, 5), (3, 4), (3, 4), (3, 4), (4, 3))
"""Groups and cells, small enough that every history can be visited."""


def random_order(rng: np.random.Generator, groups: int) -> frozenset[tuple[int, int]]:
    """A partial order, transitively closed, on some of the groups."""
    rank = rng.permutation(groups)
    pairs = {
        (int(rank[a]), int(rank[b]))
        for a in range(groups)
        for b in range(a + 1, groups)
        if rng.random() < 0.3
    }
    for middle in rank:
        pairs |= {(i, k) for i, j in pairs for j2, k in pairs if j == j2 == middle}
    return frozenset(pairs)


def random_problem(rng: np.random.Generator) -> Problem:
    """One problem: works in up to two cells of three, curves over many orders of magnitude."""
    groups, cells = SIZES[rng.integers(len(SIZES))]
    hypotheses = int(rng.integers(1, 4))
    scale = rng.choice([0.3, 3.0, 8.0])

    def curve(*shape: int) -> Array:
        found: Array = np.exp(scale * rng.standard_normal(shape))
        # Some things are impossible, never in the first cell so that a history is left.
        found[..., 1:][rng.random(found[..., 1:].shape) < 0.1] = 0.0
        return found

    return Problem(
        start=curve(hypotheses, cells),
        build=curve(hypotheses, groups, cells),
        later=curve(groups, cells),
        rate=rng.uniform(0.0, 0.66, cells),
        share=float(rng.uniform(0.05, 0.95)),
        order=random_order(rng, groups),
    )


def spoken_of(rng: np.random.Generator, problem: Problem) -> Problem:
    """The same problem with something said of up to three of its groups."""
    count = int(rng.integers(1, min(problem.groups, 3) + 1))
    ratio = np.exp(2 * rng.standard_normal((1 << count, *problem.start.shape)))
    ratio[1:][rng.random(ratio[1:].shape) < 0.1] = 0.0
    ratio[0] = 1.0
    groups = rng.permutation(problem.groups)[:count]
    return replace(problem, spoken=Spoken(tuple(groups.tolist()), ratio))
