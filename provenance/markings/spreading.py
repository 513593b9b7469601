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

Dates = tuple[tuple[int, ...], tuple[Days, ...]]
"""What a proposal can mean: its calendar years, and the days in each."""
Told = tuple[str, int, int, tuple[str, ...], str]
"""Scheme, start, end, reasons and form of a candidate, which all its entries share."""
Run = tuple[float, tuple[int, ...], tuple[Days, ...], Told]
"""Entries of one candidate with the same odds: minus the odds of each; the year and the days of
each, earlier ones first; what is told of the candidate.

Minus the odds, because such tuples sort by falling odds. Where no year is likelier than another,
all entries of a candidate are one run, and few of them are ever looked at singly.
"""
Spread = tuple[float, int, tuple[Run, ...], float, int]
"""What a token or candidate comes to: the sum of its odds, those left out included; a year before
which it has no entries; its runs, by falling odds; the sum of the odds of their entries, and the
number of these."""
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
    dates: dict[tuple[int, int, str, int, int], Dates]
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


def dated(offer: Bare, frame: Frame) -> Dates:
    """The calendar years and days that a proposal can mean; nothing later than today."""
    _, _, _, year, cycle, unit, number, until = offer
    today = frame.today
    years, found = [], []
    for one in calendar_years(year, cycle, frame.first, frame.last):
        days = _run(unit, one, number, until) if until else _days(unit, one, number)
        if days and days[0] <= today:
            years.append(one)
            found.append(days)
    return tuple(years), tuple(found)


def _days(unit: str, year: int, number: int) -> Days | None:
    """The days of a part of a year, or None where the calendar has no such part."""
    if unit != "ordinal":
        return _run(unit, year, number, 0)
    before, length = _year(year)
    if not 1 <= number <= length:
        return None
    day = date.fromordinal(before + number)
    return day, day


@lru_cache(maxsize=512)
def _year(year: int) -> tuple[int, int]:
    """The ordinal of the day before a year, and the days of the year."""
    before = date(year, 1, 1).toordinal() - 1
    return before, date(year, 12, 31).toordinal() - before


@lru_cache(maxsize=16384)
def _run(unit: str, year: int, number: int, until: int) -> Days | None:
    """The days of a part of a year, or of several parts that follow one another."""
    try:
        first, last = span_of(unit, year, number, until)
    except ValueError:
        return None
    return first, last


def candidates_of(offers: Sequence[Offer], flags: int) -> Sequence[Candidate]:
    """The candidates of one token, positions in the token, without the keys that all share."""
    if not flags:
        return offers
    return [
        (offer, start, end, keys + special(offer[0], flags), factor, house)
        for offer, start, end, keys, factor, house in offers
    ]


def spread_token(text: str, offers: Sequence[Offer], flags: int, view: Outlook) -> Spread:
    """A token's runs, without the circumstances that they share."""
    found = view.spreads.get((text, flags))
    if found is None:
        if len(view.spreads) >= _MOST_KEPT:
            view.spreads.clear()
        found = spread(candidates_of(offers, flags), view, bool(flags & ONLY))
        view.spreads[text, flags] = found
    return found


def spread(candidates: Sequence[Candidate], view: Outlook, every_form: bool = False) -> Spread:
    """Candidates spread over the years that each allows, entries of the same days made one.

    Negligible ones are left out, apart from the best of each form if ``every_form``.
    """
    total, earliest = 0.0, _NEVER
    runs: list[Run] = []
    for share, place, told in _ranked(candidates, view):
        if -share * view.closest < NEGLIGIBLE * total / 4 and not every_form:
            break
        years, days = _dates_of(candidates[place], view)
        if not years:
            continue
        earliest = min(earliest, years[0])
        if view.is_flat:
            runs.append((share, years, days, told))
            total -= share * len(years)
        else:
            some = _run_by_run(share, years, days, told, view)
            runs += some
            total -= sum([run[0] for run in some])
    if len(runs) > 1:
        if not are_apart([run[2] for run in runs]):
            runs = _joined(runs)
        runs.sort()
    return total, earliest, *_telling(runs, total, every_form)


