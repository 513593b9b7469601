"""From what a token may be to dated entries with odds, spread over the years that are allowed.

Knows calendar years and what ``near`` makes of them. Leaves to ``surroundings`` which
circumstances a token stands in, and to ``reader`` how the tokens of a marking compete.

``7841`` and ``8123`` differ in their numbers only. Which proposals are heavier, how many entries
each has and what all weigh together is the same for both: their outline. It is worked out for the
first token of its kind, and the dates of each further one are looked at through it.
"""

from __future__ import annotations

import math
from bisect import bisect_left
from collections.abc import Collection, Hashable, Iterable, Mapping, Sequence
from datetime import date
from functools import lru_cache, partial
from itertools import accumulate, chain, repeat
from typing import NamedTuple

from provenance.markings.houses import House
from provenance.markings.kept import Kept
from provenance.markings.periods import (
    ABSENT,
    PARTS,
    Days,
    calendar_years,
    days_of_run,
    since,
)
from provenance.markings.reasons import reasons_of
from provenance.markings.shapes import Manner
from provenance.markings.surroundings import ONLY, met, special
from provenance.markings.tokens import When
from provenance.markings.weights import odds_of

NEGLIGIBLE = 1e-3
"""Readings less probable than this are left out, and count with 'no date'."""
_NEAR_SCALE = 3.0
"""Years by which ``near`` may be off: the standard deviation of a normal curve."""
_NEAR_WRONG = 0.02
"""Probability that ``near`` says nothing: this share stays flat."""
_MOST_KEPT = 65536
"""Tokens whose spread is kept for each frame."""


class Frame(NamedTuple):
    """What bounds the years of the readings."""

    first: int
    last: int
    today: date
    near: int | None


Years = tuple[int, ...]
Dates = tuple[Years, tuple[Days, ...]]
"""What a proposal can mean: its calendar years, earlier ones first, and the days in each."""
Told = tuple[str, int, int, tuple[str, ...]]
"""Scheme or house, start, end and reasons of a proposal, which all its entries share."""
Run = tuple[float, int, int, int]
"""Entries of one proposal with the same odds: minus the odds of each; the place of the proposal;
the first of its dates that are meant, and the first behind them.

Minus the odds, because such tuples sort by falling odds. Where no year is likelier than another,
all entries of a proposal are one run, and few of them are ever looked at singly.
"""


class Outline:
    """What the odds of a token come to, whatever its numbers are.

    The runs that are not negligible stand by falling odds; those of equal odds in no order.
    """

    __slots__ = ("counts", "cut", "leads", "odds", "runs", "sums", "told", "total")

    def __init__(self, total: float, runs: Iterable[Run], told: Sequence[Told]) -> None:
        self.total = total
        """The sum of all odds, those left out included."""
        self.told = told
        """By the place of the proposal."""
        self.runs = sorted(runs)
        self.odds = [run[0] for run in self.runs]
        """Minus the odds of an entry, run by run."""
        self.sums = [0.0]
        """The sum of the odds of all entries in so many runs, the heaviest first."""
        self.counts = [0]
        """The number of entries in so many runs."""
        for odds, _, begin, end in self.runs:
            count = end - begin
            self.sums.append(self.sums[-1] - odds * count)
            self.counts.append(self.counts[-1] + count)
        self.leads = [run for run in self.runs if run[0] == self.odds[0]]
        """The heaviest runs."""
        self.cut: dict[tuple[tuple[int, ...], tuple[int, ...]], Outline] = {}
        """The outline where so many dates of each proposal are far too early, and so many early."""


Spread = tuple[Outline, Sequence[Years], Sequence[Sequence[Days]], int]
"""What a token comes to: its outline; the years and the days of each proposal; the first year."""


Kind = tuple[tuple[Manner, ...], int, tuple[int | Years, ...], tuple[int, ...]]
"""All that an outline depends on: the manners of the proposals; the flags; of each proposal how
many dates it has, or its years where these are not equally likely; for every date a number that all
of the same days share, or none where no two dates are of the same days."""


