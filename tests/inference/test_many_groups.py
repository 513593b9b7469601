"""More fit groups than can be summed over at once: the stated bound holds against the exact sum."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import numpy as np
import pytest

from provenance.inference import many_groups
from provenance.inference.episodes import Histories, Problem, Spoken
from provenance.inference.evidence import gather
from provenance.inference.many_groups import EXACT, HeldHistories, solve
from provenance.survey.model import Survey
from provenance.weeks import monday
from tests.inference.fixed_readings import Dated, fixed_readings, week_span
from tests.inference.near import close

BUILT = 1600
"""A week of 1980."""


def problem_of(
    rng: np.random.Generator, groups: int, later: int, *, ordered: bool = False
) -> Problem:
    """A board of which some groups were fitted in up to three later works."""
    works = BUILT + np.sort(rng.integers(30, 400, 3))
    readings: dict[str, list[Dated]] = {}
    sections: dict[str, Any] = {}
    for group in range(groups):
        week = int(rng.choice(works)) if group < later else BUILT
        parts = {}
        for number in range(rng.integers(1, 4)):
            marking = f"{group} {number}"
            code = week - int(rng.lognormal(1.5, 0.8))
            readings[marking] = [(week_span(code), float(rng.choice([0.6, 0.9, 1.0])))]
            parts[f"U{group}{number}"] = marking
        sections[f"s{group}"] = {"parts": parts}
    chain = (
        [f"s{i} fitted after s{j}" for i, j in ((0, groups - 1), (1, groups - 2), (2, 1))]
        if ordered
        else []
    )
    survey = Survey.model_validate(
        {"today": monday(BUILT + 1000).isoformat(), "sections": sections, "relations": chain}
    )
    with fixed_readings(readings):
        return gather(survey).problem


GROUPS = 11
"""Few enough that the exact sum is quick; the bound is worked out for any number."""
PLAIN = [(seed, GROUPS, later, False) for seed in (0, 1) for later in (0, 2, 5, 7, 9)]
ORDERED = [(seed, GROUPS, later, True) for seed in (2, 3) for later in (0, 2, 5, 8)]


@pytest.mark.parametrize(("seed", "groups", "later", "ordered"), PLAIN + ORDERED)
def test_no_probability_is_off_by_more_than_the_bound(
    seed: int, groups: int, later: int, ordered: bool, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(many_groups, "FREE", 8)
    problem = problem_of(np.random.default_rng(seed), groups, later, ordered=ordered)
    exact, found = Histories(problem), HeldHistories(problem)
    bound = found.error_bound + 1e-9
    assert bound < 0.2 or later > 6
    # Of two distributions, the largest difference in the probability of any event.
    assert np.abs(found.build - exact.build).sum() / 2 <= bound
    for first, second in zip(found.original.sum((1, 2)), exact.original.sum((1, 2)), strict=True):
        assert abs(first - second) <= bound
    for one, other in zip(found.refitted, exact.refitted, strict=True):
        assert abs(one.sum() - other.sum()) <= bound


@pytest.mark.parametrize("seed", range(6))
def test_a_board_of_which_most_groups_are_later_is_dated_all_the_same(seed: int) -> None:
    """Nine of thirteen, of three works; by count they outvote the groups that the build left."""
    problem = problem_of(np.random.default_rng(seed), 13, 9)
    exact, found = Histories(problem), HeldHistories(problem)
    assert np.abs(found.build - exact.build).sum() / 2 < 0.1
    for first, second in zip(found.original.sum((1, 2)), exact.original.sum((1, 2)), strict=True):
        assert abs(first - second) < 0.1


@pytest.mark.parametrize("later", [0, 2, 4])
def test_the_bound_holds_where_something_is_said_of_single_groups(
    later: int, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Of groups that stay free and of others that are held to the build."""
    monkeypatch.setattr(many_groups, "FREE", 8)
    rng = np.random.default_rng(later)
    problem = problem_of(rng, GROUPS, later)
    groups = (0, 5, GROUPS - 1)
    # What is said speaks of weeks around the build, now for it and now against it.
    ratio = np.exp(0.2 * rng.standard_normal((8, *problem.start.shape)))
    problem = replace(problem, spoken=Spoken(groups, ratio))
    exact, found = Histories(problem), HeldHistories(problem)
    bound = found.error_bound + 1e-9
    assert bound < 0.5
    assert np.abs(found.build - exact.build).sum() / 2 <= bound
    for one, other in zip(found.build_by, exact.build_by, strict=True):
        assert abs(one.sum() - other.sum()) <= bound
    for s in range(GROUPS):
        close(sum(found.original_by(s)), found.original[s])
        assert abs(found.original[s].sum() - exact.original[s].sum()) <= bound
    for members, p in exact.likely_sets(0.01):
        blocks = [members] if members else []
        if members <= set(found._free):
            chain, told = exact.chain(blocks), found.chain(blocks)
            assert chain.case == told.case
            assert abs(chain.probability - told.probability) <= bound, p


@pytest.mark.parametrize(("share", "rate"), [(0.2, 0.05), (0.5, 1 / 1300), (0.8, 0.2)])
def test_the_bound_holds_where_all_free_groups_are_later(
    share: float, rate: float, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Eight groups of a later cell, and one without a date, which may be later with them."""
    monkeypatch.setattr(many_groups, "FREE", 8)
    cells, groups, built, later = 10, 9, 2, 7
    start = np.full((1, cells), 1e-12)
    start[0, built] = 1.0
    build, work = np.full((1, groups, cells), 1e-4), np.full((groups, cells), 1e-4)
    build[0, :-1, later] = work[:-1, later] = 1.0
    build[0, -1] = work[-1] = 1.0
    problem = Problem(start, build, work, np.full(cells, rate), share)
    exact, found = Histories(problem), HeldHistories(problem)
    off = abs(found.refitted.sum(axis=1) - exact.refitted.sum(axis=1)).max()
    assert off <= found.error_bound + 1e-9


def test_up_to_the_limit_the_sum_is_exact() -> None:
    problem = problem_of(np.random.default_rng(0), EXACT + 1, 2)
    few = Problem(
        problem.start,
        problem.build[:, :EXACT],
        problem.later[:EXACT],
        problem.rate,
        problem.share,
    )
    assert isinstance(solve(few), Histories)
    assert isinstance(solve(problem), HeldHistories)


def test_hundreds_of_groups_stay_within_what_a_double_holds() -> None:
    """Only ratios matter: a factor on all that is said of a group changes nothing, though the
    product of all groups is then less than any double."""
    problem = problem_of(np.random.default_rng(0), EXACT + 4, 2)
    small = replace(problem, build=problem.build * 1e-25, later=problem.later * 1e-25)
    found, expected = HeldHistories(small), HeldHistories(problem)
    close(found.build, expected.build)
    close(found.original, expected.original)
    close(found.refitted, expected.refitted)
    close(found.error_bound, expected.error_bound)
