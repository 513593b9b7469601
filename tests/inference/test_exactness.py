"""The inference is exact: against enumeration, against pgmpy, against scipy, on whole surveys."""

from __future__ import annotations

from dataclasses import replace
from math import erf, log, sqrt

import numpy as np
import pytest
from scipy.stats import lognorm

from provenance.inference import episodes, works
from provenance.inference.accounts import ordered_partitions
from provenance.inference.delays import MOST_WEEKS, span_weeks
from provenance.inference.episodes import Histories, Problem
from provenance.inference.stock import LONGEST, PROFILES, Lognormal, pmf
from tests.inference.enumerate_histories import Enumerated, enumerate_histories
from tests.inference.fixed_readings import week_span
from tests.inference.near import close, proportional
from tests.inference.network import solve
from tests.inference.problems import random_order, random_problem, spoken_of


def matches(problem: Problem) -> Enumerated:
    """Check every marginal of a problem; returns the reference."""
    found, expected = Histories(problem), enumerate_histories(problem)
    proportional(found.evidence, expected.evidence)
    close(found.build, expected.build)
    close(found.original, expected.original)
    close(found.refitted, expected.refitted)
    close(found.later_sets, expected.sets)
    for i in range(problem.groups):
        for j in range(i + 1, problem.groups):
            close(found.together(i, j), expected.together[i, j])
    return expected


def accounts_match(problem: Problem, expected: Enumerated) -> None:
    """Every account has its enumerated probability; together they give the marginals."""
    found = Histories(problem)
    build = np.zeros_like(problem.start)
    refitted = np.zeros_like(problem.later)
    total = 0.0
    groups = range(problem.groups)
    for mask in range(1 << problem.groups):
        members = frozenset(s for s in groups if mask >> s & 1)
        for blocks in ordered_partitions(members):
            chain = found.chain(blocks)
            close(chain.probability, expected.accounts.get(blocks, 0.0))
            total += chain.probability
            build += chain.probability * chain.built
            for block, when in zip(blocks, chain.works, strict=False):
                for s in block:
                    refitted[s] += chain.probability * when
    close(total, 1.0)
    close(build, expected.build)
    close(refitted, expected.refitted)


@pytest.mark.parametrize("seed", range(120))
def test_histories_equal_the_enumeration_of_every_history(seed: int) -> None:
    problem = random_problem(np.random.default_rng(seed))
    accounts_match(problem, matches(problem))


@pytest.mark.parametrize("run", [1, 2, works.RUN])
@pytest.mark.parametrize("seed", range(120, 160))
def test_the_steps_of_large_boards_equal_enumeration_too(
    seed: int, run: int, monkeypatch: pytest.MonkeyPatch
) -> None:
    """With short runs small boards take the steps that only boards of many groups need."""
    monkeypatch.setattr(episodes, "FEW", -1)
    monkeypatch.setattr(works, "RUN", run)
    problem = random_problem(np.random.default_rng(seed))
    accounts_match(problem, matches(problem))


