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

from bisect import bisect_right
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from datetime import date
from functools import lru_cache, partial

from provenance.markings import spreading, surroundings, weights
from provenance.markings.explaining import LONGEST, explain
from provenance.markings.houses import House
from provenance.markings.kept import Kept
from provenance.markings.periods import FIRST_YEAR, LAST_YEAR, Days
from provenance.markings.quantities import is_value_code
from provenance.markings.reading import MOST_READINGS, MarkingReading, Reading
from provenance.markings.shapes import Manner
from provenance.markings.spreading import (
    NEGLIGIBLE,
    Frame,
    Outlook,
    Spread,
    bounded,
    outlook,
    spread,
    used_by,
)
from provenance.markings.surroundings import GAP, Layout, layout_of, special
from provenance.markings.tokens import FAMILY_SLACK, When, look, look_across, plain

__all__ = [
    "FAMILY_SLACK",
    "LONGEST",
    "MOST_READINGS",
    "forget",
    "read_date_code",
    "read_marking",
    "read_markings",
]

_MOST_KEPT, _MOST_MET = 2048, 8192
"""Markings whose readings are kept for each frame, and markings of which is known that they were
met."""


Floors = tuple[int, int, int]
"""The latest first year of a family or design, its place, and the latest of the others.

No date comes before a first year, if families and design years are right; but a token that is
itself read as the date says nothing of a family. The place is -1 for a design.
"""
_COINCIDENCE = 3
"""Years before its own family's first by which a token may be a date all the same: nobody marks a
chip with a date that later becomes the number of a part, so where it seems so it is the part."""
_LABEL = 3
"""Years by which a memory may be older than the notice on its label: stock for programming."""


def floors_of(layout: Layout) -> Floors:
    """What bounds the years of the dates in a marking."""
    _, _, _, met, years, plan = layout
    at, latest, other = -1, 0, 0
    if years:
        latest = other = max(years.values()) - _LABEL * plan.is_memory
    for place in plan.bounds:
        year = met[place][1]
        if year > latest:
            latest, at, other = year, place, latest
        elif year > other:
            other = year
    return latest, at, other


Placed = tuple[int, Manner, When, House | None]
"""A proposal that is not of one token alone: the place of the token in which it begins; how it is
written, positions in that token; when it would be; its house, if that is a user's."""


def floor_of(floors: Floors, place: int) -> int:
    """The year before which a date in a token is too early."""
    latest, at, other = floors
    return max(other, latest - _COINCIDENCE) if place == at else latest


def candidates(
    layout: Layout, others: Iterable[Placed]
) -> Iterator[tuple[int, tuple[str, ...], float, When]]:
    """Every proposal: its place, the names of its weights, its factor, and when it would be."""
    for place, flags, shared, *_ in layout.plan.spots:
        _, _, _, manners, whens = layout.met[place]
        for manner, when in zip(manners, whens, strict=True):
            keys = manner[1] + special(manner[0], flags) + shared
            yield place, keys, manner[-1], when
    for place, manner, when, _ in others:
        yield place, manner[1], manner[-1], when


def against(layout: Layout, others: Sequence[Placed]) -> tuple[str, ...]:
    """Circumstances that speak for 'no date here', where anything speaks for one."""
    return layout.plan.against if layout.plan.spots or others else ()


def forget() -> None:
    """Empty what is kept of earlier readings: needed when the weights are changed."""
    weights.odds_of.cache_clear()
    surroundings.forget()
    spreading.forget()
    _readings.cache_clear()


def others_of(layout: Layout, houses: Sequence[House] = ()) -> Sequence[Placed]:
    """Proposals that are not of one token alone."""
    plan = layout.plan
    others: list[Placed] = []
    for place, keys in plan.ends:
        others += _across(layout, place, keys)
    if plan.is_cell:
        others += _from_spreadsheet(layout.texts[0])
    for house in houses:
        others += _from_house(house, layout.texts)
    return others


def _across(layout: Layout, place: int, keys: tuple[str, ...]) -> Iterator[Placed]:
    """Proposals that span two or three tokens ending at a place."""
    for count in (2, 3):
        begin = place - count + 1
        if begin < 0 or begin in layout.copyright_years or layout.line(begin) != layout.line(place):
            return
        texts = tuple(layout.texts[begin : place + 1])
        if len(texts[0]) > 9 or not (offers := look_across(texts)):
            continue
        starts = layout.starts()
        end = starts[place] + len(texts[-1]) - starts[begin]
        parts = layout.plan.parts
        before = ("@part_before",) if parts and parts[0] < begin else ()
        for offer in offers:
            shared = (offer.form, "@gap", *keys, *before, *special(offer.form, GAP))
            yield begin, (offer.form, shared, offer.start, end, offer.cycle, 1.0), offer[3:], None


