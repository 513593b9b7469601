"""From what a token may be to dated entries with odds, spread over the years that are allowed.

Knows calendar years and what ``near`` makes of them. Leaves to ``surroundings`` which
circumstances a token stands in, and to ``reader`` how the tokens of a marking compete.

What depends on one token alone is worked out once and kept: its entries, their reasons included,
before the circumstances that all entries of the token share. What is kept is plain tuples, which
the garbage collector need not look through.
"""

from __future__ import annotations

import math
from collections.abc import Collection, Mapping, Sequence
from datetime import date
from functools import lru_cache
from typing import NamedTuple

from provenance.markings.houses import House
from provenance.markings.reading import MarkingReading
from provenance.markings.reasons import reasons_of
from provenance.markings.schemes import calendar_years, span_of
from provenance.markings.surroundings import ONLY, special
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

Told = tuple[str, int, int, tuple[str, ...], str]
"""Scheme, start, end, reasons and form of a candidate, which all its entries share."""
Entry = tuple[float, date, date, int, Told]
"""Minus the odds, first and last day, year, and what is told of the candidate.

Minus the odds, because such tuples sort by falling odds, earlier days first where odds are equal.
"""
Spread = tuple[float, int, tuple[Entry, ...], float]
"""What a token or candidate comes to: the sum of its odds, those left out included; a year before
which it has no entries; its entries, by falling odds; the sum of the odds of the entries."""
Common = tuple[tuple[str, ...], int, int, int, str]
"""Of a candidate: names of its weights, start, end, cycle, form or house."""
Way = tuple[float, Told]
"""Minus the odds of a candidate in each year, nearness and factor apart; what is told of it."""


class Outlook(NamedTuple):
    """What a frame makes of years and cycles, and the spreads that were worked out in it."""

    frame: Frame
    closeness: Mapping[int, float]
    closest: float
    is_flat: bool
    """Whether all years are equally likely."""
    ways: dict[Common, Way]
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
    closest = max(closeness.values(), default=1.0)
    return Outlook(frame, closeness, closest, frame.near is None, {}, {}, {}, {})


def dated(offer: Bare, frame: Frame) -> tuple[tuple[int, Days], ...]:
    """The calendar years and days that a proposal can mean; nothing later than today."""
    _, _, _, year, cycle, unit, number, until = offer
    today = frame.today
    found = []
    for one in calendar_years(year, cycle, frame.first, frame.last):
        days = _run(unit, one, number, until) if until else _days(unit, one, number)
        if days and days[0] <= today:
            found.append((one, days))
    return tuple(found)


def _days(unit: str, year: int, number: int) -> Days | None:
    """The days of a part of a year, or None where the calendar has no such part."""
    if unit.endswith("week"):
        return _weeks(unit, year).get(number)
    if unit == "ordinal":
        before, length = _year(year)
        if not 1 <= number <= length:
            return None
        day = date.fromordinal(before + number)
        return day, day
    return _run(unit, year, number, 0)


@lru_cache(maxsize=512)
def _weeks(unit: str, year: int) -> Mapping[int, Days]:
    """The weeks of a year, all at once: a long list holds most of them."""
    spans = ((number, _run(unit, year, number, 0)) for number in range(54))
    return {number: days for number, days in spans if days}


@lru_cache(maxsize=512)
def _year(year: int) -> tuple[int, int]:
    """The ordinal of the day before a year, and the days of the year."""
    before = date(year, 1, 1).toordinal() - 1
    return before, date(year, 12, 31).toordinal() - before


@lru_cache(maxsize=4096)
def _run(unit: str, year: int, number: int, until: int) -> Days | None:
    """The days of a part of a year, or of several parts that follow one another."""
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


