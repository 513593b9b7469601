"""What the transplants benchmark reckons with: its calibration error and what chance does to it.

The boards are invented; the field boards are not needed.
"""

from __future__ import annotations

import numpy as np
import pytest
from scipy.stats import binom

from provenance.inference import date_board
from provenance.inference.stock import PROFILES
from tests.benchmarks.field_data import FieldBoard
from tests.benchmarks.made_boards import made
from tests.benchmarks.transplants import (
    GAPS,
    Case,
    Host,
    Stated,
    by_chance,
    calibration_error,
    origins,
    population,
)


def stated(later: list[float], moved: list[bool], group: list[int]) -> Stated:
    return Stated(np.array(later), np.array(moved), np.array(group), np.ones(len(later)))


def test_a_statement_that_is_off_by_a_tenth_has_that_calibration_error() -> None:
    """C. Guo and others, On calibration of modern neural networks (2017), section 2."""
    half = [True] * 5 + [False] * 5
    parts = stated([0.4] * 10 + [0.85] * 10, half + [True] * 10, list(range(20)))
    assert calibration_error(parts) == pytest.approx((0.1 + 0.15) / 2)


def test_weighted_to_what_is_stated_nothing_is_off() -> None:
    """Half of the parts were moved; where one in twenty is, one in twenty is right. Boards of more
    weight count for more before that."""
    parts = stated([0.05] * 20, [True] * 10 + [False] * 10, list(range(20)))
    parts = parts._replace(weight=np.linspace(1, 3, 20))
    assert calibration_error(parts) > 0.3
    assert calibration_error(parts, later=0.05) == pytest.approx(0)


@pytest.mark.parametrize(("parts", "later"), [(12, 0.25), (40, 0.05)])
def test_chance_alone_gives_the_mean_deviation_of_the_binomial(parts: int, later: float) -> None:
    """One bin of independent parts: P. Diaconis and S. Zabell, Closed form summation for classical
    distributions (1991), on A. de Moivre's formula; here summed term by term."""
    number = np.arange(parts + 1)
    exact = float(np.abs(number - parts * later) @ binom.pmf(number, parts, later)) / parts
    mean, most = by_chance(stated([later] * parts, [False] * parts, list(range(parts))))
    assert mean == pytest.approx(exact, rel=0.1)
    assert most >= mean


def test_parts_of_one_group_are_drawn_together() -> None:
    """All or none of it moves: |1 - p| with probability p, p otherwise."""
    mean, most = by_chance(stated([0.3] * 8, [False] * 8, [0] * 8))
    assert mean == pytest.approx(2 * 0.3 * 0.7, rel=0.1)
    assert most == pytest.approx(0.7)


def test_origins_are_those_that_a_finding_states() -> None:
    board = made(12, 4, seed=3)
    finding = date_board(board)
    assert origins(board, PROFILES) == {p.ref: p.origin for p in finding.parts}


def test_every_host_counts_once_in_the_population_of_a_gap() -> None:
    """A quarter each, whatever the number of donors; a host that nothing was moved into does not
    take part."""
    gap, other = GAPS[:2]
    first, second, third = (
        Host(FieldBoard(code, "controller", "a", (), None, None), {}, 0.0) for code in "abc"
    )
    kinds: list[tuple[Host, str, tuple[int, int] | None]] = [
        (first, "untouched", None),
        (first, "group", gap),
        (first, "group", gap),
        (first, "one part, newer", gap),
        (first, "one part, older", gap),
        (second, "untouched", None),
        (second, "group", gap),
        (second, "group", other),
        (third, "untouched", None),
    ]
    cases = [Case(host, {}, frozenset(), kind, when) for host, kind, when in kinds]
    weights = population(cases, gap)
    assert weights == pytest.approx([1 / 4, 1 / 8, 1 / 8, 1 / 4, 1 / 4, 1 / 2, 1 / 2, 0, 0])
    both = [a + b for a, b in zip(weights, population(cases, other), strict=True)]
    assert population(cases, None) == pytest.approx(both)
