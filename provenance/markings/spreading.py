"""From what a token may be to dated entries with odds, spread over the years that are allowed.

Knows calendar years and what ``near`` makes of them. Leaves to ``surroundings`` which
circumstances a token stands in, and to ``reader`` how the tokens of a marking compete.

What depends on one token alone is worked out once and kept: its entries, their reasons included,
before the circumstances that all entries of the token share. What is kept is plain tuples, which
the garbage collector need not look through.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from datetime import date
from functools import lru_cache
from typing import NamedTuple

from provenance.markings.houses import House
from provenance.markings.reading import MarkingReading
from provenance.markings.reasons import reasons_of
from provenance.markings.schemes import calendar_years, span_of
from provenance.markings.surroundings import ALONE, BEFORE_NUMBER, FIRST, ONLY, SUPPLY
from provenance.markings.tokens import Bare, Offer
from provenance.markings.weights import odds_of

NEGLIGIBLE = 1e-3
"""Readings less probable than this are left out, and count with 'no date'."""
_NEAR_SCALE = 3.0
"""Years by which ``near`` may be off: the standard deviation of a normal curve."""
_NEAR_WRONG = 0.02
"""Probability that ``near`` says nothing: this share stays flat."""
_MOST_KEPT = 65536
"""Tokens whose spread is kept for each frame."""


Candidate = tuple[Bare, int, int, tuple[str, ...], float, House | None]
"""A proposal, where it starts and ends, the names of its weights, a factor, its house if any."""


class Frame(NamedTuple):
    """What bounds the years of the readings."""

    first: int
    last: int
    today: date
    near: int | None


Days = tuple[date, date]

Told = tuple[str, int, int, tuple[str, ...]]
"""Scheme, start, end and reasons of a candidate, which all its entries share."""
Entry = tuple[float, date, date, int, Told]
"""Minus the odds, first and last day, year, and what is told of the candidate.

Minus the odds, because such tuples sort by falling odds, earlier days first where odds are equal.
"""


class Spread(NamedTuple):
    """What a token or candidate comes to, spread over years."""

    total: float
    """The sum of the odds, those left out included."""
    earliest: int
    """The first year among the entries."""
    entries: tuple[Entry, ...]
    """By falling odds."""
    told: float
    """The sum of the odds of the entries."""


class Outlook(NamedTuple):
    """What a frame makes of years and cycles, and the spreads that were worked out in it."""

    frame: Frame
    closeness: Mapping[int, float]
    closest: float
    spreads: dict[tuple[str, int], Spread]
    """By token and flags."""
    dates: dict[tuple[int, int, str, int, int], tuple[tuple[int, Days], ...]]
    """What ``dated`` says, by the fields of a proposal that it depends on."""
    readings: dict[str, MarkingReading]
    """By marking, because one list holds the same marking many times."""


def forget() -> None:
    """Empty what is kept of earlier readings: needed when the weights are changed."""
    outlook.cache_clear()


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


@lru_cache(maxsize=256)
def share_of_cycle(cycle: int, first: int, last: int) -> float:
    """What one calendar year takes of a proposal whose year repeats within the years allowed."""
    return min(1.0, cycle / (last - first + 1)) if cycle and last > first else 1.0


@lru_cache(maxsize=64)
def outlook(frame: Frame) -> Outlook:
    """The outlook in a frame; the same one each time, until ``forget``."""
    closeness = nearness(frame.near, frame.first, frame.last)
    return Outlook(frame, closeness, max(closeness.values(), default=1.0), {}, {}, {})


def dated(offer: Bare, frame: Frame) -> tuple[tuple[int, Days], ...]:
    """The calendar years and days that a proposal can mean; nothing later than today."""
    _, _, _, year, cycle, unit, number, until = offer
    return tuple(
        (year, days)
        for year in calendar_years(year, cycle, frame.first, frame.last)
        if (days := _days(unit, year, number, until)) and days[0] <= frame.today
    )


@lru_cache(maxsize=16384)
def _days(unit: str, year: int, number: int, until: int) -> Days | None:
    """The days of a part of a year, or None where the calendar has no such part."""
    try:
        first, last = span_of(unit, year, number, until)
    except ValueError:
        return None
    return first, last


def _kept_dates(offer: Bare, view: Outlook) -> tuple[tuple[int, Days], ...]:
    """The same, worked out once for each part of a year."""
    core = offer[3:]
    found = view.dates.get(core)
    if found is None:
        if len(view.dates) >= _MOST_KEPT:
            view.dates.clear()
        found = view.dates[core] = dated(offer, view.frame)
    return found


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


def candidates_of(offers: Sequence[Offer], flags: int) -> Sequence[Candidate]:
    """The candidates of one token, positions in the token, without the keys that all share."""
    if not flags:
        return offers
    return [
        (offer, start, end, keys + _special(offer[0], flags), factor, house)
        for offer, start, end, keys, factor, house in offers
    ]


def spread_token(text: str, offers: Sequence[Offer], flags: int, view: Outlook) -> Spread:
    """A token's entries, without the circumstances that they share."""
    found = view.spreads.get((text, flags))
    if found is None:
        if len(view.spreads) >= _MOST_KEPT:
            view.spreads.clear()
        found = spread(candidates_of(offers, flags), view, bool(flags & ONLY))
        view.spreads[text, flags] = found
    return found