def are_apart(days: Sequence[Sequence[Days]]) -> bool:
    """Whether no two entries have the same days, so that none become one."""
    return len(set().union(*days)) == sum(map(len, days))


def _telling(runs: list[Run], total: float, every_form: bool) -> tuple[tuple[Run, ...], float, int]:
    """The runs that are not negligible, the sum of the odds of their entries, and their number."""
    least = NEGLIGIBLE * total / 2
    if runs and -runs[-1][0] <= least:
        best = _best_of_forms(runs) if every_form else {}
        runs = [run for run in runs if -run[0] > least or run[0] == best.get(run[3][4])]
        total = -sum([run[0] * len(run[1]) for run in runs])
    return tuple(runs), total, sum([len(run[1]) for run in runs])


_NEVER = 9999
"""A year that is later than any."""


def _ranked(candidates: Sequence[Candidate], view: Outlook) -> list[tuple[float, int, Told]]:
    """Minus the odds of each candidate in each of its years, its place, what is told; by odds."""
    ranked = []
    ways = view.ways
    for place, (offer, start, end, keys, factor, house) in enumerate(candidates):
        key = (keys, start, end, offer[4], f"house: {house.name}" if house else offer[0])
        odds, told = ways.get(key) or _way(key, view)
        ranked.append((odds * factor, place, told))
    if len(ranked) > 1:
        ranked.sort()
    return ranked


def _way(key: Common, view: Outlook) -> Way:
    """What all candidates that have so much in common have in common besides; it is kept."""
    keys, start, end, cycle, name = key
    odds = odds_of(keys) * share_of_cycle(cycle, view.frame.first, view.frame.last)
    scheme = name if name.startswith("house: ") else name.partition(".")[0]
    if len(view.ways) >= _MOST_KEPT:
        view.ways.clear()
    way = view.ways[key] = -odds, (scheme, start, end, reasons_of(keys), name)
    return way


def _dates_of(candidate: Candidate, view: Outlook) -> Dates:
    """What a candidate can mean, worked out once for each part of a year.

    With a house scheme, while that was used.
    """
    offer, _, _, _, _, house = candidate
    core = offer[3:]
    dates = view.dates.get(core)
    if dates is None:
        if len(view.dates) >= _MOST_KEPT:
            view.dates.clear()
        dates = view.dates[core] = dated(offer, view.frame)
    if not house:
        return dates
    years, days = dates
    since, until = house.first or 0, house.last or _NEVER
    used = [place for place, year in enumerate(years) if since <= year <= until]
    return tuple([years[place] for place in used]), tuple([days[place] for place in used])


def _run_by_run(
    share: float, years: Sequence[int], days: Sequence[Days], told: Told, view: Outlook
) -> list[Run]:
    """The entries of a candidate whose years are not equally likely, each a run of its own."""
    closeness = view.closeness
    return [
        (share * closeness[year], (year,), (one,), told)
        for year, one in zip(years, days, strict=True)
    ]


def _joined(runs: Sequence[Run]) -> list[Run]:
    """Every entry a run of its own, those of the same days made one.

    It goes under the name of the weightiest.
    """
    by_days: dict[Days, Run] = {}
    heaviest: dict[Days, float] = {}
    for odds, years, of_each, told in runs:
        for year, days in zip(years, of_each, strict=True):
            entry = (odds, (year,), (days,), told)
            known = by_days.get(days)
            if known is None:
                by_days[days] = entry
                continue
            heavy = heaviest.get(days, known[0])
            heaviest[days] = min(odds, heavy)
            named = entry if odds < heavy else known
            by_days[days] = (odds + known[0], *named[1:])
    return list(by_days.values())


def _best_of_forms(runs: Sequence[Run]) -> dict[str, float]:
    """Minus the odds of the weightiest entry of each form."""
    best: dict[str, float] = {}
    for odds, _, _, told in runs:
        best[told[4]] = min(odds, best.get(told[4], 0.0))
    return best
