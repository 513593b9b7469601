"""Boards drawn from the model itself, written from the model's words and not from its code.

Knows how a board comes to be: trade, build, later works, stock, replacements, codes. The tables of
numbers (profiles, defaults) are the inference's; everything else is drawn by numpy. Every marking
is handed over already read (``tests.inference.fixed_readings``), so that what is checked is the
inference and nothing else.

A draw is given up where something that anyone could see rules it out: a code or a bare board from
before the first week that is looked at, an inspection stamp after today. Giving up on what is seen
does not change what follows from the rest. So is one whose history the model rules out: a build
picked before the first week, groups fitted against their order, nothing original.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from typing import Any

import numpy as np

from provenance.inference.defaults import Defaults
from provenance.inference.evidence import FIRST_YEAR
from provenance.inference.stock import LATER, PROFILES, Lognormal, Profile, Stock
from provenance.survey.model import Survey
from provenance.weeks import monday, sunday, week_of
from tests.inference.fixed_readings import Dated, week_span

TODAY = date(1992, 1, 5)
START, STOP = week_of(date(FIRST_YEAR, 1, 1)), week_of(TODAY) + 1
LIVELY = Defaults(work_rate=1 / 500, work_share=0.35, replacement_rate=1 / 4000)
"""Rates at which much happens, so that every kind of origin is met often."""


@dataclass(frozen=True)
class Drawn:
    """A survey with its readings, and the truth. Weeks are those of the grid."""

    survey: Survey
    readings: dict[str, list[Dated]]
    built: int
    picked: int
    fitted: dict[str, int | None]
    """For each section the week of its last refit, or None if it is original."""
    origins: dict[str, str]
    """For each part original, later_work or replacement."""


class _GivenUpError(Exception):
    """A draw that is not used."""


def _delay(rng: np.random.Generator, shape: Lognormal) -> int:
    return int(np.exp(np.log(shape.median) + shape.sigma * rng.standard_normal()))


def _about(rng: np.random.Generator, shape: Lognormal) -> Lognormal:
    """The delay with a median of this board's own, a spread under or over the trade's."""
    sign = rng.choice([-1.0, 1.0])
    return Lognormal(shape.median * float(np.exp(sign * shape.spread)), shape.sigma)


def _anew(rng: np.random.Generator, shape: Lognormal) -> int:
    """A delay that a board has once, its median drawn from the trade's spread."""
    median = float(np.exp(np.log(shape.median) + shape.spread * rng.standard_normal()))
    return _delay(rng, Lognormal(median, shape.sigma))


def _choose(rng: np.random.Generator, weights: list[float]) -> int:
    return int(rng.choice(len(weights), p=np.array(weights) / sum(weights)))


def _setting(rng: np.random.Generator, profile: Profile) -> Stock:
    return profile.settings[_choose(rng, [s.weight for s in profile.settings])]


def _stocked(rng: np.random.Generator, profile: Profile, stock: Stock, fresh: Lognormal) -> int:
    old = rng.random() < stock.rho
    return _delay(rng, profile.old(stock) if old else fresh)


def _service(rng: np.random.Generator) -> int:
    stock = _setting(rng, LATER)
    if rng.random() < stock.rho:
        return _delay(rng, LATER.old(stock))
    return _anew(rng, LATER.fresh)


def _anywhere(rng: np.random.Generator) -> int:
    return int(rng.integers(START, STOP))


def _read(rng: np.random.Generator, code: int, defaults: Defaults) -> list[Dated]:
    """A marking with the code: read surely, or beside a chance date, or with no date perhaps."""
    if rng.random() < defaults.misread:
        code = _anywhere(rng)
    if code < START:
        raise _GivenUpError
    kind = rng.random()
    if kind < 0.7:
        return [(week_span(code), 1.0)]
    other = _anywhere(rng)
    if kind < 0.9:
        # Two readings of stated probability, of which one is the code and one is chance.
        sure = rng.choice([0.5, 0.8, 0.95])
        first, second = (code, other) if rng.random() < sure else (other, code)
        return [(week_span(first), sure), (week_span(second), 1 - sure)]
    sure = 0.6
    return [(week_span(code if rng.random() < sure else other), sure)]


