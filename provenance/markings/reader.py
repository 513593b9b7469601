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

from collections.abc import Iterable, Iterator, Sequence
from datetime import date
from typing import NamedTuple

from provenance.markings.explaining import LONGEST, explain, reasons
from provenance.markings.houses import House
from provenance.markings.reading import MarkingReading, Reading
from provenance.markings.spreading import (
    NEGLIGIBLE,
    Candidate,
    Days,
    Entry,
    Frame,
    bounded,
    candidates_of,
    forget,
    odds_of,
    spread,
    spread_token,
)
from provenance.markings.surroundings import FAMILY_SLACK, Layout, layout_of
from provenance.markings.tokens import look, look_across, plain

__all__ = [
    "FAMILY_SLACK",
    "LONGEST",
    "MOST_READINGS",
    "Found",
    "find",
    "forget",
    "read_marking",
    "read_markings",
]

MOST_READINGS = 60


class Found(NamedTuple):
    """Everything about a marking that bears on its date, before any weighing."""

    layout: Layout
    others: Sequence[tuple[int, Candidate]]
    """Candidates of more than one token, of spreadsheets and of houses, with their place."""
    floors: dict[int, int]
    """First years of families by the place of their token: no date elsewhere comes before them."""

    @property
    def none_keys(self) -> tuple[str, ...]:
        """Circumstances that speak for 'no date here'."""
        plan = self.layout.plan
        return plan.against if plan.spots or self.others else ()

    def floor(self, place: int) -> int:
        """No date at this place comes before this year, if families and design years are right.

        A token that is itself read as the date says nothing of a family.
        """
        years = list(self.layout.copyright_years.values())
        years += [year for at, year in self.floors.items() if at != place]
        return max(years, default=0)

    def candidates(self) -> Iterator[tuple[int, Candidate]]:
        """Every candidate with its place, positions in the marking."""
        layout = self.layout
        for place, keys, flags in layout.plan.spots:
            shift = layout.starts[place]
            for one in candidates_of(layout.texts[place], flags):
                start, end = one.start + shift, one.end + shift
                yield place, one._replace(start=start, end=end, keys=one.keys + keys)
        yield from self.others


def find(text: str, houses: tuple[House, ...] = ()) -> Found:
    """The tokens of a plain text, and every candidate for its date code."""
    layout = layout_of(text)
    plan = layout.plan
    others: Sequence[tuple[int, Candidate]] = ()
    if plan.ends or plan.is_cell or houses:
        others = list(_others(layout, houses))
    floors = {place: _first_year(layout, place) for place in plan.bounded}
    return Found(layout, others, floors)


def _first_year(layout: Layout, place: int) -> int:
    family = layout.looks[place].family
    return (family.family.first_made or 0) - FAMILY_SLACK if family else 0


def _others(layout: Layout, houses: Iterable[House]) -> Iterator[tuple[int, Candidate]]:
    """Candidates that are not of one token alone."""
    for place, keys in layout.plan.ends:
        yield from _across(layout, place, keys)
    if layout.plan.is_cell:
        for one in _from_spreadsheet(layout.texts[0], layout.starts[0]):
            yield 0, one
    for house in houses:
        yield from _from_house(house, layout)


def _across(layout: Layout, place: int, keys: tuple[str, ...]) -> Iterator[tuple[int, Candidate]]:
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
            yield begin, Candidate(offer, starts[begin] + offer.start, end, shared, 1.0)


def _from_spreadsheet(text: str, start: int) -> Iterator[Candidate]:
    """Candidates for a whole cell that a spreadsheet has taken for a number."""
    figures = text.removesuffix(".0")
    if figures != text:
        for offer, own, factor in look(figures).offers:
            keys = (offer.form, *own, "@only", "@spreadsheet")
            yield Candidate(offer, start + offer.start, start + offer.end, keys, factor)
    if len(figures) == 3:
        for offer, own, factor in look("0" + figures).offers:
            if offer.form in ("year_week", "year_month") and not own:
                keys = (offer.form, "@only", "@lost_zero")
                yield Candidate(offer, start, start + 3, keys, factor)