def spread(candidates: Sequence[Candidate], view: Outlook, every_form: bool = False) -> Spread:
    """Candidates spread over the years that each allows, those of the same days made one.

    Negligible ones are left out, apart from the best of each form if ``every_form``.
    """
    first, last, *_ = view.frame
    ranked = [
        (-odds_of(keys) * factor * share_of_cycle(offer[4], first, last), place)
        for place, (offer, _, _, keys, factor, _) in enumerate(candidates)
    ]
    ranked.sort()
    heap = _Heap({}, {}, {} if every_form else None)
    total = 0.0
    for share, place in ranked:
        if -share * view.closest < NEGLIGIBLE * total / 4 and not every_form:
            break
        total -= _gather(candidates[place], share, view, heap)
    least = NEGLIGIBLE * total / 2
    entries = [entry for entry in heap.by_days.values() if -entry[0] > least]
    if every_form and len(entries) < len(heap.by_days):
        entries += _best_of_forms(heap, least)
    entries.sort()
    earliest = min([entry[3] for entry in entries], default=9999)
    return Spread(total, earliest, tuple(entries), -sum([entry[0] for entry in entries]))


class _Heap(NamedTuple):
    """The entries of several candidates while they are gathered."""

    by_days: dict[Days, Entry]
    heaviest: dict[Days, float]
    """Minus the odds of the weightiest candidate of days that several candidates mean."""
    forms: dict[Days, str] | None
    """The form of the weightiest candidate, if that is asked for."""


def _gather(candidate: Candidate, share: float, view: Outlook, heap: _Heap) -> float:
    """Add the entries of a candidate to those known; returns minus the sum of its odds."""
    offer, start, end, keys, _, house = candidate
    by_days, heaviest, forms = heap
    closeness = view.closeness
    told = _told(f"house: {house.name}" if house else offer[0], start, end, keys)
    total = 0.0
    for year, days in _kept_dates(offer, view):
        if house and not (house.first or 0) <= year <= (house.last or 9999):
            continue
        odds = share * closeness[year]
        total += odds
        begin, last = days
        if known := by_days.get(days):
            heavy = heaviest.get(days, known[0])
            heaviest[days] = min(odds, heavy)
            if odds >= heavy:
                by_days[days] = (odds + known[0], *known[1:])
                continue
            odds += known[0]
        by_days[days] = (odds, begin, last, year, told)
        if forms is not None:
            forms[days] = offer[0]
    return total


def _best_of_forms(heap: _Heap, least: float) -> list[Entry]:
    """Of the negligible entries, the weightiest of each form that has no better one."""
    best: dict[str, float] = {}
    forms = heap.forms or {}
    for days, entry in heap.by_days.items():
        form = forms[days]
        best[form] = min(entry[0], best.get(form, 0.0))
    return [
        entry
        for days, entry in heap.by_days.items()
        if -entry[0] <= least and entry[0] == best[forms[days]]
    ]


@lru_cache(maxsize=4096)
def _told(name: str, start: int, end: int, keys: tuple[str, ...]) -> Told:
    """What is told of all candidates of a form and place that have these weights."""
    scheme = name if name.startswith("house: ") else name.partition(".")[0]
    return scheme, start, end, reasons_of(keys)