class Outlook(NamedTuple):
    """What a frame makes of years and cycles, and what was worked out in it."""

    frame: Frame
    closeness: Mapping[int, float]
    closest: float
    is_flat: bool
    """Whether all years are equally likely."""
    dates: Mapping[When, Dates]
    spreads: Mapping[tuple[str, int], Spread]
    """By token and flags, without the circumstances that all its entries share."""
    outlines: Mapping[Kind, Outline]


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


def share_of_cycle(cycle: int, first: int, last: int) -> float:
    """What one calendar year takes of a proposal whose year repeats within the years allowed."""
    years = last - since(cycle, first) + 1
    return min(1.0, cycle / years) if cycle and years > 1 else 1.0


@lru_cache(maxsize=64)
def outlook(frame: Frame) -> Outlook:
    """The outlook in a frame; the same one each time, until ``forget``."""
    closeness = nearness(frame.near, frame.first, frame.last)
    closest = max(closeness.values(), default=1.0)
    dates = Kept(partial(dated, frame), _MOST_KEPT)
    spreads: dict[tuple[str, int], Spread] = Kept(lambda key: _of_token(key, view), _MOST_KEPT)
    outlines: dict[Kind, Outline] = Kept(lambda kind: _outline(kind, view), _MOST_KEPT)
    view = Outlook(frame, closeness, closest, frame.near is None, dates, spreads, outlines)
    return view


def dated(frame: Frame, when: When) -> Dates:
    """The calendar years and days that a proposal can mean; nothing later than today."""
    year, cycle, unit, number, until = when
    first, last, today, _ = frame
    years = calendar_years(year, cycle, first, last)
    days = days_of_run(unit, years, number, until) if until else PARTS[unit](years, number)
    latest = today.toordinal()
    if years and (ABSENT in days or days[-1][0] > latest):
        held = [one for one in zip(years, days, strict=True) if one[1][0] <= latest]
        return tuple([one for one, _ in held]), tuple([one for _, one in held])
    return years, days


def used_by(house: House, dates: Dates) -> Dates:
    """The dates in the years in which a house used its scheme."""
    years, days = dates
    begin = bisect_left(years, house.first or 0)
    end = bisect_left(years, (house.last or _NEVER) + 1)
    return years[begin:end], days[begin:end]


_NEVER = 9999
"""A year that is later than any."""


def _of_token(key: tuple[str, int], view: Outlook) -> Spread:
    text, flags = key
    _, _, _, manners, whens = met[text]
    return spread(manners, [*map(view.dates.__getitem__, whens)], view, flags)


def spread(
    manners: tuple[Manner, ...], dates: Iterable[Dates], view: Outlook, flags: int = 0
) -> Spread:
    """Proposals spread over the dates that each can mean, those of the same days made one."""
    years, days, earliest = [], [], _NEVER
    for these_years, these_days in dates:
        years.append(these_years)
        days.append(these_days)
        if these_years and these_years[0] < earliest:
            earliest = these_years[0]
    likeness: tuple[int | Years, ...] = tuple(map(len, years)) if view.is_flat else tuple(years)
    twins = () if len(days) == 1 or are_apart(days) else _twins(days)
    # Tuples of numbers, which the garbage collector need not look through.
    return view.outlines[manners, flags, likeness, twins], tuple(years), tuple(days), earliest


def are_apart(days: Sequence[Collection[Hashable]]) -> bool:
    """Whether no two entries have the same days, so that none become one."""
    return len(set().union(*days)) == sum(map(len, days))


def _twins(days: Sequence[Sequence[Days]]) -> tuple[int, ...]:
    """For each date a number, which all that have the same days share."""
    numbers: dict[Days, int] = {}
    return tuple([numbers.setdefault(one, len(numbers)) for one in chain.from_iterable(days)])


def _outline(kind: Kind, view: Outlook) -> Outline:
    """The outline of the tokens of a kind.

    Negligible entries are left out, apart from the best of each form where the token is all that
    is marked.
    """
    manners, flags, likeness, twins = kind
    counts = [one if isinstance(one, int) else len(one) for one in likeness]
    numbers = twins or range(sum(counts))
    days = [
        numbers[end - count : end] for count, end in zip(counts, accumulate(counts), strict=True)
    ]
    every_form = bool(flags & ONLY)
    weighed = [_weighed(manner, view, flags) for manner in manners]
    total = 0.0
    runs: list[Run] = []
    for share, place in sorted((share, place) for place, (share, _) in enumerate(weighed)):
        if -share * view.closest < NEGLIGIBLE * total / 4 and not every_form:
            break
        some = _runs(share, place, likeness[place], view.closeness)
        runs += some
        total -= sum([odds * (end - begin) for odds, _, begin, end in some])
    if not are_apart([days[place][begin:end] for _, place, begin, end in runs]):
        runs = _joined(runs, days)
    least = NEGLIGIBLE * total / 2
    best = _best_of_forms(runs, manners) if every_form else {}
    told = [run for run in runs if -run[0] > least or run[0] == best.get(manners[run[1]][0])]
    return Outline(total, told, [one for _, one in weighed])


