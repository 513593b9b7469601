"""How the cost grows, and what other engines cost on the same model.

``python -m tests.benchmarks.scale [--plot]`` times ``date_board`` against parts, groups and years
of spread (docs/pictures/cost.svg), then one small problem by brute force, by pgmpy's variable
elimination, by the emcee sampler and by the scan, with their ratios and their differences. Times
are of the processor, with one thread as in ``inference_speed``. Prints, asserts nothing.
"""

from __future__ import annotations

import argparse
import time
from collections.abc import Callable
from pathlib import Path

import numpy as np

from provenance.inference import date_board
from provenance.inference.episodes import Histories, Problem
from tests.benchmarks.inference_speed import median_ms
from tests.benchmarks.made_boards import made
from tests.benchmarks.sampler import sample
from tests.inference.enumerate_histories import enumerate_histories
from tests.inference.near import Array
from tests.inference.network import solve

PICTURE = Path("docs/pictures/cost.svg")
PARTS = (10, 30, 60, 120, 250, 500)
GROUPS = (1, 2, 4, 6, 8, 10, 12, 16, 20, 25, 30)
YEARS = (2, 10, 20, 30, 45, 60)
ROUNDS = 5
Costs = dict[str, list[tuple[int, float]]]


def costs() -> Costs:
    """Milliseconds of a warm call against each size."""

    def cost(parts: int, groups: int, *, built: int = 1982, years: int = 2) -> float:
        survey = made(parts, groups, built=built, years=years)
        return median_ms(lambda: date_board(survey), ROUNDS)

    return {
        "parts (6 groups)": [(n, cost(n, 6)) for n in PARTS],
        "groups (60 parts)": [(n, cost(60, n)) for n in GROUPS],
        "years of codes (60 parts, 6 groups)": [
            (n, cost(60, 6, built=2020, years=n)) for n in YEARS
        ],
    }


def plot(found: Costs, path: Path) -> None:
    import matplotlib as mpl  # noqa: PLC0415

    mpl.use("Agg")
    mpl.rcParams["svg.hashsalt"] = "cost"
    from matplotlib import pyplot as plt  # noqa: PLC0415

    figure, axes = plt.subplots(1, len(found), figsize=(11, 3), layout="constrained")
    for axis, (name, points) in zip(axes, found.items(), strict=True):
        axis.plot(*zip(*points, strict=True), marker="o", color="#34618d")
        axis.set_xlabel(name)
        axis.set_ylim(bottom=0)
        axis.grid(alpha=0.3)
    axes[0].set_ylabel("ms a board, warm")
    path.parent.mkdir(parents=True, exist_ok=True)
    figure.savefig(path, metadata={"Date": None})
    plt.close(figure)


def problem() -> Problem:
    """One small problem that every engine can take: two groups, seven weeks, fresh stock."""
    weeks = np.arange(7.0)

    def stock(code: float) -> Array:
        since = np.maximum(weeks - code, 0.0)
        return 0.05 + since * np.exp(-since / 1.5)

    return Problem(
        start=np.ones((1, 7)) / 7,
        build=np.array([[stock(-1.0), stock(1.5)]]),
        later=np.array([stock(-1.0), stock(1.5)]),
        rate=np.full(7, 0.1),
        share=0.4,
    )


def timed(work: Callable[[], object]) -> tuple[float, object]:
    began = time.perf_counter()
    found = work()
    return 1000 * (time.perf_counter() - began), found


def engines() -> None:
    small = problem()
    exact = Histories(small).build.sum(axis=0)

    def scan() -> object:
        found = Histories(small)
        return found.build, found.original, found.refitted

    base = median_ms(scan, 51)
    print(f"one problem of {small.groups} groups and {small.cells} cells")
    print(f"{'engine':34}{'ms':>12}{'ratio':>10}{'largest difference of the build':>34}")
    print(f"{'the scan':34}{base:12.2f}{1:10.0f}{0:34.1e}")
    brute, enumerated = timed(lambda: enumerate_histories(small).build.sum(axis=0))
    solve(small)
    network, solved = timed(lambda: solve(small).build.sum(axis=0))
    walked, sampled = timed(lambda: sample(small))
    for name, cost, build in (
        ("every history", brute, enumerated),
        ("pgmpy, variable elimination", network, solved),
        (f"emcee, {sampled.steps:,} steps", walked, sampled.build),  # type: ignore[attr-defined]
    ):
        difference = np.abs(np.asarray(build) - exact).max()
        print(f"{name:34}{cost:12.1f}{cost / base:10.0f}{difference:34.1e}")
    if not sampled.settled:  # type: ignore[attr-defined]
        print("the sampler had not settled when it was stopped")


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__.partition("\n")[0])
    parser.add_argument("--plot", action="store_true", help=f"write {PICTURE}")
    arguments = parser.parse_args()
    found = costs()
    for name, points in found.items():
        print(f"{name}: " + ", ".join(f"{n}: {ms:.1f} ms" for n, ms in points))
    if arguments.plot:
        plot(found, PICTURE)
        print(f"written: {PICTURE}")
    engines()


if __name__ == "__main__":
    main()
