"""Which boards of a machine belong together: every choice of boards and every week, one by one."""

from __future__ import annotations

from datetime import date
from itertools import product
from typing import Any

import numpy as np
import pytest
from scipy.stats import lognorm

from provenance.census.machine import BELONGS, SHELF, date_machine
from provenance.inference.defaults import DEFAULTS
from provenance.inference.evidence import gather
from provenance.inference.grid import Weeks
from provenance.inference.posterior import Posterior
from provenance.inference.stock import LONGEST
from provenance.survey.model import Machine, Survey
from provenance.weeks import week_of
from tests.inference.near import Array, close

TODAY = "1986-01-01"


def board(*codes: str, **more: str) -> dict[str, Any]:
    parts = {f"U{n}": f"74LS{100 + 3 * n}N / {code}" for n, code in enumerate(codes, start=1)}
    return {"today": TODAY, "sections": {"main": {"parts": parts}}} | more


NEAR = board("8012", "8014", "8015"), board("8017", "8016")
MACHINES = {
    "two that fit": NEAR,
    "one years later": (NEAR[0], board("8312", "8316", "8315")),
    "three, one later": (*NEAR, board("8112", "8103")),
    "production years known": tuple(b | {"production": "1979/1981"} for b in NEAR),
    "production years of one known": (NEAR[0] | {"production": "1979/1981"}, NEAR[1]),
    "one of them undated": (NEAR[0], board("")),
}


def shelf(weeks: int) -> Array:
    """(t, M): the probability that a board built in week t went into a machine of week M."""
    law = lognorm(SHELF.sigma, scale=SHELF.median)
    delay = np.diff(law.cdf(np.arange(weeks + 1))) / law.cdf(LONGEST)
    built, made = np.indices((weeks, weeks))
    found: Array = np.where(made >= built, delay[made - built], 0.0)
    return found


def made(production: str | None, weeks: Weeks) -> Array:
    """(t): a build before anything is seen, flat over the years and falling off outside them."""
    if production is None:
        return np.full(len(weeks), 1 / len(weeks))
    first, last = (date(int(year), 1, 1) for year in production.split("/"))
    low, high = week_of(first), week_of(last.replace(month=12, day=31))
    off = np.maximum(low - weeks, 0) + np.maximum(weeks - high, 0)
    found: Array = np.exp(-off / DEFAULTS.production_slack)
    found /= found.sum()
    return found


@pytest.mark.parametrize("name", MACHINES)
def test_a_machine_equals_the_sum_over_every_choice_of_its_boards(name: str) -> None:
    boards = MACHINES[name]
    found = date_machine(Machine.model_validate({"machine": {"title": "R"}, "boards": boards}))
    evidence = [gather(Survey.model_validate(one)) for one in boards]
    weeks = evidence[0].grid.weeks
    delays = shelf(len(weeks))
    priors = {one.get("production"): made(one.get("production"), weeks) for one in boards}
    machine = np.prod([prior @ delays for prior in priors.values()], axis=0)
    total, together, held = 0.0, 0.0, np.zeros(len(boards))
    for choice in product((True, False), repeat=len(boards)):
        weight = machine.copy()
        for belongs, one, said in zip(choice, boards, evidence, strict=True):
            prior = priors[one.get("production")]
            likelihood = Posterior(said).build / prior
            given = prior[:, None] * delays
            given /= given.sum(axis=0)
            weight *= (
                BELONGS * (likelihood @ given) if belongs else (1 - BELONGS) * (likelihood @ prior)
            )
        total += weight.sum()
        held += weight.sum() * np.array(choice)
        together += weight.sum() * all(choice)
    close(found.together, together / total, 1e-7)
    close([b.probability for b in found.belonging], held / total, 1e-7)


@pytest.mark.parametrize("production", [{}, {"production": "1979/1981"}])
def test_one_board_alone_does_not_say_whether_it_belongs(production: dict[str, str]) -> None:
    one = board("8012", "8014", "8015", **production)
    found = date_machine(Machine.model_validate({"machine": {"title": "R"}, "boards": [one]}))
    close(found.belonging[0].probability, BELONGS, 1e-3)


def test_many_boards_of_which_nothing_is_known_are_not_called_strangers() -> None:
    data = {"machine": {"title": "R"}, "boards": [board("")] * 20}
    found = date_machine(Machine.model_validate(data))
    assert found.together < 0.5
    assert not found.warnings
