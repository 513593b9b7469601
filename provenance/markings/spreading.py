"""From what a token may be to dated entries with odds, spread over the years that are allowed.

Knows odds, calendar years and what ``near`` makes of them. Leaves to ``surroundings`` which
circumstances a token stands in, and to ``reader`` how the tokens of a marking compete.

What depends on one token alone is worked out once and kept: its entries, their reasons included,
before the circumstances that all entries of the token share.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping, Sequence
from datetime import date
from functools import lru_cache
from typing import NamedTuple

from provenance.markings.explaining import reasons
from provenance.markings.houses import House
from provenance.markings.schemes import Proposal, calendar_years
from provenance.markings.surroundings import ALONE, BEFORE_NUMBER, FIRST, ONLY, SUPPLY
from provenance.markings.tokens import look
from provenance.markings.weights import weights

NEGLIGIBLE = 1e-3
"""Readings less probable than this are left out, and count with 'no date'."""
_NEAR_SCALE = 3.0
"""Years by which ``near`` may be off: the standard deviation of a normal curve."""
_NEAR_WRONG = 0.02
"""Probability that ``near`` says nothing: this share stays flat."""


class Candidate(NamedTuple):
    """A proposal in its place, and the names of the weights that it takes."""

    offer: Proposal
    start: int
    end: int
    keys: tuple[str, ...]
    factor: float
    house: House | None = None


class Frame(NamedTuple):
    """What bounds the years of the readings."""

    first: int
    last: int
    today: date
    near: int | None


Days = tuple[date, date]

Entry = tuple[float, date, date, int, int, int, str, tuple[str, ...]]
"""Minus the odds, first and last day, year, start, end, scheme, reasons.

A bare tuple, because thousands are made a second; minus the odds, because such tuples sort by
falling odds, earlier days first where odds are equal. Positions are in the token or the marking.
"""


class Spread(NamedTuple):
    """The entries of a token, or of a candidate."""

    total: float
    """The sum of the odds, those left out included."""
    earliest: int
    """The earliest year among the entries."""
    entries: list[Entry]


class _Outlook(NamedTuple):
    """What a frame makes of years and cycles."""

    closeness: Mapping[int, float]
    closest: float
    shares: Mapping[int, float]
    """What one calendar year takes of a proposal, by its cycle."""


def forget() -> None:
    """Empty what is kept of earlier readings: needed when the weights are changed."""
    odds_of.cache_clear()
    spread_token.cache_clear()


@lru_cache(maxsize=65536)
def odds_of(keys: tuple[str, ...]) -> float:
    """The product of the weights of a form and of circumstances; one where there is no weight."""
    table = weights()
    odds = 1.0
    for key in keys:
        odds *= table.get(key, 1.0)
    return odds


@lru_cache(maxsize=64)
def nearness(near: int | None, first: int, last: int) -> Mapping[int, float]:
    """How much likelier each year is than under the flat prior over the same years."""
    years = range(first, last + 1)
    if near is None or not years:
        return dict.fromkeys(years, 1.0)
    centre = min(max(near, first), last)
    bells = {year: math.exp(-(((year - centre) / _NEAR_SCALE) ** 2) / 2) for year in years}
    scale = (1 - _NEAR_WRONG) * len(years) / sum(bells.values())
    return {year: scale * bell + _NEAR_WRONG for year, bell in bells.items()}


def share_of_cycle(cycle: int, first: int, last: int) -> float:
    """What one calendar year takes of a proposal whose year repeats within the years allowed."""
    return min(1.0, cycle / (last - first + 1)) if cycle and last > first else 1.0


@lru_cache(maxsize=64)
def _outlook(frame: Frame) -> _Outlook:
    closeness = nearness(frame.near, frame.first, frame.last)
    shares = {cycle: share_of_cycle(cycle, frame.first, frame.last) for cycle in (0, 10, 20, 100)}
    return _Outlook(closeness, max(closeness.values(), default=1.0), shares)


@lru_cache(maxsize=65536)
def _dated(
    core: tuple[int, int, str, int, int], first: int, last: int, today: date
) -> tuple[tuple[int, Days], ...]:
    offer = Proposal("", 0, 0, *core)
    found = []
    for year in calendar_years(offer.year, offer.cycle, first, last):
        try:
            span = offer.span(year)
        except ValueError:
            continue
        if span.first <= today:
            found.append((year, (span.first, span.last)))
    return tuple(found)


def dated(offer: Proposal, frame: Frame) -> tuple[tuple[int, Days], ...]:
    """The calendar years and days that a proposal can mean; nothing later than today."""
    return _dated(offer[3:], frame.first, frame.last, frame.today)


_TWO_SIGNS = frozenset(
    ["iec_letters", "iec_letters.letters", "year_digit_month.letter", "year_digit_month.figure"]
)
_CODED = frozenset(["coded_year_month", "coded_year_month.figure", "coded_year_month.letters"])
_SUPPLY_FORMS = frozenset(
    ["year_month_lot", "year_month_lot.figures", "year_month_lot.second", "year_week"]
)


def _special(form: str, flags: int) -> tuple[str, ...]:
    """The circumstance that means something for this form only."""
    if flags & SUPPLY and form in _SUPPLY_FORMS:
        return (form + "@supply",)
    if flags & ALONE and form in _TWO_SIGNS:
        return ("@only_two_signs",)
    if flags & ONLY and form.endswith("_glued"):
        return ("@only_glued",)
    if flags & FIRST and form in _CODED:
        return ("@coded_first",)
    if flags & BEFORE_NUMBER and form in _CODED:
        return ("@coded_before_number",)
    return ()


def candidates_of(text: str, flags: int) -> Iterable[Candidate]:
    """The candidates of one token, positions in the token, without the keys that all share."""
    for offer, own, factor in look(text).offers:
        keys = (offer.form, *own, *_special(offer.form, flags))
        yield Candidate(offer, offer.start, offer.end, keys, factor)


@lru_cache(maxsize=65536)
def spread_token(text: str, flags: int, frame: Frame) -> Spread:
    """A token's entries, without the circumstances that they share."""
    return spread(list(candidates_of(text, flags)), frame, bool(flags & ONLY))


