"""From the characters of a marking to its readings, with probabilities.

Knows how the dates that the tokens of a marking could be compete with each other and with 'no date
here'. Leaves to ``tokens`` what one token is by itself, to ``surroundings`` what stands around it,
to ``schemes`` how dates are written, to ``spreading`` and ``weights`` odds and years, to
``explaining`` the words, and to the board's inference all that the other parts say.

The model: at most one of the proposals is the marking's date code, or none is. Each has odds
against 'no date here', the product of the weight of its form and of the circumstances it stands
in (``weights.csv``). A proposal whose year is open spreads over the years that it allows: each
keeps the odds of the proposal divided by the number of cycles in ``years``, so that a code that
fits seven decades gains nothing by it. All odds are stated under a prior that is flat over
``years``; ``near`` multiplies them by how much likelier each year is than under the flat prior.
"""

from __future__ import annotations

from bisect import bisect_left
from collections.abc import Iterable, Iterator, Sequence
from datetime import date

from provenance.markings import spreading, surroundings, weights
from provenance.markings.explaining import LONGEST, explain
from provenance.markings.houses import House
from provenance.markings.reading import MOST_READINGS, MarkingReading, Reading
from provenance.markings.spreading import (
    NEGLIGIBLE,
    Candidate,
    Days,
    Frame,
    Outlook,
    Run,
    Spread,
    are_apart,
    candidates_of,
    outlook,
    spread,
    spread_token,
)
from provenance.markings.surroundings import Layout, layout_of
from provenance.markings.tokens import FAMILY_SLACK, look, look_across, plain
from provenance.markings.weights import odds_of

__all__ = [
    "FAMILY_SLACK",
    "LONGEST",
    "MOST_READINGS",
    "forget",
    "read_marking",
    "read_markings",
]

_MOST_KEPT = 2048
"""Markings whose readings are kept for each frame."""


Floors = tuple[int, int, int]
"""The latest first year of a family or design, its place, and the latest of the others.

No date comes before a first year, if families and design years are right; but a token that is
itself read as the date says nothing of a family. The place is -1 for a design.
"""


def floors_of(layout: Layout) -> Floors:
    """What bounds the years of the dates in a marking."""
    at, latest, other = -1, 0, 0
    if layout.copyright_years:
        latest = other = max(layout.copyright_years.values())
    for place in layout.plan.parts:
        year = layout.met[place][1]
        if year > latest:
            latest, at, other = year, place, latest
        elif year > other:
            other = year
    return latest, at, other


Placed = tuple[int, Candidate]
"""The place of a token, and a candidate that begins there."""


def candidates(layout: Layout, others: Iterable[Placed]) -> Iterator[Placed]:
    """Every candidate with its place, positions in the marking."""
    for place, flags, shared, *_ in layout.plan.spots:
        shift = layout.starts[place]
        for offer, start, end, keys, factor, house in candidates_of(layout.met[place][2], flags):
            yield place, (offer, start + shift, end + shift, keys + shared, factor, house)
    yield from others


def against(layout: Layout, others: Sequence[Placed]) -> tuple[str, ...]:
    """Circumstances that speak for 'no date here', where anything speaks for one."""
    return layout.plan.against if layout.plan.spots or others else ()


def forget() -> None:
    """Empty what is kept of earlier readings: needed when the weights are changed."""
    weights.odds_of.cache_clear()
    surroundings.forget()
    spreading.forget()


def others_of(layout: Layout, houses: Sequence[House] = ()) -> Sequence[Placed]:
    """Candidates that are not of one token alone."""
    plan = layout.plan
    if not (plan.ends or plan.is_cell or houses):
        return ()
    others: list[Placed] = []
    for place, keys in plan.ends:
        others += _across(layout, place, keys)
    if plan.is_cell:
        others += ((0, one) for one in _from_spreadsheet(layout.texts[0], layout.starts[0]))
    for house in houses:
        others += _from_house(house, layout)
    return others


def _across(layout: Layout, place: int, keys: tuple[str, ...]) -> Iterator[Placed]:
    """Candidates that span two or three tokens ending at a place."""
    starts = layout.starts
    for count in (2, 3):
        begin = place - count + 1
        if begin < 0 or begin in layout.copyright_years or layout.line(begin) != layout.line(place):
            return
        texts = tuple(layout.texts[begin : place + 1])
        if len(texts[0]) > 9 or not (offers := look_across(texts)):
            continue
        end = starts[place] + len(texts[-1])
        parts = layout.plan.parts
        before = ("@part_before",) if parts and parts[0] < begin else ()
        for offer in offers:
            shared = (offer.form, "@gap", *keys, *before)
            yield begin, (offer[:], starts[begin] + offer.start, end, shared, 1.0, None)


