"""The same problem as a discrete Bayesian network, solved by pgmpy's variable elimination.

Knows nothing of sets of groups or of scans: one variable for the hypothesis, the cell of the build,
each cell's work, each refit and each group's last fitting so far; what is seen is soft evidence, a
child that was observed.
"""

from __future__ import annotations

import logging
import warnings
from dataclasses import dataclass
from itertools import product

import numpy as np

from provenance.inference.episodes import Problem
from tests.inference.near import Array


@dataclass(frozen=True)
class Solved:
    """Marginals as in ``episodes``: (H, C), (S, H, C), (S, C), and Z."""

    evidence: float
    build: Array
    original: Array
    refitted: Array


def solve(problem: Problem) -> Solved:  # noqa: PLR0915
    """Every marginal by exact inference in the network."""
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        from pgmpy.factors.discrete import TabularCPD  # noqa: PLC0415
        from pgmpy.inference import VariableElimination  # noqa: PLC0415
        from pgmpy.models import DiscreteBayesianNetwork  # noqa: PLC0415
    logging.getLogger("pgmpy").setLevel(logging.ERROR)

    hypotheses, cells = problem.start.shape
    groups = range(problem.groups)
    sizes: dict[str, int] = {}
    tables: list[TabularCPD] = []
    edges: list[tuple[str, str]] = []

    def add(name: str, size: int, parents: tuple[str, ...], table: Array) -> None:
        """``table`` has the axes (name, *parents)."""
        sizes[name] = size
        edges.extend((parent, name) for parent in parents)
        flat = table.reshape(size, -1)
        tables.append(
            TabularCPD(name, size, flat, list(parents), [sizes[p] for p in parents])
            if parents
            else TabularCPD(name, size, flat)
        )

    def observed(name: str, parents: tuple[str, ...], likelihood: Array) -> None:
        """A child seen in state 1 with a probability in proportion to the likelihood."""
        add(name, 2, parents, np.stack((1 - likelihood, likelihood)))

    constant = problem.start.sum()
    prior = problem.start.sum(axis=1)
    add("hypothesis", hypotheses, (), prior / constant)
    add("build", cells, ("hypothesis",), (problem.start / prior[:, None]).T)
    work = np.zeros((2, cells))
    chosen = np.array([[1.0, 1 - problem.share], [0.0, problem.share]])
    for cell in range(1, cells):
        work[1] = problem.rate[cell] * (np.arange(cells) < cell)
        work[0] = 1 - work[1]
        add(f"work {cell}", 2, ("build",), work.copy())
    last: list[str] = []
    for group in groups:
        before = "build"
        for cell in range(1, cells):
            refit = f"refit {cell} of {group}"
            add(refit, 2, (f"work {cell}",), chosen)
            # The last fitting so far: unchanged, or this cell.
            step = np.zeros((cells, cells, 2))
            step[:, :, 0] = np.eye(cells)
            step[cell, :, 1] = 1.0
            name = f"last of {group} by {cell}"
            add(name, cells, (before, refit), step)
            before = name
        last.append(before)
    for group in groups:
        seen = np.zeros((hypotheses, cells, cells))
        for c0, when in product(range(cells), repeat=2):
            seen[:, c0, when] = (
                problem.build[:, group, c0] if when == c0 else problem.later[group, when]
            )
        scale = seen.max()
        constant *= scale
        observed(f"seen {group}", ("hypothesis", "build", last[group]), seen / scale)
    for i, j in problem.order:
        no_later = np.arange(cells)[:, None] <= np.arange(cells)[None, :]
        observed(f"{i} no later than {j}", (last[i], last[j]), no_later.astype(float))
    if last:
        some = np.zeros((cells,) * (1 + len(last)))
        for state in product(range(cells), repeat=1 + len(last)):
            some[state] = float(state[0] in state[1:])
        observed("something is original", ("build", *last), some)
    network = DiscreteBayesianNetwork(edges)
    network.add_cpds(*tables)
    assert network.check_model()
    elimination = VariableElimination(network)
    given = {name: 1 for name in sizes if name.startswith(("seen", "something"))} | {
        f"{i} no later than {j}": 1 for i, j in problem.order
    }

    def ask(names: list[str], given: dict[str, int]) -> Array:
        found = elimination.query(names, evidence=given, show_progress=False)
        axes = [found.variables.index(name) for name in names]
        return np.asarray(found.values).transpose(axes)

    original = np.zeros((problem.groups, hypotheses, cells))
    refitted = np.zeros((problem.groups, cells))
    for group in groups:
        joint = ask(["hypothesis", "build", last[group]], given)
        for c0 in range(cells):
            original[group, :, c0] = joint[:, c0, c0]
            refitted[group] += joint[:, c0].sum(axis=0) * (np.arange(cells) != c0)
    seen_all = ask(list(given), {})
    return Solved(
        float(constant * seen_all[(1,) * len(given)]),
        ask(["hypothesis", "build"], given),
        original,
        refitted,
    )