def spread(candidates: Sequence[Candidate], frame: Frame, every_form: bool = False) -> Spread:
    """Candidates spread over the years that each allows, those of the same days made one.

    Negligible ones are left out, apart from the best of each form if ``every_form``.
    """
    closeness, closest, shares = _outlook(frame)
    ranked = sorted(
        (-odds_of(one.keys) * one.factor * shares[one.offer.cycle], place)
        for place, one in enumerate(candidates)
    )
    total = 0.0
    # By days: the odds of all candidates, those of the weightiest, its year and its place.
    chief: dict[Days, tuple[float, float, int, int]] = {}
    for share, place in ranked:
        if -share * closest < NEGLIGIBLE * total / 4 and not every_form:
            break
        candidate = candidates[place]
        house = candidate.house
        for year, days in dated(candidate.offer, frame):
            if house and not (house.first or 0) <= year <= (house.last or 9999):
                continue
            odds = -share * closeness[year]
            total += odds
            if known := chief.get(days):
                weightiest = (odds, year, place) if odds > known[1] else known[1:]
                chief[days] = (odds + known[0], *weightiest)
            else:
                chief[days] = (odds, odds, year, place)
    kept = _worth_telling(chief, candidates, total, every_form)
    return Spread(total, min((entry[3] for entry in kept), default=9999), kept)


def _worth_telling(
    chief: Mapping[Days, tuple[float, float, int, int]],
    candidates: Sequence[Candidate],
    total: float,
    every_form: bool,
) -> list[Entry]:
    """The entries that are not negligible, by falling odds."""
    best: dict[str, float] = {}
    if every_form:
        for odds, _, _, place in chief.values():
            form = candidates[place].offer.form
            best[form] = max(odds, best.get(form, 0.0))
    least = NEGLIGIBLE * total / 2
    told: dict[int, tuple[int, int, str, tuple[str, ...]]] = {}
    entries: list[Entry] = []
    for (first, last), (odds, _, year, place) in chief.items():
        if odds > least or (every_form and odds == best[candidates[place].offer.form]):
            if place not in told:
                one = candidates[place]
                told[place] = (one.start, one.end, _scheme_name(one), reasons(one.keys))
            entries.append((-odds, first, last, year, *told[place]))
    entries.sort()
    return entries


def _scheme_name(candidate: Candidate) -> str:
    if candidate.house:
        return f"house: {candidate.house.name}"
    return candidate.offer.form.partition(".")[0]


def bounded(found: Spread, floor: int) -> Spread:
    """A spread in which what comes before a family's first year is cut down."""
    if found.earliest >= floor:
        return found
    early = weights()["@too_early"]
    lost = 0.0
    entries = []
    for entry in found.entries:
        if entry[3] < floor:
            lost -= entry[0] * (1 - early)
            entries.append((entry[0] * early, *entry[1:]))
        else:
            entries.append(entry)
    entries.sort()
    return Spread(found.total - lost, floor, entries)