def _from_spreadsheet(text: str, start: int) -> Iterator[Candidate]:
    """Candidates for a whole cell that a spreadsheet has taken for a number."""
    figures = text.removesuffix(".0")
    if figures != text:
        for offer, begin, end, own, factor, _ in look(figures).offers:
            keys = (*own, "@only", "@spreadsheet")
            yield offer, start + begin, start + end, keys, factor, None
    if len(figures) == 3:
        for offer, _, _, own, factor, _ in look("0" + figures).offers:
            if own in (("year_week",), ("year_month",)):
                yield offer, start, start + 3, (*own, "@only", "@lost_zero"), factor, None


def _from_house(house: House, layout: Layout) -> Iterator[Placed]:
    for place, (text, start) in enumerate(zip(layout.texts, layout.starts, strict=True)):
        for offer in house.propose(text.upper()):
            begin, end = start + offer.start, start + offer.end
            yield place, (offer[:], begin, end, ("house",), 1.0, house)


def read_marking(
    marking: str,
    *,
    near: int | None = None,
    years: tuple[int, int] | None = None,
    today: date | None = None,
    houses: Sequence[House] = (),
) -> MarkingReading:
    """Read one marking: what it may say of a date, how probably, and why.

    ``near`` is a year that the part is thought to be from; it sharpens the decade softly.
    ``years`` bounds the readings (default 1960 to this year); nothing is read later than
    ``today``. ``houses`` are house schemes of the user's own. Never raises on any text; the cost
    is linear in its length, of which the first 4,000 characters are read.

    >>> reading = read_marking("SN7432N 7841")
    >>> reading.best.text, reading.best.scheme, str(reading.best.first)
    ('7841', 'year_week', '1978-10-08')
    >>> read_marking("SN7432N").best is None
    True
    """
    return _read(marking, outlook(_frame(near, years, today)), tuple(houses))


def read_markings(
    markings: Iterable[str],
    *,
    near: int | None = None,
    years: tuple[int, int] | None = None,
    today: date | None = None,
    houses: Sequence[House] = (),
) -> Iterator[MarkingReading]:
    """Read many markings, one after the other, as ``read_marking`` reads each.

    The day of reading is looked up once, for all of them.

    >>> [one.best.text for one in read_markings(["SN7432N 7841", "LM324N 8035A"])]
    ['7841', '8035']
    """
    view, schemes = outlook(_frame(near, years, today)), tuple(houses)
    return (_read(marking, view, schemes) for marking in markings)


def _frame(near: int | None, years: tuple[int, int] | None, today: date | None) -> Frame:
    today = today or date.today()
    first, last = years or (1960, today.year)
    return Frame(first, min(last, today.year), today, near)


Weighed = tuple[Spread, float, int, tuple[str, ...]]
"""The spread of a token or candidate; what its odds are multiplied by; where its token begins; the
reasons that its entries share."""

Kept = tuple[float, float, list[Weighed]]
"""What readings are made from: the sum of all odds, the least that is told, what is weighed and
has an entry to tell."""


def _read(marking: str, view: Outlook, houses: tuple[House, ...]) -> MarkingReading:
    if houses:
        return _read_anew(marking, view, houses)
    reading = view.readings.get(marking)
    if reading is None:
        if len(view.readings) >= _MOST_KEPT:
            view.readings.clear()
        reading = view.readings[marking] = _read_anew(marking, view, ())
    return reading


def _read_anew(marking: str, view: Outlook, houses: tuple[House, ...]) -> MarkingReading:
    layout = layout_of(plain(marking[:LONGEST]))
    total, weighed = _weigh(layout, others_of(layout, houses), view)
    # Where the code is all there is, every form keeps its best reading, however improbable.
    least = NEGLIGIBLE * total if len(layout.texts) > 1 else 0.0
    told, telling = _told(weighed, least)
    no_date = max(0.0, 1.0 - told / total)
    kept = (total, least, telling)
    return MarkingReading(marking, (), (), no_date, explain=explain, unfold=_unfold, kept=kept)


def _unfold(marking: str, kept: Kept, most: int) -> tuple[Reading, ...]:
    """The first so many readings of a marking."""
    total, least, telling = kept
    new = tuple.__new__  # Half the time of Reading(...).
    return tuple(
        [
            new(Reading, (scheme, marking[start:end], first, last, -odds / total, start, end, why))
            for odds, first, last, (scheme, start, end, why) in _merged(telling, least, most)
        ]
    )