def candidates_of(offers: Sequence[Offer], flags: int) -> Sequence[Candidate]:
    """The candidates of one token, positions in the token, without the keys that all share."""
    if not flags:
        return offers
    return [
        (offer, start, end, keys + special(offer[0], flags), factor, house)
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
    ranked = _ranked(candidates, view)
    if len(ranked) == 1 and not every_form:
        return _spread_one(candidates[0], *ranked[0], view)
    total, earliest = 0.0, _NEVER
    by_days: dict[Days, Entry] = {}
    heaviest: dict[Days, float] = {}
    for share, place, told in ranked:
        if -share * view.closest < NEGLIGIBLE * total / 4 and not every_form:
            break
        some = _entries_of(candidates[place], share, told, view)
        if some:
            total -= _sum(some, share, view)
            earliest = min(earliest, some[0][3])
            _add(some, by_days, heaviest)
    least = NEGLIGIBLE * total / 2
    entries = [entry for entry in by_days.values() if -entry[0] > least]
    if len(entries) == len(by_days):
        told_odds = total
    else:
        if every_form:
            entries += _best_of_forms(by_days.values(), least)
        told_odds = -sum([entry[0] for entry in entries])
    entries.sort()
    return total, earliest, tuple(entries), told_odds


def _spread_one(candidate: Candidate, share: float, _: int, told: Told, view: Outlook) -> Spread:
    """The same for a single candidate, whose entries have different days."""
    entries = _entries_of(candidate, share, told, view)
    if not entries:
        return 0.0, _NEVER, (), 0.0
    total, earliest = -_sum(entries, share, view), entries[0][3]
    if view.is_flat:
        return total, earliest, tuple(entries), total
    least = NEGLIGIBLE * total / 2
    told_entries = sorted([entry for entry in entries if -entry[0] > least])
    return total, earliest, tuple(told_entries), -sum([entry[0] for entry in told_entries])


def _sum(entries: Sequence[Entry], share: float, view: Outlook) -> float:
    """Minus the odds of all entries of a candidate."""
    return share * len(entries) if view.is_flat else sum([entry[0] for entry in entries])


_NEVER = 9999
"""A year that is later than any."""


def _ranked(candidates: Sequence[Candidate], view: Outlook) -> list[tuple[float, int, Told]]:
    """Minus the odds of each candidate in each of its years, its place, what is told; by odds."""
    ranked = []
    for place, (offer, start, end, keys, factor, house) in enumerate(candidates):
        name = f"house: {house.name}" if house else offer[0]
        key = (keys, start, end, offer[4], name)
        way = view.ways.get(key)
        if way is None:
            if len(view.ways) >= _MOST_KEPT:
                view.ways.clear()
            way = view.ways[key] = _way(key, view.frame)
        ranked.append((way[0] * factor, place, way[1]))
    if len(ranked) > 1:
        ranked.sort()
    return ranked


def _way(key: Common, frame: Frame) -> Way:
    """What all candidates that have so much in common have in common besides."""
    keys, start, end, cycle, name = key
    odds = odds_of(keys) * share_of_cycle(cycle, frame.first, frame.last)
    scheme = name if name.startswith("house: ") else name.partition(".")[0]
    return -odds, (scheme, start, end, reasons_of(keys), name)


def _entries_of(candidate: Candidate, share: float, told: Told, view: Outlook) -> list[Entry]:
    """The entries of one candidate, by year."""
    offer, _, _, _, _, house = candidate
    dates = _kept_dates(offer, view)
    if house:
        since, until = house.first or 0, house.last or _NEVER
        dates = tuple([one for one in dates if since <= one[0] <= until])
    if view.is_flat:
        return [(share, first, last, year, told) for year, (first, last) in dates]
    closeness = view.closeness
    return [(share * closeness[year], first, last, year, told) for year, (first, last) in dates]


def _add(some: list[Entry], by_days: dict[Days, Entry], heaviest: dict[Days, float]) -> None:
    """Add the entries of a candidate to those of others, those of the same days made one.

    It goes under the name of the weightiest; ``heaviest`` keeps minus the odds of that one alone.
    """
    for entry in some:
        days = entry[1:3]
        known = by_days.get(days)
        if known is None:
            by_days[days] = entry
            continue
        heavy = heaviest.get(days, known[0])
        heaviest[days] = min(entry[0], heavy)
        named = entry if entry[0] < heavy else known
        by_days[days] = (entry[0] + known[0], *named[1:])


def _best_of_forms(entries: Collection[Entry], least: float) -> list[Entry]:
    """Of the negligible entries, the weightiest of each form that has no better one."""
    best: dict[str, float] = {}
    for odds, _, _, _, told in entries:
        best[told[4]] = min(odds, best.get(told[4], 0.0))
    return [entry for entry in entries if -entry[0] <= least and entry[0] == best[entry[4][4]]]
