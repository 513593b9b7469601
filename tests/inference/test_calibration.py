"""Stated probabilities come true: simulation-based calibration in a reduced form.

Talts et al. (2018), arXiv:1804.06788. The full run is ``python -m tests.benchmarks.calibration``.
"""

from __future__ import annotations

from functools import cache

import numpy as np
import pytest

from tests.benchmarks.calibration import QUANTITIES, Windows, run, uniformity
from tests.benchmarks.simulation import LIVELY, draw

LEVEL = 0.001
"""A right inference fails each check once in so many thousand seeds; the seed is fixed."""


@cache
def ranked() -> tuple[dict[str, list[float]], list[Windows]]:
    return run(200, seed=2026)


@pytest.mark.calibration
@pytest.mark.parametrize("quantity", QUANTITIES)
def test_ranks_of_the_truth_are_uniform(quantity: str) -> None:
    found, _ = ranked()
    assert len(found[quantity]) >= 60
    assert uniformity(found[quantity], bins=10) > LEVEL


@pytest.mark.calibration
def test_windows_hold_the_truth_as_often_as_they_state() -> None:
    _, windows = ranked()
    for mass, share in np.mean(windows, axis=0):
        error = np.sqrt(mass * (1 - mass) / len(windows))
        assert abs(share - mass) < 3.3 * error


@pytest.mark.calibration
def test_the_check_sees_windows_that_are_too_narrow() -> None:
    """Guards the checks above: ranks of a posterior of two thirds the width are not uniform."""
    found, _ = ranked()
    squeezed = np.array(found[QUANTITIES[0]]) - 0.5
    squeezed = np.clip(0.5 + 1.5 * squeezed, 0, 1)
    assert uniformity(squeezed.tolist(), bins=10) < LEVEL


def test_simulated_boards_hold_every_kind_of_origin() -> None:
    rng = np.random.default_rng(0)
    boards = [draw(rng, LIVELY) for _ in range(60)]
    kinds = [kind for board in boards for kind in board.origins.values()]
    assert all(kinds.count(kind) > 20 for kind in ("original", "later_work", "replacement"))
    assert any(board.survey.evidence for board in boards)
    assert any(board.survey.relations for board in boards)