def _from_house(house: House, layout: Layout) -> Iterator[tuple[int, Candidate]]:
    for place, (text, start) in enumerate(zip(layout.texts, layout.starts, strict=True)):
        for offer in house.propose(text.upper()):
            begin, end = start + offer.start, start + offer.end
            yield place, Candidate(offer, begin, end, ("house",), 1.0, house)


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
    return _read(marking, _frame(near, years, today), tuple(houses))


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
    frame, schemes = _frame(near, years, today), tuple(houses)
    return (_read(marking, frame, schemes) for marking in markings)


def _frame(near: int | None, years: tuple[int, int] | None, today: date | None) -> Frame:
    today = today or date.today()
    first, last = years or (1960, today.year)
    return Frame(first, min(last, today.year), today, near)


class Weighed(NamedTuple):
    """The entries of a token or of a candidate in their place."""

    entries: list[Entry]
    scale: float
    """What the odds of the entries are multiplied by."""
    shift: int
    """Where their token begins."""
    keys: tuple[str, ...]
    """The circumstances that all of them share."""


def _read(marking: str, frame: Frame, houses: tuple[House, ...]) -> MarkingReading:
    found = find(plain(marking[:LONGEST]), houses)
    total, weighed = _weigh(found, frame)
    # Where the code is all there is, every form keeps its best reading, however improbable.
    least = NEGLIGIBLE * total if len(found.layout.texts) > 1 else 0.0
    readings = [
        Reading(scheme, marking[start:end], first, last, -odds / total, start, end, why)
        for odds, first, last, _, start, end, scheme, why in _merged(weighed, least)
    ]
    no_date = 1.0
    for one in readings:
        no_date -= one.probability
    return MarkingReading(marking, (), tuple(readings), max(0.0, no_date), explain=explain)


def _weigh(found: Found, frame: Frame) -> tuple[float, list[Weighed]]:
    """The sum of all odds, 'no date here' included, and what every token and candidate has."""
    layout = found.layout
    is_bounded = bool(found.floors or layout.copyright_years)
    total = odds_of(found.none_keys)
    weighed = []
    for place, keys, flags in layout.plan.spots:
        scale = odds_of(keys)
        some = spread_token(layout.texts[place], flags, frame)
        if is_bounded:
            some = bounded(some, found.floor(place))
        total += scale * some.total
        weighed.append(Weighed(some.entries, scale, layout.starts[place], keys))
    for place, candidate in found.others:
        some = bounded(spread((candidate,), frame), found.floor(place))
        total += some.total
        weighed.append(Weighed(some.entries, 1.0, 0, ()))
    return total, weighed


def _merged(weighed: Sequence[Weighed], least: float) -> list[Entry]:
    """The entries of all tokens by falling odds, earlier dates first where odds are equal.

    Entries of the same days become one, under the name of the weightiest. Those with odds below
    ``least`` are left out.
    """
    telling = [one for one in weighed if one.entries and -one.entries[0][0] * one.scale >= least]
    if len(telling) == 1:
        return _placed(telling[0], least)[:MOST_READINGS]
    chief: dict[Days, Entry] = {}
    for one in telling:
        for entry in _placed(one, least):
            known = chief.get(entry[1:3])
            chief[entry[1:3]] = _joined(entry, known) if known else entry
    return sorted(chief.values())[:MOST_READINGS]


def _joined(entry: Entry, other: Entry) -> Entry:
    """Two entries of the same days as one, under the name of the weightier."""
    heavy = entry if entry[0] < other[0] else other
    return (entry[0] + other[0], *heavy[1:])


def _placed(one: Weighed, least: float) -> list[Entry]:
    """The entries of a token with their odds and positions in the marking."""
    _, scale, shift, keys = one
    shared = reasons(keys)
    return [
        (bare * scale, first, last, year, start + shift, end + shift, scheme, why + shared)
        for bare, first, last, year, start, end, scheme, why in one.entries
        if -bare * scale >= least
    ]