def _histories(
    rng: np.random.Generator, picked: int, groups: list[str], defaults: Defaults
) -> dict[str, int | None]:
    """The week in which each group's last refit was picked."""
    last: dict[str, int | None] = dict.fromkeys(groups)
    for week in np.flatnonzero(rng.random(STOP - picked - 1) < defaults.work_rate):
        for group in groups:
            if rng.random() < defaults.work_share:
                last[group] = picked + 1 + int(week)
    return last


def _try(rng: np.random.Generator, defaults: Defaults) -> Drawn:
    profile = PROFILES[_choose(rng, [p.prior for p in PROFILES])]
    stock, fresh = _setting(rng, profile), _about(rng, profile.fresh)
    built = _anywhere(rng)
    picked = built - _anew(rng, profile.transit)
    if picked < START:
        raise _GivenUpError
    groups = [f"s{i}" for i in range(rng.integers(2, 6))]
    last = _histories(rng, picked, groups, defaults)
    if all(week is not None for week in last.values()):
        raise _GivenUpError
    ordered = rng.random() < 0.3
    if ordered and (last["s0"] or picked) > (last["s1"] or picked):
        raise _GivenUpError
    sections: dict[str, Any] = {}
    readings: dict[str, list[Dated]] = {}
    origins = {}
    for group in groups:
        when = last[group]
        since = picked if when is None else when
        parts = {}
        for number in range(rng.integers(1, 5)):
            left = STOP - 1 - since
            gone = rng.random() > np.exp(-defaults.replacement_rate * left)
            if gone:
                code = since + 1 + int(rng.integers(left)) - _service(rng)
            elif when is None:
                code = picked - _stocked(rng, profile, stock, fresh)
            else:
                code = when - _service(rng)
            marking = f"{group} {number}"
            readings[marking] = _read(rng, code, defaults)
            for again in range(rng.integers(1, 3)):
                ref = f"{group}U{number}{again}"
                parts[ref] = marking
                fitted = "original" if when is None else "later_work"
                origins[ref] = "replacement" if gone else fitted
        sections[group] = {"parts": parts}
    refits = {g: None if w is None else w + _anew(rng, LATER.transit) for g, w in last.items()}
    survey = Survey.model_validate(
        {
            "today": TODAY.isoformat(),
            "sections": sections,
            "relations": ["s1 fitted after s0"] if ordered else [],
            "evidence": _evidence(rng, built, profile, defaults),
        }
    )
    return Drawn(survey, readings, built, picked, refits, origins)


def _evidence(
    rng: np.random.Generator, built: int, profile: Profile, defaults: Defaults
) -> list[dict[str, str]]:
    """Now and then a bare board's code or an inspection stamp, each of one week, each doubtful."""
    kind = rng.choice(["none", "bare board code", "inspection stamp"], p=[0.5, 0.3, 0.2])
    if kind == "none":
        return []
    if rng.random() > defaults.reliability[kind]:
        week = _anywhere(rng)
    elif kind == "bare board code":
        old, *blank = defaults.old_blanks
        week = built - _anew(rng, Lognormal(*blank) if rng.random() < old else profile.board)
    else:
        mean = defaults.inspection_lag
        lags = np.exp(-np.arange(int(12 * mean)) / mean)
        week = built + int(rng.choice(len(lags), p=lags / lags.sum()))
    if not START <= week < STOP - 1:
        raise _GivenUpError
    return [{"kind": str(kind), "date": f"{monday(week)}/{sunday(week)}"}]


def draw(rng: np.random.Generator, defaults: Defaults = LIVELY) -> Drawn:
    """One board from the model."""
    while True:
        try:
            return _try(rng, defaults)
        except _GivenUpError:
            continue
