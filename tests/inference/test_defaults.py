"""Numbers of the model that cannot be are refused, and named."""

from __future__ import annotations

from typing import Any

import pytest

from provenance.inference import date_board
from provenance.inference.defaults import Defaults
from provenance.inference.stock import PROFILES, Lognormal, Profile, Stock
from provenance.survey.model import Survey

SURVEY = Survey.model_validate({"sections": {"main": {"parts": {"U1": "LM741CN / 7923"}}}})
FIRST = PROFILES[0]


@pytest.mark.parametrize(
    "changed",
    [
        {"work_rate": -0.001},
        {"work_share": 1.5},
        {"misread": float("nan")},
        {"replacement_rate": float("inf")},
        {"socket_factor": -1.0},
        {"inspection_lag": 0.0},
        {"production_slack": 0.0},
        {"old_blanks": (1.2, 130.0, 0.8)},
        {"old_blanks": (0.02, 130.0, 0.0)},
        {"socketed": (0.3, 1.1)},
        {"joints": {"factory": (0.35, 0.25), "hand": (0.65, 75)}},
        {"joints": {"factory": (0.35, 0.25)}},
        {"reliability": {"document": 0.9}},
        {"approximate": {"decade": 522.0, "year": -52.0, "month": 4.0, "day": 1.0}},
    ],
)
def test_a_default_out_of_its_range_is_named(changed: dict[str, Any]) -> None:
    with pytest.raises(ValueError, match=next(iter(changed))):
        Defaults(**changed)


@pytest.mark.parametrize("changed", [{"misread": 0.0}, {"work_share": 1.0}, {"work_rate": 0.0}])
def test_the_ends_of_a_range_are_in_it(changed: dict[str, Any]) -> None:
    assert date_board(SURVEY, defaults=Defaults(**changed)).build.dated


@pytest.mark.parametrize(
    ("profiles", "named"),
    [
        ([FIRST._replace(prior=-0.1)], "prior"),
        ([FIRST._replace(prior=0.0)], "prior"),
        ([FIRST._replace(hand=1.1)], "hand"),
        ([FIRST._replace(transit=Lognormal(0.0, 0.5))], "transit"),
        ([FIRST._replace(fresh=Lognormal(4.0, -0.5))], "fresh"),
        ([FIRST._replace(board=Lognormal(5.0, 0.4, -0.2))], "bare board"),
        ([FIRST._replace(settings=(Stock(1.0, 1.4, 20.0),))], "rho"),
        ([FIRST._replace(settings=(Stock(1.0, 0.4, -20.0),))], "old stock"),
        ([FIRST._replace(settings=())], "setting"),
        ([FIRST, FIRST], "name"),
    ],
)
def test_a_profile_out_of_its_range_is_named(profiles: list[Profile], named: str) -> None:
    with pytest.raises(ValueError, match=named):
        date_board(SURVEY, profiles=profiles)
