"""How long the inference takes, warm: ``python -m tests.benchmarks.inference_speed [ROUNDS]``.

Run it with ``OPENBLAS_NUM_THREADS=1`` in the environment, as the command sets it for itself: with
more threads the processor's time is that of all of them, and the matrices of a board are too small
to gain by it.

Times ``date_board`` on invented boards, readings included, and its two halves: what turns a survey
into curves, and the sum over histories with its marginals. Times are of the processor, so that a
busy machine spoils them less; the first call, which is not counted, fills what is kept between
calls (readings of markings among it, if the reader keeps them). Prints, asserts nothing; the
budgets are those of the design, for an idle machine. What the core gives meanwhile is printed as
turns of an empty loop; an idle core of the machine that the budgets are meant for gives 55 million.
"""

from __future__ import annotations

import statistics
import sys
import time
import tracemalloc
from collections.abc import Callable

from provenance.inference import date_board
from provenance.inference.evidence import gather
from provenance.inference.posterior import Posterior
from tests.benchmarks.made_boards import made
from tests.benchmarks.reading_speed import empty_turns

BOARDS = (
    ("60 parts, 8 groups", 60, 8, 2, 10.0),
    ("60 parts, 12 groups", 60, 12, 2, 50.0),
    ("120 parts, 30 groups", 120, 30, 2, 500.0),
    ("  codes of one year", 120, 30, 1, 500.0),
    ("500 parts, 10 groups", 500, 10, 2, None),
)
"""Name, parts, groups, years of the codes, budget in ms."""
BATCH = 200
"""Boards of a batch, each of six parts in one group, all different."""


def median_ms(work: Callable[[], object], rounds: int) -> float:
    """Median processor time of a call in milliseconds, after one that is not counted."""
    work()
    times = []
    for _ in range(rounds):
        began = time.process_time()
        work()
        times.append(time.process_time() - began)
    return 1000 * statistics.median(times)


def main() -> None:
    rounds = int(sys.argv[1]) if len(sys.argv) > 1 else 15
    print(f"empty loop {empty_turns():.1f} million turns/s")
    print(f"{'':24}{'date_board':>12}{'curves':>10}{'sums':>10}{'budget':>10}{'bound':>10}  (ms)")
    for name, parts, groups, years, budget in BOARDS:
        survey = made(parts, groups, years=years)
        evidence = gather(survey)

        def sums() -> object:
            posterior = Posterior(evidence)  # noqa: B023
            return posterior.build, posterior.histories.original, posterior.histories.refitted

        whole = median_ms(lambda: date_board(survey), rounds)  # noqa: B023
        curves = median_ms(lambda: gather(survey), rounds)  # noqa: B023
        print(
            f"{name:24}{whole:12.1f}{curves:10.1f}{median_ms(sums, rounds):10.1f}"
            f"{budget or '-':>10}{date_board(survey).method.error_bound:10.1e}"
        )
    surveys = [made(6, 1, seed=seed) for seed in range(BATCH)]
    date_board(surveys[0])
    began = time.process_time()
    for survey in surveys:
        date_board(survey)
    rate = BATCH / (time.process_time() - began)
    print(
        f"batch: {rate:.0f} boards of six parts a second (budget 200); "
        f"empty loop {empty_turns():.1f} million turns/s"
    )
    tracemalloc.start()
    held = []
    for survey in surveys:
        date_board(survey)
        held.append(tracemalloc.get_traced_memory()[0] / 1e6)
    tracemalloc.stop()
    print(f"memory held after 20 boards {held[19]:.1f} MB, after {BATCH} {held[-1]:.1f} MB")


if __name__ == "__main__":
    main()