@pytest.mark.parametrize("few", [episodes.FEW, -1])
@pytest.mark.parametrize("seed", range(200, 240))
def test_what_is_said_of_single_groups_is_weighed_with_those_that_are_original(
    seed: int, few: int, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(episodes, "FEW", few)
    rng = np.random.default_rng(seed)
    problem = random_problem(rng)
    if problem.groups:
        problem = spoken_of(rng, problem)
        accounts_match(problem, matches(problem))
        found = Histories(problem)
        close(sum(found.build_by), found.build)
        close(sum(found.original_by(0)), found.original[0])


@pytest.mark.parametrize("weeks", [14, 20, 52, 53, 520])
def test_the_weeks_that_stand_for_a_long_span_are_spread_evenly_over_it(weeks: int) -> None:
    """At no week is the share that is over off by more than half of what one of them stands for,
    and a week."""
    share = span_weeks(week_span(1500, weeks))
    found = np.cumsum([share.get(week, 0.0) for week in range(1500, 1500 + weeks)])
    exact = np.arange(1, weeks + 1) / weeks
    assert abs(found - exact).max() <= 0.5 / MOST_WEEKS + 0.5 / weeks + 1e-9
    close(found[-1], 1.0)


def far_flung_problem(rng: np.random.Generator) -> Problem:
    """Many cells. Each hypothesis has a place of its own for the build, which the curves of all
    groups leave slowly, and what is certain rules out the cells at both ends."""
    groups, cells, hypotheses = int(rng.integers(1, 10)), 160, 3
    weeks = np.arange(cells)
    centre = rng.uniform(60, 100, hypotheses)[:, None, None] + rng.uniform(-2, 2, (groups, 1))
    build = np.exp(-rng.uniform(1.0, 2.0) / groups * np.abs(weeks - centre))
    start = 10 ** rng.uniform(-6, 0, (hypotheses, cells))
    start[:, : rng.integers(1, 10)] = 0.0
    start[:, -rng.integers(1, 10) :] = 0.0
    return Problem(
        start=start,
        build=build,
        later=10 ** rng.uniform(-6, 0, (groups, cells)),
        rate=np.full(cells, 10 ** rng.uniform(-30, -1)),
        share=float(rng.uniform(0.05, 0.5)),
        order=random_order(rng, groups),
    )


def test_the_builds_passed_over_are_nothing(monkeypatch: pytest.MonkeyPatch) -> None:
    """Against the same sums over every cell in which a build is possible."""
    passed_over = 0
    for seed in range(12):
        problem = far_flung_problem(np.random.default_rng(seed))
        found, near = Histories(problem), Histories(problem).near
        with monkeypatch.context() as every_cell:
            every_cell.setattr(episodes, "NOTHING", 0.0)
            every = Histories(problem)
            possible = np.flatnonzero(problem.start.any(axis=0))
            assert every.near == slice(possible[0], possible[-1] + 1)
        passed_over += every.near.stop - every.near.start - (near.stop - near.start)
        outside = np.ones(problem.cells, bool)
        outside[near] = False
        assert every.build[:, outside].sum() < episodes.NOTHING
        proportional(found.evidence, every.evidence, 1e-12)
        close(found.build, every.build, 1e-12)
        close(found.original, every.original, 1e-12)
        close(found.refitted, every.refitted, 1e-12)
        close(found.later_sets, every.later_sets, 1e-12)
        some, all_ = (histories.chain((frozenset({0}),)) for histories in (found, every))
        close(some.probability * some.built, all_.probability * all_.built, 1e-12)
    assert passed_over > 100


@pytest.mark.parametrize(("rate", "share"), [(0.3, 0.3), (0.3, 1.0), (0.9, 0.9), (1.0, 0.3)])
@pytest.mark.parametrize("seed", [9, 11])
def test_works_in_every_other_week_are_summed_too(
    seed: int, rate: float, share: float, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The scans for few groups against those for many; all accounts together are certain."""
    problem = far_flung_problem(np.random.default_rng(seed))
    problem = replace(problem, rate=np.full(problem.cells, rate), share=share)
    few = Histories(problem)
    assert few.problem.groups <= episodes.FEW
    monkeypatch.setattr(episodes, "FEW", -1)
    many = Histories(problem)
    proportional(few.evidence, many.evidence)
    close(few.build, many.build)
    close(few.refitted, many.refitted)
    close(few.later_sets, many.later_sets)
    total = sum(
        few.chain(blocks).probability
        for members, _ in few.likely_sets(0.0)
        for blocks in ordered_partitions(members)
    )
    close(total, 1.0)


@pytest.mark.calibration
@pytest.mark.parametrize("seed", range(1000, 1500))
def test_histories_equal_the_enumeration_on_five_hundred_more(
    seed: int, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(episodes, "FEW", (episodes.FEW, -1)[seed % 2])
    monkeypatch.setattr(works, "RUN", (works.RUN, 1, 2)[seed % 3])
    problem = random_problem(np.random.default_rng(seed))
    accounts_match(problem, matches(problem))


def test_the_random_problems_hold_what_they_are_meant_to() -> None:
    """Guards the checks above: order, several works and several hypotheses do occur."""
    problems = [random_problem(np.random.default_rng(seed)) for seed in range(120)]
    assert sum(bool(p.order) for p in problems) >= 30
    assert sum(p.start.shape[0] > 1 for p in problems) >= 60
    assert sum(p.groups >= 3 for p in problems) >= 40
    large = [p for p in problems if p.groups >= 3][:10]
    accounts = [pair for p in large for pair in enumerate_histories(p).accounts.items()]
    assert any(p > 0.01 for blocks, p in accounts if len(blocks) > 1)


NETWORKS = ((1, 7), (2, 4), (2, 5), (3, 4), (3, 4), (2, 5), (4, 3))


@pytest.mark.filterwarnings("ignore")
@pytest.mark.parametrize(("seed", "size"), list(enumerate(NETWORKS)))
def test_histories_equal_variable_elimination_by_pgmpy(seed: int, size: tuple[int, int]) -> None:
    """pgmpy (Ankan and Panda 2015) on the same discretised network."""
    rng = np.random.default_rng(seed)
    while (problem := random_problem(rng)).later.shape != size:
        pass
    found, expected = Histories(problem), solve(problem)
    proportional(found.evidence, expected.evidence)
    close(found.build, expected.build)
    close(found.original, expected.original)
    close(found.refitted, expected.refitted)


@pytest.mark.parametrize("median", [0.3, 1.0, 3.2, 13.0, 150.0])
@pytest.mark.parametrize("sigma", [0.1, 0.6, 1.0, 1.5])
def test_delays_by_week_are_the_lognormal_of_scipy(median: float, sigma: float) -> None:
    """scipy.stats.lognorm: shape sigma, scale the median; beyond the longest delay cut off."""
    mass = pmf(Lognormal(median, sigma))
    edges = lognorm(sigma, scale=median).cdf(np.arange(len(mass) + 1))
    close(mass, np.diff(edges) / edges[-1], 1e-12)


@pytest.mark.parametrize("median", [0.3, 3.2, 150.0, 2000.0])
@pytest.mark.parametrize("sigma", [0.05, 0.4, 1.0])
def test_delays_take_erf_for_settled_only_where_it_is(median: float, sigma: float) -> None:
    """The formula written out with erf at every week gives the same to the last bit."""
    scores = (np.log(np.arange(1, LONGEST + 1)) - log(median)) / (sigma * sqrt(2))
    plain = np.diff([0.5 * (1 + erf(z)) for z in scores], prepend=0.0)
    assert (pmf(Lognormal(median, sigma)) == plain / plain.sum()).all()


@pytest.mark.parametrize("delay", [p.transit for p in PROFILES] + [p.board for p in PROFILES])
def test_a_delay_with_an_unsure_median_is_integrated_over(delay: Lognormal) -> None:
    """Against numpy's Gauss-Hermite quadrature over the median, forty points."""
    nodes, weights = np.polynomial.hermite_e.hermegauss(40)
    expected = sum(
        w * pmf(Lognormal(delay.median * float(np.exp(z * delay.spread)), delay.sigma))
        for z, w in zip(nodes, weights / weights.sum(), strict=True)
    )
    assert delay.spread > 0
    close(pmf(delay.once), expected, 1e-4)


@pytest.mark.parametrize("delay", [p.fresh for p in PROFILES])
def test_the_points_of_a_delay_keep_mean_and_variance_of_its_logarithm(delay: Lognormal) -> None:
    """The law of total variance; the points are equally probable."""
    means = np.log([point.median for point in delay.points])
    close(means.mean(), np.log(delay.median), 1e-12)
    variances = [point.sigma**2 for point in delay.points]
    close(np.mean(variances) + means.var(), delay.sigma**2 + delay.spread**2, 1e-12)


def test_every_delay_of_every_profile_is_a_distribution() -> None:
    delays = (
        {p.transit.once for p in PROFILES}
        | {point for p in PROFILES for point in p.fresh.points}
        | {p.old(s) for p in PROFILES for s in p.settings}
    )
    for delay in delays:
        proportional(float(pmf(delay).sum()), 1.0, 1e-12)
        assert (pmf(delay) >= 0).all()