def _weigh(layout: Layout, others: Sequence[Placed], view: Outlook) -> tuple[float, list[Weighed]]:
    """The sum of all odds, 'no date here' included, and what every token and candidate has."""
    texts, starts, _, met, _, plan = layout
    latest, at, other = floors_of(layout)
    total = plan.odds_against if plan.spots or others else 1.0
    weighed: list[Weighed] = []
    for place, flags, _, scale, reasons in plan.spots:
        _, _, offers, heeded = met[place]
        some = spread_token(texts[place], offers, flags & heeded, view)
        floor = other if place == at else latest
        if some[1] < floor:
            some = _cut_down(some, floor)
        total += scale * some[0]
        weighed.append((some, scale, starts[place], reasons))
    for place, candidate in others:
        some = spread((candidate,), view)
        floor = other if place == at else latest
        if some[1] < floor:
            some = _cut_down(some, floor)
        total += some[0]
        weighed.append((some, 1.0, 0, ()))
    return total, weighed


_TOO_EARLY = ("@too_early",)


def _cut_down(some: Spread, floor: int) -> Spread:
    """A spread of which the entries before a year are too early."""
    total, earliest, runs, told, count = some
    less = odds_of(_TOO_EARLY)
    cut: list[Run] = []
    lost = 0.0
    for run in runs:
        odds, years, days, of_candidate = run
        if years[0] >= floor:
            cut.append(run)
            continue
        early = bisect_left(years, floor)
        lost -= odds * early
        cut.append((odds * less, years[:early], days[:early], of_candidate))
        if early < len(years):
            cut.append((odds, years[early:], days[early:], of_candidate))
    cut.sort()
    lost *= 1 - less
    return total - lost, earliest, tuple(cut), told - lost, count


def _told(weighed: Sequence[Weighed], least: float) -> tuple[float, list[Weighed]]:
    """The sum of the odds of all readings, without making them, and what these are made from."""
    told, number = 0.0, 0
    telling = []
    for one in weighed:
        (_, _, runs, of_entries, count), scale, _, _ = one
        if not runs or -runs[0][0] * scale < least:
            continue
        telling.append(one)
        if -runs[-1][0] * scale >= least:
            told += of_entries * scale
            number += count
            continue
        for minus, years, _, _ in runs:
            odds = -minus * scale
            if odds < least:
                break
            told += odds * len(years)
            number += len(years)
    if number > MOST_READINGS:
        told = -sum([entry[0] for entry in _merged(telling, least, MOST_READINGS)])
    return told, telling


Dated = tuple[float, date, date, tuple[str, int, int, tuple[str, ...]]]
"""Minus the odds; first and last day; scheme, start and end in the marking, reasons."""


def _merged(telling: Sequence[Weighed], least: float, most: int) -> list[Dated]:
    """The first entries of all tokens by falling odds, earlier dates first where odds are equal.

    Entries of the same days become one, under the name of the weightiest. Those with odds below
    ``least`` are left out.
    """
    if most == 1 and len(telling) == 1:
        return [_leading(telling[0])]
    if most == 1 and are_apart([run[2] for one in telling for run in one[0][2]]):
        return sorted([_leading(one) for one in telling])[:1]
    by_days: dict[Days, Dated] = {}
    for one in telling:
        for entry in _placed(one, least):
            days = entry[1:3]
            known = by_days.get(days)
            by_days[days] = _joined(entry, known) if known else entry
    return sorted(by_days.values())[:most]


def _joined(entry: Dated, other: Dated) -> Dated:
    """Two entries of the same days as one, under the name of the weightier."""
    heavy = entry if entry[0] < other[0] else other
    return (entry[0] + other[0], *heavy[1:])


def _leading(one: Weighed) -> Dated:
    """The first entry of a token, with its odds and position in the marking."""
    (_, _, runs, *_), scale, shift, reasons = one
    bare, _, days, told = runs[0]
    for other, _, of_other, told_of_other in runs[1:]:
        if other > bare:
            break
        if of_other[0] < days[0]:
            days, told = of_other, told_of_other
    scheme, start, end, why, _ = told
    return bare * scale, *days[0], (scheme, start + shift, end + shift, why + reasons)


def _placed(one: Weighed, least: float) -> Iterator[Dated]:
    """The entries of a token with their odds and positions in the marking."""
    (_, _, runs, *_), scale, shift, reasons = one
    for bare, _, days, (scheme, start, end, why, _) in runs:
        odds = bare * scale
        if -odds < least:
            break
        in_marking = (scheme, start + shift, end + shift, why + reasons)
        for first, last in days:
            yield odds, first, last, in_marking