def _from_spreadsheet(text: str) -> Iterator[Placed]:
    """Proposals for a whole cell that a spreadsheet has taken for a number."""
    figures = text.removesuffix(".0")
    if figures != text and len(figures) != 4:  # Four figures are read beside a part as well.
        for (form, own, start, end, cycle, factor), when in zip(*look(figures).offers, strict=True):
            keys = (*own, "@only", "@spreadsheet")
            yield 0, (form, keys, start, end, cycle, factor), when, None
    if len(figures) == 3:
        value = ("@value_alone",) if is_value_code(figures) else ()
        for (form, own, _, _, cycle, factor), when in zip(*look("0" + figures).offers, strict=True):
            if own in (("year_week",), ("year_month",)):
                keys = (*own, "@only", "@lost_zero", *value)
                yield 0, (form, keys, 0, 3, cycle, factor), when, None


def _from_house(house: House, texts: Sequence[str]) -> Iterator[Placed]:
    for place, text in enumerate(texts):
        for offer in house.propose(text.upper()):
            name = f"house: {house.name}"
            manner = (name, ("house",), offer.start, offer.end, offer.cycle, 1.0)
            yield place, manner, offer[3:], house


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
    return readings_in(_frame(near, years, today), houses)[marking]


def read_date_code(
    code: str,
    *,
    years: tuple[int, int] | None = None,
    today: date | None = None,
    houses: Sequence[House] = (),
) -> MarkingReading:
    """Read what is known to be a date code, as of a bare board: as if the word DATE stood before.

    >>> read_marking("7820").best is None, str(read_date_code("7820").best.first)
    (True, '1978-05-14')
    """
    return read_marking(f"DATE {code}", years=years, today=today, houses=houses)


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
    return map(readings_in(_frame(near, years, today), houses).__getitem__, markings)


def _frame(near: int | None, years: tuple[int, int] | None, today: date | None) -> Frame:
    today = today or date.today()
    first, last = years or (1960, today.year)
    return Frame(max(first, FIRST_YEAR), min(last, today.year, LAST_YEAR), today, near)


class _Readings(Kept[str, MarkingReading]):
    """The reading of each marking, kept from the second time on.

    Many a long list holds no marking twice. To keep the readings of such a list would fill the
    processor's cache with what nobody asks for.
    """

    def __init__(self, read: Callable[[str], MarkingReading]) -> None:
        super().__init__(read, _MOST_KEPT)
        self._met: set[str] = set()

    def __missing__(self, marking: str) -> MarkingReading:
        if marking in self._met:
            return super().__missing__(marking)
        if len(self._met) >= _MOST_MET:
            self._met.clear()
        self._met.add(marking)
        return self._work_out(marking)


def readings_in(frame: Frame, houses: Sequence[House]) -> Mapping[str, MarkingReading]:
    """The reading of each marking. Some lists hold the same marking many times."""
    return _readings_with(frame, tuple(houses)) if houses else _readings(frame)


def _readings_with(frame: Frame, houses: tuple[House, ...]) -> Mapping[str, MarkingReading]:
    return _Readings(partial(_read, outlook(frame), houses))


@lru_cache(maxsize=64)
def _readings(frame: Frame) -> Mapping[str, MarkingReading]:
    """The same each time in one frame, until ``forget``."""
    return _readings_with(frame, ())


Weighed = tuple[Spread, float, int, tuple[str, ...]]
"""The spread of a token or proposal; what its odds are multiplied by; its place; the reasons that
its entries share."""
Telling = tuple[Spread, float, int, tuple[str, ...], int]
"""What is weighed and has an entry to tell, and how many of its runs are told."""
Basis = tuple[Layout, float, list[Telling]]
"""What readings are made from: the layout, the sum of all odds, what is told."""


def _read(view: Outlook, houses: tuple[House, ...], marking: str) -> MarkingReading:
    layout = layout_of(plain(marking[:LONGEST]))
    _, texts, _, met, _, plan = layout
    spots, ends, _, total, _, _, is_cell, _ = plan
    floors = floors_of(layout)
    latest = floors[0]
    weighed: list[Weighed] = []
    spreads = view.spreads
    for place, flags, _, scale, reasons in spots:
        some = spreads[texts[place], flags & met[place][2]]
        if some[3] < latest:
            some = bounded(some, floor_of(floors, place))
        total += scale * some[0].total
        weighed.append((some, scale, place, reasons))
    if ends or is_cell or houses:
        for place, manner, when, house in others_of(layout, houses):
            dates = used_by(house, view.dates[when]) if house else view.dates[when]
            some = bounded(spread((manner,), (dates,), view), floor_of(floors, place))
            total += some[0].total
            weighed.append((some, 1.0, place, ()))
    if not weighed:
        total = 1.0
    # Where the code is all there is, every form keeps its best reading, however improbable.
    least = NEGLIGIBLE * total if len(texts) > 1 else 0.0
    told, number = 0.0, 0
    telling: list[Telling] = []
    for some, scale, place, reasons in weighed:
        outline = some[0]
        runs = bisect_right(outline.odds, -least / scale)
        if runs:
            told += outline.sums[runs] * scale
            number += outline.counts[runs]
            telling.append((some, scale, place, reasons, runs))
    if number > MOST_READINGS:
        told = -sum([entry[0] for entry in _merged(telling)[:MOST_READINGS]])
    no_date = max(0.0, 1.0 - told / total)
    basis = (layout, total, telling)
    return MarkingReading.given_later(marking, no_date, explain, _unfold, basis)


