"""Simulation-based calibration: does a stated probability come true as often as it says?

``python -m tests.benchmarks.calibration`` draws 2,000 boards from the model (``simulation``), runs
the inference on each and ranks the truth in what it says. If the inference is right, the ranks are
uniform: Talts, Betancourt, Simpson, Vehtari and Gelman (2018), arXiv:1804.06788; Cook, Gelman and
Rubin (2006), doi:10.1198/106186006X136976. Prints a chi-square test for each quantity and the share
of windows that hold the truth; ``--plot`` writes docs/pictures/calibration.svg.

A rank is the probability below the truth plus a random share of the truth's own, so that a truth
of a few weeks or of three kinds has a uniform rank too. One later work, one group and one part are
taken from each board, so that the ranks of one quantity are independent.
"""

from __future__ import annotations

import argparse
import time
from collections.abc import Sequence
from pathlib import Path

import numpy as np
from scipy.stats import binom, chisquare

from provenance.inference.defaults import DEFAULTS, Defaults
from provenance.inference.evidence import gather
from provenance.inference.grid import Array
from provenance.inference.origins import lot_posteriors
from provenance.inference.posterior import Posterior
from provenance.inference.windows import LEVELS, shortest
from tests.benchmarks.simulation import LIVELY, START, STOP, Drawn, draw
from tests.inference.fixed_readings import fixed_readings

QUANTITIES = (
    "week of the build",
    "week of picking",
    "week of a later work",
    "a group is original",
    "origin of a part",
)
BINS = 20
Windows = list[tuple[float, float]]
"""For each level the mass that the window of whole weeks holds, and whether it holds the truth."""
PICTURE = Path("docs/pictures/calibration.svg")


def rank(rng: np.random.Generator, mass: Array, truth: int) -> float:
    """The rank of the truth among ordered outcomes of given mass."""
    return float((mass[:truth].sum() + rng.random() * mass[truth]) / mass.sum())


def ranks(
    rng: np.random.Generator, drawn: Drawn, defaults: Defaults
) -> tuple[dict[str, float], Windows]:
    """The rank of each quantity of one board, and what each build window holds."""
    with fixed_readings(drawn.readings):
        evidence = gather(drawn.survey, defaults=defaults)
    posterior = Posterior(evidence)
    grid, histories = evidence.grid, posterior.histories
    assert (grid.start, grid.stop) == (START, STOP)
    build, picked = posterior.build, grid.weekly(histories.build.sum(axis=0))
    found = {
        QUANTITIES[0]: rank(rng, build, drawn.built - START),
        QUANTITIES[1]: rank(rng, picked, drawn.picked - START),
    }
    names = [group.name for group in evidence.groups.groups]
    refitted = [n for n, week in drawn.fitted.items() if week is not None and week < STOP]
    if refitted:
        name = refitted[rng.integers(len(refitted))]
        week = drawn.fitted[name]
        assert week is not None
        mass = posterior.fitted_later(histories.refitted[names.index(name)])
        found[QUANTITIES[2]] = rank(rng, mass, week - START)
    group = int(rng.integers(len(names)))
    original = float(histories.original[group].sum())
    truth = int(drawn.fitted[names[group]] is None)
    found[QUANTITIES[3]] = rank(rng, np.array([1 - original, original]), truth)
    lots = [*lot_posteriors(posterior)]
    one = lots[rng.integers(len(lots))]
    kinds = ("original", "later_work", "replacement")
    mass = np.array([getattr(one.origin, kind) for kind in kinds])
    found[QUANTITIES[4]] = rank(rng, mass, kinds.index(drawn.origins[one.lot.parts[0].ref]))
    held = []
    for level in LEVELS:
        ((low, high),) = shortest(build, level)
        stated = float(build[low : high + 1].sum() / build.sum())
        held.append((stated, float(low <= drawn.built - START <= high)))
    return found, held


def run(
    boards: int, seed: int, defaults: Defaults = LIVELY
) -> tuple[dict[str, list[float]], list[Windows]]:
    """Ranks by quantity over some boards, and the windows."""
    rng = np.random.default_rng(seed)
    found: dict[str, list[float]] = {name: [] for name in QUANTITIES}
    hits = []
    for _ in range(boards):
        one, held = ranks(rng, draw(rng, defaults), defaults)
        hits.append(held)
        for name, value in one.items():
            found[name].append(value)
    return found, hits


def uniformity(values: Sequence[float], bins: int = BINS) -> float:
    """P-value of the chi-square test that ranks are uniform, in bins of equal width."""
    counts, _ = np.histogram(values, bins=bins, range=(0, 1))
    return float(chisquare(counts).pvalue)


def plot(found: dict[str, list[float]], path: Path) -> None:
    """Histograms of the ranks with the band that holds 99% of bins if they are uniform."""
    import matplotlib as mpl  # noqa: PLC0415

    mpl.use("Agg")
    mpl.rcParams["svg.hashsalt"] = "calibration"
    from matplotlib import pyplot as plt  # noqa: PLC0415

    figure, axes = plt.subplots(1, len(found), figsize=(14, 2.8), layout="constrained")
    for axis, (name, values) in zip(axes, found.items(), strict=True):
        low, high = binom.interval(0.99, len(values), 1 / BINS)
        axis.axhspan(low, high, color="0.85")
        axis.axhline(len(values) / BINS, color="0.4", lw=0.8)
        axis.hist(values, bins=BINS, range=(0, 1), color="#34618d", edgecolor="white", lw=0.4)
        axis.set_title(f"{name} ({len(values):,})", fontsize=9)
        axis.set_xlabel("rank of the truth", fontsize=8)
        axis.tick_params(labelsize=7)
    axes[0].set_ylabel("boards", fontsize=8)
    path.parent.mkdir(parents=True, exist_ok=True)
    figure.savefig(path, metadata={"Date": None})
    plt.close(figure)


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__.partition("\n")[0])
    parser.add_argument("--boards", type=int, default=2000)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--as-used", action="store_true", help="the default rates, not lively ones")
    parser.add_argument("--plot", action="store_true", help=f"write {PICTURE}")
    arguments = parser.parse_args()
    defaults = DEFAULTS if arguments.as_used else LIVELY
    began = time.perf_counter()
    found, hits = run(arguments.boards, arguments.seed, defaults)
    print(f"{len(hits)} boards from the model, seed {arguments.seed}")
    print(f"{'quantity':24}{'ranks':>7}{'mean':>8}{'chi-square p':>14}")
    for name, values in found.items():
        print(f"{name:24}{len(values):7}{np.mean(values):8.3f}{uniformity(values):14.3f}")
    for level, (mass, share) in zip(LEVELS, np.mean(hits, axis=0), strict=True):
        error = np.sqrt(mass * (1 - mass) / len(hits))
        print(
            f"{level:.0%} windows, of whole weeks, hold {mass:.1%} of the probability and the "
            f"build of {share:.1%} of the boards (standard error {error:.1%})"
        )
    if arguments.plot:
        plot(found, PICTURE)
        print(f"written: {PICTURE}")
    print(f"{time.perf_counter() - began:.0f} s")


if __name__ == "__main__":
    main()
