"""How exact the inference is: ``python -m tests.benchmarks.exactness [PROBLEMS]``.

Compares both scans with the enumeration of every history on random small problems, the one for few
groups with pgmpy's variable elimination on the same network, and whole surveys of a few weeks with
brute force over histories, replacements and readings. Prints the largest differences of any
probability.
"""

from __future__ import annotations

import sys
import time
import warnings
from unittest.mock import patch

import numpy as np

from provenance.inference import episodes
from provenance.inference.episodes import Histories
from provenance.inference.evidence import gather
from provenance.inference.origins import lot_posteriors
from provenance.inference.posterior import Posterior
from tests.inference.enumerate_histories import enumerate_histories
from tests.inference.fixed_readings import fixed_readings
from tests.inference.network import solve
from tests.inference.problems import random_problem
from tests.inference.slow_board import Slow
from tests.inference.test_whole_boards import random_survey

NETWORKS = 40
SURVEYS = 40


def _largest(*pairs: tuple[object, object]) -> float:
    """The largest difference between arrays, two by two."""
    gaps = [np.abs(np.asarray(a, float) - np.asarray(b, float)) for a, b in pairs]
    return max((float(gap.max()) for gap in gaps if gap.size), default=0.0)


def histories(seed: int) -> float:
    problem = random_problem(np.random.default_rng(seed))
    found, expected = Histories(problem), enumerate_histories(problem)
    chains = [(found.chain(blocks).probability, p) for blocks, p in expected.accounts.items()]
    return _largest(
        (found.evidence / expected.evidence, 1.0),
        (found.build, expected.build),
        (found.original, expected.original),
        (found.refitted, expected.refitted),
        *chains,
    )


def by_the_scans_for_many_groups(seed: int) -> float:
    """The same problems, which have few groups, by the scans that large boards need."""
    with patch.object(episodes, "FEW", -1):
        return histories(seed)


def network(seed: int) -> float:
    rng = np.random.default_rng(seed)
    while (problem := random_problem(rng)).groups == 0:
        pass
    found, expected = Histories(problem), solve(problem)
    return _largest(
        (found.evidence / expected.evidence, 1.0),
        (found.build, expected.build),
        (found.original, expected.original),
        (found.refitted, expected.refitted),
    )


def whole_board(seed: int) -> float:
    survey, readings = random_survey(np.random.default_rng(seed))
    with fixed_readings(readings):
        posterior = Posterior(gather(survey))
    expected = Slow(survey, readings).sum()
    pairs: list[tuple[object, object]] = [
        (posterior.build / posterior.build.sum(), expected.build),
        (posterior.histories.original.sum((1, 2)), expected.original),
    ]
    for one in lot_posteriors(posterior):
        told = (one.origin.original, one.origin.later_work, one.origin.replacement)
        pairs.append((told, expected.origins[one.lot.parts[0].ref]))
    return _largest(*pairs)


def main() -> None:
    problems = int(sys.argv[1]) if len(sys.argv) > 1 else 500
    warnings.simplefilter("ignore")
    for name, check, seeds in (
        ("problems against every history", histories, range(1000, 1000 + problems)),
        (
            "by the scans for many groups",
            by_the_scans_for_many_groups,
            range(1000, 1000 + problems),
        ),
        ("networks against pgmpy", network, range(NETWORKS)),
        ("whole boards against brute force", whole_board, range(SURVEYS)),
    ):
        began = time.perf_counter()
        gaps = [check(seed) for seed in seeds]
        print(
            f"{len(gaps):5} {name}: largest difference {max(gaps):.1e}, "
            f"{sum(gap > 1e-9 for gap in gaps)} above 1e-9 ({time.perf_counter() - began:.0f} s)"
        )


if __name__ == "__main__":
    main()
