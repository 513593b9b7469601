"""The same problem by an ensemble sampler, emcee (Foreman-Mackey et al. 2013, arXiv:1202.3665).

One axis for the build's cell and one for each group: below one half the group is original, above
it the axis runs over the cells after the build. Works that left no trace are summed in closed form,
so that the density is that of the problem itself, constant over each cell.
"""

from __future__ import annotations

from dataclasses import dataclass
from itertools import product

import numpy as np

from provenance.inference.episodes import Problem
from tests.inference.near import Array

WALKERS = 32
STEPS = 500
"""Steps of a batch; the run doubles until the window's ends have settled."""
MOST_STEPS = 128_000
LENGTHS = 50
"""Autocorrelation lengths that a run must have, as emcee's own documentation asks."""


@dataclass(frozen=True)
class Sampled:
    """``build`` (C) as estimated, the steps that were needed, and whether the ends settled."""

    build: Array
    steps: int
    settled: bool


def log_weights(problem: Problem) -> Array:
    """(C, ...C+1): log weight of the build's cell and each group's last refit, index C: none."""
    cells, groups = problem.cells, problem.groups
    table = np.full((cells,) + (cells + 1,) * groups, -np.inf)
    q, r = problem.share, problem.rate
    for state in product(range(cells), *(range(cells + 1) for _ in range(groups))):
        c0, last = state[0], state[1:]
        refits = [c for c in last if c < cells]
        fitted = [c if c < cells else c0 for c in last]
        if any(c <= c0 for c in refits) or len(refits) == groups:
            continue
        if any(fitted[i] > fitted[j] for i, j in problem.order):
            continue
        weight = 1.0
        for c in range(c0 + 1, cells):
            # A work in the cell spares every group whose last refit is before it.
            met = sum(1 for x in fitted if x < c)
            here = sum(1 for x in refits if x == c)
            spared = (1 - q) ** met
            weight *= r[c] * q**here * spared if here else 1 - r[c] + r[c] * spared
        for s, c in enumerate(last):
            weight *= problem.later[s, c] if c < cells else 1.0
        builds = [s for s in range(groups) if last[s] == cells]
        weight *= float((problem.start[:, c0] * problem.build[:, builds, c0].prod(axis=1)).sum())
        table[state] = np.log(weight) if weight > 0 else -np.inf
    return table


def sample(problem: Problem, level: float = 0.9, seed: int = 0) -> Sampled:
    """Run until both ends of the build's central window agree, to a week, in every quarter."""
    import emcee  # noqa: PLC0415

    cells, groups = problem.cells, problem.groups
    table = log_weights(problem)

    def log_density(x: Array) -> float:
        if (x < 0).any() or x[0] >= cells or (x[1:] >= 1).any():
            return -np.inf
        c0 = int(x[0])
        after = cells - 1 - c0
        state, volume = [c0], 0.0
        for z in x[1:]:
            if z < 0.5:
                state.append(cells)
            elif after == 0:
                return -np.inf
            else:
                state.append(c0 + 1 + min(int((z - 0.5) * 2 * after), after - 1))
                # The upper half is shared by the cells, the lower is one state's alone.
                volume += np.log(after)
        return float(table[tuple(state)] + volume)

    rng = np.random.default_rng(seed)
    start = np.column_stack(
        [rng.uniform(0, cells, 50 * WALKERS), *rng.uniform(0, 1, (groups, 50 * WALKERS))]
    )
    possible = [x for x in start if np.isfinite(log_density(x))][:WALKERS]
    sampler = emcee.EnsembleSampler(WALKERS, 1 + groups, log_density)
    sampler.random_state = np.random.RandomState(seed).get_state()
    state, steps, settled = np.array(possible), 0, False
    while steps < MOST_STEPS and not settled:
        more = max(steps, STEPS)
        state = sampler.run_mcmc(state, more)
        steps += more
        chain = sampler.get_chain()[steps // 5 :, :, 0].astype(int)
        tails = [(1 - level) / 2, (1 + level) / 2]
        ends = [np.quantile(quarter, tails) for quarter in np.array_split(chain, 4)]
        longest = float(np.max(sampler.get_autocorr_time(tol=0)))
        settled = bool(np.ptp(ends, axis=0).max() <= 1 and steps > LENGTHS * longest)
    counts = np.bincount(chain.ravel(), minlength=cells).astype(float)
    return Sampled(counts / counts.sum(), steps, settled)