def _runs(
    share: float, place: int, likeness: int | Years, closeness: Mapping[int, float]
) -> list[Run]:
    """The entries of a proposal: one run of so many, or each of its years by itself."""
    if isinstance(likeness, int):
        return [(share, place, 0, likeness)] if likeness else []
    return [
        (share * closeness[year], place, number, number + 1) for number, year in enumerate(likeness)
    ]


def _weighed(manner: Manner, view: Outlook, flags: int) -> tuple[float, Told]:
    """Minus the odds of a proposal in each year, nearness apart, and what is told of it."""
    name, keys, start, end, cycle, factor = manner
    keys += special(name, flags)
    odds = odds_of(keys) * share_of_cycle(cycle, view.frame.first, view.frame.last)
    scheme = name if name.startswith("house: ") else name.partition(".")[0]
    return -odds * factor, (scheme, start, end, reasons_of(keys))


def _joined(runs: Sequence[Run], of_each: Sequence[Sequence[int]]) -> list[Run]:
    """Every entry a run of its own, those of the same days made one.

    It goes under the name of the weightiest.
    """
    by_days: dict[int, Run] = {}
    heaviest: dict[int, float] = {}
    for odds, place, begin, end in runs:
        for number in range(begin, end):
            days = of_each[place][number]
            entry = (odds, place, number, number + 1)
            known = by_days.get(days)
            if known is None:
                by_days[days] = entry
                continue
            heavy = heaviest.get(days, known[0])
            heaviest[days] = min(odds, heavy)
            named = entry if odds < heavy else known
            by_days[days] = (odds + known[0], *named[1:])
    return list(by_days.values())


def _best_of_forms(runs: Sequence[Run], manners: Sequence[Manner]) -> dict[str, float]:
    """Minus the odds of the weightiest entry of each form."""
    best: dict[str, float] = {}
    for odds, place, _, _ in runs:
        form = manners[place][0]
        best[form] = min(odds, best.get(form, 0.0))
    return best


def bounded(some: Spread, floor: int) -> Spread:
    """A spread of which the entries before a year are too early."""
    outline, years, days, earliest = some
    if earliest >= floor:
        return some
    early = tuple(map(bisect_left, years, repeat(floor)))
    far = tuple(map(bisect_left, years, repeat(floor - _FAR)))
    cut = outline.cut.get((far, early))
    if cut is None:
        cut = outline.cut[far, early] = _cut(outline, far, early)
    return cut, years, days, earliest


_FAR = 5
"""Years before the first by which a date is far too early: first years are from memory."""
_TOO_EARLY, _FAR_TOO_EARLY = ("@too_early",), ("@too_early", "@far_too_early")


def too_early(year: int, floor: int) -> tuple[str, ...]:
    """The circumstances of a date before the first year."""
    if year >= floor:
        return ()
    return _TOO_EARLY if year >= floor - _FAR else _FAR_TOO_EARLY


def _cut(outline: Outline, far: Sequence[int], early: Sequence[int]) -> Outline:
    """The outline where so many dates of each proposal are far too early, and so many early."""
    less = odds_of(_FAR_TOO_EARLY), odds_of(_TOO_EARLY), 1.0
    runs: list[Run] = []
    lost = 0.0
    for odds, place, begin, end in outline.runs:
        first = begin
        for share, until in zip(less, (far[place], early[place], end), strict=True):
            last = min(max(first, until), end)
            if first < last:
                runs.append((odds * share, place, first, last))
                lost -= odds * (last - first) * (1 - share)
            first = last
    return Outline(outline.total - lost, runs, outline.told)