def _unfold(marking: str, basis: Basis, most: int) -> tuple[Reading, ...]:
    """The first so many readings of a marking."""
    telling = basis[2]
    if most == 1 and telling:
        if len(telling) == 1:
            return (_told(marking, basis, _leading(telling[0])),)
        if _are_apart(telling):
            return (_told(marking, basis, min(map(_leading, telling), key=_rank)),)
    return tuple([_told(marking, basis, entry) for entry in _merged(telling)[:most]])


def _told(marking: str, basis: Basis, entry: Entry) -> Reading:
    """The reading that an entry comes to."""
    layout, total, _ = basis
    odds, first, last, (scheme, place, start, end, why) = entry
    token = layout.start(place)
    start += token
    end += token
    text, probability = marking[start:end], -odds / total
    fields = (scheme, text, _day[first], _day[last], probability, start, end, why)
    return tuple.__new__(Reading, fields)  # Half the time of Reading(...).


_day = Kept(date.fromordinal, 16384)
"""The days of a long list come again."""


Entry = tuple[float, int, int, tuple[str, int, int, int, tuple[str, ...]]]
"""Minus the odds; ordinals of the first and last day; scheme, place of the token, start and end in
it, reasons."""


_MIDDLE = date(1985, 7, 1).toordinal()
"""Of equally probable days, those nearest to this one come first: most coded parts that reach the
bench are of about then. Common practice; the probabilities know nothing of it."""


def _rank(entry: Entry) -> tuple[float, int, int]:
    """By what entries are put in order."""
    odds, first, *_ = entry
    return odds, abs(first - _MIDDLE), first


def _leading(one: Telling) -> Entry:
    """The first entry of a token."""
    (outline, _, days, _), scale, place, reasons, _ = one
    leads = outline.leads
    if len(leads) == 1:
        odds, of, begin, end = leads[0]
        some = days[of]
        first, last = some[begin] if end - begin == 1 else _middlemost(some, begin, end)
    else:
        odds = leads[0][0]
        heads = [(_middlemost(days[of], begin, end), of) for _, of, begin, end in leads]
        (first, last), of = min(heads, key=_from_middle)
    scheme, start, end, why = outline.told[of]
    return odds * scale, first, last, (scheme, place, start, end, why + reasons)


def _middlemost(days: Sequence[Days], begin: int, end: int) -> Days:
    """Of some days in order, those that come first where all are equally probable."""
    at = bisect_right(days, (_MIDDLE, 0), begin, end)
    if at == end or (at > begin and _MIDDLE - days[at - 1][0] <= days[at][0] - _MIDDLE):
        at -= 1
    return days[at]


def _from_middle(head: tuple[Days, int]) -> tuple[int, Days, int]:
    return abs(head[0][0] - _MIDDLE), *head


def _are_apart(telling: Sequence[Telling]) -> bool:
    """Whether no two tokens tell an entry of the same days."""
    told: list[Days] = []
    for (outline, _, days, _), _, _, _, runs in telling:
        for _, of, begin, end in outline.runs[:runs]:
            told += days[of][begin:end]
    return len(set(told)) == len(told)


def _merged(telling: Sequence[Telling]) -> list[Entry]:
    """The entries of all tokens by rank.

    Entries of the same days become one, under the name of the weightiest.
    """
    by_days: dict[Days, Entry] = {}
    for one in telling:
        for entry in _entries(one):
            days = entry[1:3]
            known = by_days.get(days)
            by_days[days] = _joined(entry, known) if known else entry
    return sorted(by_days.values(), key=_rank)


def _joined(entry: Entry, other: Entry) -> Entry:
    """Two entries of the same days as one, under the name of the weightier."""
    heavy = entry if entry[0] < other[0] else other
    return (entry[0] + other[0], *heavy[1:])


def _entries(one: Telling) -> Iterator[Entry]:
    """The entries of a token that are told."""
    (outline, _, days, _), scale, place, reasons, runs = one
    for odds, of, begin, end in outline.runs[:runs]:
        scheme, first, last, why = outline.told[of]
        told = (scheme, place, first, last, why + reasons)
        for first_day, last_day in days[of][begin:end]:
            yield odds * scale, first_day, last_day, told
