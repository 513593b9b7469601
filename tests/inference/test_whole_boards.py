"""Surveys of a few weeks: what the inference says of a board equals the sum over everything."""

from __future__ import annotations

from datetime import date, timedelta
from typing import Any

import numpy as np
import pytest

from provenance.inference.evidence import BoardEvidence, gather
from provenance.inference.origins import lot_posteriors
from provenance.inference.posterior import Posterior
from provenance.survey.model import Survey
from provenance.weeks import Span
from tests.inference.fixed_readings import Dated, fixed_readings
from tests.inference.near import close
from tests.inference.slow_board import Slow

FIRST = date(1959, 12, 28)
"""Monday of the week of 1 January 1960, where the grid begins if nothing else is said."""


def random_survey(rng: np.random.Generator) -> tuple[Survey, dict[str, list[Dated]]]:
    """A survey of at most six weeks with mounts, joints, documents, order and doubtful readings."""
    groups, weeks = [(1, 6), (2, 6), (2, 5), (3, 5)][rng.integers(4)]
    readings: dict[str, list[Dated]] = {}

    def marking() -> str:
        name = f"M{len(readings)}"
        shares = rng.dirichlet(np.ones(rng.integers(1, 4)))
        # The first part keeps every week in a cell of its own.
        shares = np.array([0.7, 0.2]) if not readings else 0.1 + 0.8 * shares / len(shares)
        readings[name] = [
            (Span(first, first + timedelta(days=int(rng.integers(0, 30)))), float(share))
            for share in shares
            for first in [FIRST + timedelta(days=int(rng.integers(-60, 7 * weeks - 2)))]
        ]
        if len(readings) == 1:
            early = FIRST - timedelta(days=20)
            readings[name][0] = (Span(early, early + timedelta(days=14)), 0.7)
        return name

    def some(*choices: str | None) -> str | None:
        return choices[rng.integers(len(choices))]

    sections: dict[str, Any] = {}
    for group in range(groups):
        parts: dict[str, Any] = {}
        for number in range(rng.integers(1, 4)):
            again = list(readings)[-1] if parts and rng.random() < 0.3 else marking()
            part = {"marking": again, "joints": some(None, "factory", "hand", "unclear")}
            parts[f"U{group}{number}"] = {k: v for k, v in part.items() if v}
        mount = some(None, "soldered", "socketed")
        sections[f"s{group}"] = {"parts": parts} | ({"mount": mount} if mount else {})
    today = FIRST + timedelta(days=7 * weeks - int(rng.integers(1, 7)))

    def day() -> str:
        return (FIRST + timedelta(days=int(rng.integers(0, 7 * weeks - 7)))).isoformat()

    kinds: list[dict[str, str]] = [
        {"kind": "document", "says": "in use by", "date": day()},
        {"kind": "photograph", "says": "not before", "date": day(), "reliability": "0.6"},
        {"kind": "document", "says": "built on", "date": day(), "reliability": "0.7"},
        {"kind": "bare board code", "date": FIRST.isoformat()},
        {"kind": "inspection stamp", "date": "1960-01-04/1960-01-15"},
    ]
    evidence = [kinds[i] for i in rng.permutation(len(kinds))[: rng.integers(0, 3)]]
    if evidence and evidence[0]["kind"] in ("document", "photograph") and rng.random() < 0.5:
        evidence[0] = evidence[0] | {"section": f"s{groups - 1}"}
    data: dict[str, Any] = {
        "today": today.isoformat(),
        "sections": sections,
        "evidence": evidence,
        "relations": ["s1 fitted after s0"] if groups > 1 and rng.random() < 0.5 else [],
    }
    if (trade := some(None, "mass production", "workshop")) is not None:
        data["trade"] = trade
    if evidence and len(evidence[0]["date"]) == 10 and rng.random() < 0.4:
        evidence[0] = evidence[0] | {"date": evidence[0]["date"] + "~"}
    for section in sections.values():
        if (looks := some(None, "factory", "hand")) is not None:
            section["joints"] = looks
        if rng.random() < 0.3:
            next(iter(section["parts"].values()))["adapter"] = "yes"
    return Survey.model_validate(data), readings


def every_week_a_cell(evidence: BoardEvidence) -> bool:
    return bool((evidence.grid.length == 1).all())


@pytest.mark.parametrize("reliability", ["0.3", "0.95"])
def test_what_is_said_of_a_section_of_two_mounts_is_said_once(reliability: str) -> None:
    """Two fit groups, and one week of the build for both."""
    early, code = FIRST - timedelta(days=20), FIRST + timedelta(days=5)
    readings: dict[str, list[Dated]] = {
        "A": [(Span(early, early + timedelta(days=14)), 0.9)],
        "B": [(Span(code, code), 0.8)],
    }
    parts = {
        "U1": {"marking": "A", "mount": "soldered"},
        "U2": {"marking": "B", "mount": "socketed"},
    }
    piece = {"kind": "photograph", "says": "in use by", "date": "1960-01-16", "section": "s"}
    data = {
        "today": "1960-02-06",
        "trade": "mass production",
        "sections": {"s": {"parts": parts}},
        "evidence": [piece | {"reliability": reliability}],
    }
    survey = Survey.model_validate(data)
    with fixed_readings(readings):
        evidence = gather(survey)
    assert len(evidence.spoken) == 2
    assert every_week_a_cell(evidence)
    posterior, expected = Posterior(evidence), Slow(survey, readings).sum()
    close(posterior.build / posterior.build.sum(), expected.build)
    close(posterior.histories.original.sum((1, 2)), expected.original)


@pytest.mark.parametrize("seed", range(24))
def test_a_board_of_a_few_weeks_equals_brute_force(seed: int) -> None:
    rng = np.random.default_rng(seed)
    survey, readings = random_survey(rng)
    with fixed_readings(readings):
        evidence = gather(survey)
    assert every_week_a_cell(evidence)
    posterior, expected = Posterior(evidence), Slow(survey, readings).sum()
    close(posterior.build / posterior.build.sum(), expected.build)
    close(posterior.histories.original.sum((1, 2)), expected.original)
    for found in lot_posteriors(posterior):
        lot = found.lot
        ref = lot.parts[0].ref
        origin = (found.origin.original, found.origin.later_work, found.origin.replacement)
        close(origin, expected.origins[ref])
        shares, none = found.readings
        close(none, expected.readings[ref][None])
        for reading, share in zip(lot.readings, shares, strict=True):
            close(share, expected.readings[ref][reading.span])
