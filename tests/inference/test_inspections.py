"""What an inspection is said to bring is what a rerun with it brings, over all that it may show."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest

from provenance.inference.evidence import gather
from provenance.inference.inspections import inspections
from provenance.inference.origins import lot_posteriors
from provenance.inference.posterior import Posterior
from provenance.survey.model import Survey
from provenance.weeks import monday, sunday
from tests.inference.fixed_readings import Dated, fixed_readings, week_span

FIRST = 1618
"""Week of 5 January 1981."""


def posterior(
    readings: dict[str, list[Dated]], *evidence: dict[str, str], **more: str
) -> Posterior:
    parts = list(readings)
    sections = {"main": parts[:-1], "other": parts[-1:]}
    data: dict[str, Any] = {
        "today": "1995-01-01",
        "sections": {s: {"parts": {p: p for p in names}} for s, names in sections.items()},
        "evidence": evidence,
    }
    with fixed_readings(readings):
        return Posterior(gather(Survey.model_validate(data | more)))


def learnt(after: Posterior, before: Posterior) -> float:
    """The relative entropy of one build to another, in bits."""
    new, old = after.build / after.build.sum(), before.build / before.build.sum()
    held = new > 0
    return float((new[held] * np.log2(new[held] / old[held])).sum())


def stated(before: Posterior, observation: str) -> float:
    return sum(
        i.expected_bits
        for i in inspections(before)
        if i.about == "build" and observation in i.observation
    )


@pytest.mark.parametrize(("ahead", "others"), [(60, 1), (60, 2), (100, 2), (150, 2)])
def test_a_full_reading_brings_what_is_stated(ahead: int, others: int) -> None:
    """It may still be copied down wrongly, so that a rerun brings a little less."""
    sure = {f"M{n}": [(week_span(FIRST + n), 1.0)] for n in range(others)}
    spans = [week_span(FIRST + ahead), week_span(FIRST + ahead + 60)]
    before = posterior(sure | {"X": [(span, 0.5) for span in spans]})
    lot = before.evidence.lots[-1]
    shares, none = list(lot_posteriors(before))[-1].readings
    outcomes: list[tuple[float, list[Dated]]] = [
        (float(p), [(r.span, 1.0)]) for p, r in zip(shares, lot.readings, strict=True)
    ]
    brings = sum(
        p * learnt(posterior(sure | {"X": read}), before) for p, read in [*outcomes, (none, [])]
    )
    assert brings <= stated(before, "date code of") or brings < 0.02
    assert stated(before, "date code of") <= 1.25 * brings


@pytest.mark.parametrize("trade", ["mass production", "small series", None])
@pytest.mark.parametrize(
    ("kind", "observation", "share", "reach"),
    [
        ("bare board code", "bare board", 1.0, range(-200, 260)),
        # Not every board was stamped: half of what a stamp brings is stated.
        ("inspection stamp", "stamp", 0.5, range(-10, 160)),
    ],
)
def test_a_code_or_a_stamp_brings_what_is_stated(
    kind: str, observation: str, share: float, reach: range, trade: str | None
) -> None:
    """Each week that it may be of is tried; the few that are left out are those of mistakes."""
    readings = {"M0": [(week_span(FIRST), 1.0)], "X": [(week_span(FIRST + 3), 1.0)]}
    more = {"trade": trade} if trade else {}
    before = posterior(readings, **more)
    brings = held = 0.0
    for week in range(FIRST + reach.start, FIRST + reach.stop):
        piece = {"kind": kind, "date": f"{monday(week)}/{sunday(week)}"}
        after = posterior(readings, piece, **more)
        chance = after.histories.evidence / before.histories.evidence
        chance /= len(before.evidence.prior)
        held += chance
        brings += chance * learnt(after, before)
    assert held > 0.95
    assert stated(before, observation) == pytest.approx(share * brings, rel=0.05)


def test_a_code_that_was_read_in_full_is_not_said_to_lack_characters() -> None:
    """As one would say it: only what is worn wants a full reading."""
    parts = {f"U{n}": f"74LS{100 + 3 * n}N / {8148 + n % 3}" for n in range(1, 7)}
    later = {"marking": "74LS00N / 8440", "mount": "socketed"}
    worn = {"marking": "74LS04N / 8?49", "mount": "socketed"}
    main = {"mount": "soldered", "parts": {**parts, "U7": later, "U8": later, "U9": worn}}
    survey = Survey.model_validate({"today": "2026-01-01", "sections": {"main": main}})
    told = {i.observation for i in inspections(Posterior(gather(survey)))}
    assert "a second look at the date code of U7 and U8" in told
    assert not any("full date code of U7" in observation for observation in told)
