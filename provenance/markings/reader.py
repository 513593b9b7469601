"""From the characters of a marking to its readings, with probabilities.

Knows how a marking falls into tokens, what surrounds a date, and how weights become
probabilities. Leaves to ``tokens`` what one token is by itself, to ``schemes`` how dates are
written, to ``weights`` the numbers, and to the board's inference all that the other parts say.

The model: at most one of the proposals is the marking's date code, or none is. Each has odds
against 'no date here', the product of the weight of its form and of the circumstances it stands
in (``weights.csv``). A proposal whose year is open spreads over the years that it allows: each
keeps the odds of the proposal divided by the number of cycles in ``years``, so that a code that
fits seven decades gains nothing by it. All odds are stated under a prior that is flat over
``years``; ``near`` multiplies them by how much likelier each year is than under the flat prior.
"""

from __future__ import annotations

import math
import re
from collections.abc import Iterable, Mapping, Sequence
from datetime import date
from functools import lru_cache
from typing import NamedTuple

from provenance.markings.houses import House
from provenance.markings.quantities import is_usual_value, is_value_code
from provenance.markings.reading import MarkingReading, Reading, Token
from provenance.markings.schemes import Proposal, all_schemes, calendar_years
from provenance.markings.tokens import Look, look, look_across, plain
from provenance.markings.weights import weights

LONGEST = 4000
"""Characters of a marking that are read; a whole data sheet is no marking."""
MOST_READINGS = 60
NEGLIGIBLE = 1e-3
"""Readings less probable than this are left out, and count with 'no date'."""
FAMILY_SLACK = 1
"""Years before a family's first-made year that are still allowed: the years are from memory."""
_NEAR_SCALE = 3.0
"""Years by which ``near`` may be off: the standard deviation of a normal curve."""
_NEAR_WRONG = 0.02
"""Probability that ``near`` says nothing: this share stays flat."""

_TOKEN = re.compile(
    r"\([CMPcmp]\)|[©®ⒸⓒⓂⓜ℗]|[^\s\x00-\x20\x7f-\xa0©®ⒸⓒⓂⓜ℗]+|[\n\v\f\r\x85\u2028\u2029]"
)
_BREAKS = frozenset("\n\v\f\r\x85\u2028\u2029/|")
_COPYRIGHT_YEAR = re.compile(r"(?:'?[5-9][0-9]|(?:19[5-9]|20[0-4])[0-9])[,.]?")


class Candidate(NamedTuple):
    """A proposal in its place: where it stands, and the names of the weights that it takes."""

    offer: Proposal
    start: int
    end: int
    keys: tuple[str, ...]
    factor: float
    house: House | None = None


_ONLY, _ALONE, _FIRST, _SUPPLY, _BEFORE_NUMBER = 1, 2, 4, 8, 16
"""Surroundings that mean something for some forms only: all that is marked, alone on its line,
first of several, beside a supply chip, before a number."""


class Frame(NamedTuple):
    """What bounds the years of the readings."""

    first: int
    last: int
    today: date
    near: int | None


Entry = tuple[float, date, date, int, int, int, str, tuple[str, ...]]
"""Minus the odds, first and last day, year, start, end, scheme, reasons.

A bare tuple, because thousands are made a second; minus the odds, because such tuples sort by
falling odds, earlier days first where odds are equal. Positions are in the token or the marking.
"""


class Spread(NamedTuple):
    """The readings of a token, or of a candidate, spread over the years."""

    total: float
    """The sum of the odds, those left out included."""
    earliest: int
    """The earliest year among the entries."""
    entries: Sequence[Entry]


class Spot(NamedTuple):
    """A token in its surroundings, in which at least one scheme sees a date."""

    text: str
    place: int
    start: int
    keys: tuple[str, ...]
    """Circumstances that every proposal in the token shares."""
    flags: int
    """Circumstances that mean something for some forms only."""


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


@lru_cache(maxsize=65536)
def _dated(
    core: tuple[int, int, str, int, int], first: int, last: int, today: date
) -> tuple[tuple[int, tuple[date, date]], ...]:
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


def dated(offer: Proposal, frame: Frame) -> tuple[tuple[int, tuple[date, date]], ...]:
    """The calendar years and days that a proposal can mean; nothing later than today."""
    return _dated(offer[3:], frame.first, frame.last, frame.today)


def _split(text: str) -> list[tuple[str, int, int]]:
    """The tokens with their offset and line."""
    found = []
    line = 0
    for match in _TOKEN.finditer(text):
        piece = match[0]
        if piece in _BREAKS:
            line += 1
        else:
            found.append((piece, match.start(), line))
    return found


def _surroundings(place: int, looks: Sequence[Look], lines: Sequence[int]) -> list[str]:
    """The circumstances of a token that come from its neighbours."""
    count = len(looks)
    keys = []
    if count == 1:
        keys.append("@only")
    elif place == count - 1:
        keys.append("@last")
    elif place == 0:
        keys.append("@first")
    if place:
        before = looks[place - 1].kind
        if before in _BEFORE:
            keys.append(_BEFORE[before])
    if place + 1 < count:
        behind = looks[place + 1]
        value = behind.kind == "unit" and (not behind.short or is_usual_value(looks[place].text))
        if behind.short and not value:
            keys.append("@before_single")
        elif value:
            keys.append("@before_unit")
        elif behind.kind == "country":
            keys.append("@before_country")
    if lines and lines.count(lines[place]) == 1:
        keys.append("@own_line")
    return keys


_BEFORE = {
    "lot word": "@after_lot_word",
    "revision word": "@after_revision_word",
    "country": "@after_country",
    "date word": "@after_date_word",
    "week word": "@after_week_word",
    "unit": "@after_unit",
}


class Found(NamedTuple):
    """Everything about a marking that bears on its date, before any weighing."""

    tokens: list[tuple[str, int, int]]
    looks: list[Look]
    copyright: dict[int, int]
    """Copyright years by the place of their token."""
    spots: list[Spot]
    others: list[tuple[int, Candidate]]
    """Candidates of more than one token, of spreadsheets and of houses, with their place."""
    none_keys: tuple[str, ...]
    """Circumstances that speak for 'no date here'."""
    floors: dict[int, int]
    """First years of families by the place of their token: no date elsewhere comes before them."""

    def floor(self, place: int) -> int:
        """No date at this place comes before this year, if families and design years are right.

        A token that is itself read as the date says nothing of a family.
        """
        if not self.floors and not self.copyright:
            return 0
        years = list(self.copyright.values())
        if place in self.floors:
            years += [year for at, year in self.floors.items() if at != place]
        else:
            years += self.floors.values()
        return max(years, default=0)

    def candidates(self) -> Iterable[tuple[int, Candidate]]:
        """Every candidate with its place, positions in the marking."""
        for spot in self.spots:
            for one in candidates_of(spot.text, spot.flags):
                start, end = one.start + spot.start, one.end + spot.start
                yield spot.place, one._replace(start=start, end=end, keys=one.keys + spot.keys)
        yield from self.others


def _beside_parts(place: int, piece: Look, known: Parts, count: int) -> list[str]:
    """The circumstances of a token that come from the part numbers of the marking."""
    keys = []
    if own_key := piece.own_key:
        certain = known.certain
        if certain and (len(certain) > 1 or place not in certain):
            own_key = _AGAIN.get(own_key, own_key)
        keys.append(own_key)
        if count == 1 and own_key == "@family_alone":
            keys.append("@only_family_alone")
    if known.quantities or piece.quantity:
        keys += _as_quantity(place, piece, known)
    if known.places:
        if known.places[0] < place:
            keys.append("@part_before")
        elif known.places[-1] > place:
            keys.append("@part_behind")
    return keys


def _as_quantity(place: int, piece: Look, known: Parts) -> list[str]:
    """The circumstance that a token is a quantity, or a value beside one."""
    others = len(known.quantities) - (place in known.quantities)
    if piece.quantity == "firm" or (piece.quantity and others):
        return ["@quantity"]
    if piece.quantity == "usual":
        return ["@quantity_letter"]
    return ["@value_code"] if others and is_value_code(piece.text) else []


def _flags(place: int, looks: Sequence[Look], lines: Sequence[int], known: Parts) -> int:
    """The circumstances of a token that mean something for some forms only."""
    count = len(looks)
    flags = _SUPPLY if known.supply else 0
    if count == 1:
        flags |= _ONLY | _ALONE
    elif place == 0:
        flags |= _FIRST
    if lines and lines.count(lines[place]) == 1:
        flags |= _ALONE
    if place + 1 < count and looks[place + 1].kind == "number":
        flags |= _BEFORE_NUMBER
    return flags


class Parts(NamedTuple):
    """The part numbers of a marking."""

    places: list[int]
    certain: set[int]
    """Places of those that can hardly be anything else."""
    floors: dict[int, int]
    supply: bool
    quantities: list[int]
    """Places of numbers with their unit."""


def _known_parts(looks: Sequence[Look]) -> Parts:
    places = [place for place, piece in enumerate(looks) if piece.kind == "part"]
    quantities = [place for place, piece in enumerate(looks) if piece.kind == "quantity"]
    parts = Parts(places, set(), {}, any(looks[place].supply for place in places), quantities)
    for place in places:
        if (family := looks[place].family) is not None:
            if family.family.first_made:
                parts.floors[place] = family.family.first_made - FAMILY_SLACK
            if len(family.prefix) > 1 or not family.number.isdigit():
                parts.certain.add(place)
    return parts


def find(text: str, houses: tuple[House, ...] = ()) -> Found:
    """The tokens of a plain text, and every candidate for its date code."""
    tokens = _split(text)
    looks = [look(token[0]) for token in tokens]
    kinds = {piece.kind for piece in looks}
    copyright_years = _copyright_years(looks) if "copyright" in kinds else {}
    known = _known_parts(looks)
    spots: list[Spot] = []
    others: list[tuple[int, Candidate]] = []
    lines = [token[2] for token in tokens] if tokens and tokens[-1][2] else []
    count = len(tokens)
    for place, (token, start, _) in enumerate(tokens):
        piece = looks[place]
        if piece.offers and place not in copyright_years and not _in_a_sentence(place, looks):
            keys = _surroundings(place, looks, lines) + _beside_parts(place, piece, known, count)
            spots.append(Spot(token, place, start, tuple(keys), _flags(place, looks, lines, known)))
        if place and _ends_a_date(token, tokens[place - 1][0]) and place not in copyright_years:
            others.extend(_across(tokens, looks, lines, place, copyright_years))
    if count == 1 and (token := tokens[0][0]).replace(".0", "").isdigit():
        others.extend((0, one) for one in _from_spreadsheet(token, tokens[0][1]))
    for house in houses:
        others.extend(_from_house(house, tokens))
    if len(known.quantities) > 1 or any(looks[at].quantity == "firm" for at in known.quantities):
        kinds.add("unit")
    against = _against(count, kinds) if spots or others else ()
    return Found(tokens, looks, copyright_years, spots, others, against, known.floors)


@lru_cache(maxsize=65536)
def candidates_of(text: str, flags: int) -> tuple[Candidate, ...]:
    """The candidates of one token, positions in the token, without the keys that all share."""
    found = []
    for offer, own, factor in look(text).offers:
        form = offer.form
        special: tuple[str, ...] = ()
        if flags & _SUPPLY and form in _SUPPLY_FORMS:
            special = (form + "@supply",)
        elif flags & _ALONE and form in _TWO_SIGNS:
            special = ("@only_two_signs",)
        elif flags & _ONLY and form.endswith("_glued"):
            special = ("@only_glued",)
        elif flags & _FIRST and form in _CODED:
            special = ("@coded_first",)
        elif flags & _BEFORE_NUMBER and form in _CODED:
            special = ("@coded_before_number",)
        found.append(Candidate(offer, offer.start, offer.end, (form, *own, *special), factor))
    return tuple(found)


def _in_a_sentence(place: int, looks: Sequence[Look]) -> bool:
    """Whether a word of two letters stands before another word: ``NO DATE``."""
    piece = looks[place]
    if place + 1 == len(looks) or len(piece.text) != 2 or not piece.text.isalpha():
        return False
    return piece.kind == "lot word" and looks[place + 1].kind in ("word", "date word")


_AGAIN = {
    "@family_alone": "@family_again",
    "@family_suffix": "@family_again",
    "@family_one_letter": "@family_again",
    "@family_lettered": "@lettered_again",
}
_TWO_SIGNS = frozenset(
    ["iec_letters", "iec_letters.letters", "year_digit_month.letter", "year_digit_month.figure"]
)
_CODED = frozenset(["coded_year_month", "coded_year_month.figure", "coded_year_month.letters"])
_SUPPLY_FORMS = frozenset(
    ["year_month_lot", "year_month_lot.figures", "year_month_lot.second", "year_week"]
)


def _copyright_years(looks: Sequence[Look]) -> dict[int, int]:
    """Years behind a copyright sign, with at most two words between."""
    years: dict[int, int] = {}
    reach = 0
    for place, piece in enumerate(looks):
        if piece.kind == "copyright":
            reach = 3
        elif reach:
            reach -= 1
            if _COPYRIGHT_YEAR.fullmatch(piece.text):
                figures = piece.text.strip("',.")
                if len(figures) == 4 or looks[place - 1].kind == "copyright":
                    years[place] = int(figures) + (1900 if len(figures) == 2 else 0)
                    reach = 3
    return years


def _ends_a_date(token: str, before: str) -> bool:
    """Whether a token can be the last of two or three that are a date together."""
    if len(token) == 2:
        return token.isdigit() and len(before) < 10
    return 2 < len(token) < 5 and before.isalpha() and token[-2:].isdigit()


def _across(
    tokens: Sequence[tuple[str, int, int]],
    looks: Sequence[Look],
    lines: Sequence[int],
    place: int,
    taken: Mapping[int, int],
) -> Iterable[tuple[int, Candidate]]:
    """Candidates that span two or three tokens ending at a place."""
    for count in (2, 3):
        begin = place - count + 1
        if begin < 0 or begin in taken or (lines and lines[begin] != lines[place]):
            return
        texts = tuple(token[0] for token in tokens[begin : place + 1])
        if len(texts[0]) > 9 or not (offers := look_across(texts)):
            continue
        end = tokens[place][1] + len(texts[-1])
        shared = ("@gap", *_surroundings(place, looks, lines))
        if any(looks[inner].kind == "part" for inner in range(begin)):
            shared = (*shared, "@part_before")
        for offer in offers:
            start = tokens[begin][1] + offer.start
            yield begin, Candidate(offer, start, end, (offer.form, *shared), 1.0)


def _from_spreadsheet(text: str, start: int) -> Iterable[Candidate]:
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


def _from_house(
    house: House, tokens: Sequence[tuple[str, int, int]]
) -> Iterable[tuple[int, Candidate]]:
    for place, (text, start, _) in enumerate(tokens):
        for offer in house.propose(text.upper()):
            begin, end = start + offer.start, start + offer.end
            yield place, Candidate(offer, begin, end, ("house",), 1.0, house)


@lru_cache(maxsize=256)
def _against_cached(count: int, kinds: frozenset[str]) -> tuple[str, ...]:
    keys = ["@none.only"] if count == 1 else []
    if not kinds.isdisjoint(("lot word", "revision word")):
        keys.append("@none.lot_or_revision")
    if "unit" in kinds:
        keys.append("@none.unit")
    if "part" in kinds and count > 1:
        keys.append("@none.part")
    return tuple(keys)


def _against(count: int, kinds: set[str]) -> tuple[str, ...]:
    """Circumstances that speak for 'no date here'."""
    return _against_cached(min(count, 2), frozenset(kinds))


def forget() -> None:
    """Empty what is kept of earlier readings: needed when the weights are changed."""
    _odds.cache_clear()
    _entries.cache_clear()


@lru_cache(maxsize=65536)
def _odds(keys: tuple[str, ...]) -> float:
    table = weights()
    odds = 1.0
    for key in keys:
        odds *= table.get(key, 1.0)
    return odds


def share_of_cycle(cycle: int, first: int, last: int) -> float:
    """What one calendar year takes of a proposal whose year repeats within the years allowed."""
    return min(1.0, cycle / (last - first + 1)) if cycle and last > first else 1.0


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
    today = today or date.today()
    first_year, last_year = years or (1960, today.year)
    last_year = min(last_year, today.year)
    text = plain(marking[:LONGEST])
    found = find(text, tuple(houses))
    frame = Frame(first_year, last_year, today, near)
    total = _odds(found.none_keys)
    weighed: list[Weighed] = []
    for spot in found.spots:
        scale = _odds(spot.keys)
        spread = _bounded(_entries(spot.text, spot.flags, frame), found.floor(spot.place))
        total += scale * spread.total
        weighed.append((spread.entries, scale, spot.start, spot.keys))
    for place, candidate in found.others:
        spread = _bounded(_spread((candidate,), frame), found.floor(place))
        total += spread.total
        weighed.append((spread.entries, 1.0, 0, ()))
    readings = []
    no_date = 1.0
    # Where the code is all there is, every form keeps its best reading, however improbable.
    least = NEGLIGIBLE * total if len(found.tokens) > 1 else 0.0
    for odds, first, last, _, start, end, scheme, why in _merged(weighed, least):
        probability = -odds / total
        no_date -= probability
        readings.append(
            Reading(scheme, marking[start:end], first, last, probability, start, end, why)
        )
    return MarkingReading(
        marking,
        _tokens(found, readings, no_date),
        tuple(readings),
        max(0.0, no_date),
        _doubts(marking, found, readings, no_date),
    )


Weighed = tuple[Sequence[Entry], float, int, tuple[str, ...]]
"""Entries, what their odds are multiplied by, where their token begins, and its circumstances."""


def _bounded(spread: Spread, floor: int) -> Spread:
    """A spread in which what comes before a family's first year is cut down."""
    if spread.earliest >= floor:
        return spread
    early = weights()["@too_early"]
    lost = 0.0
    bounded = []
    for entry in spread.entries:
        if entry[3] < floor:
            lost -= entry[0] * (1 - early)
            bounded.append((entry[0] * early, *entry[1:]))
        else:
            bounded.append(entry)
    bounded.sort()
    return Spread(spread.total - lost, floor, bounded)


def _merged(weighed: Sequence[Weighed], least: float) -> list[Entry]:
    """The entries of all tokens by falling odds, earlier dates first where odds are equal.

    Entries of the same days become one, under the name of the weightiest. Those with odds below
    ``least`` are left out.
    """
    chief: dict[tuple[date, date], Entry] = {}
    telling = 0
    for entries, scale, shift, keys in weighed:
        if not entries or -entries[0][0] * scale < least:
            continue
        telling += 1
        shared = _reasons(keys)
        for bare, first, last, year, start, end, scheme, why in entries:
            odds = bare * scale
            if -odds < least:
                break
            entry = (odds, first, last, year, start + shift, end + shift, scheme, why + shared)
            if known := chief.get((first, last)):
                heavy = entry if odds < known[0] else known
                entry = (odds + known[0], *heavy[1:])
            chief[first, last] = entry
    merged = list(chief.values())
    if telling > 1:
        merged.sort()
    return merged[:MOST_READINGS]


@lru_cache(maxsize=65536)
def _entries(text: str, flags: int, frame: Frame) -> Spread:
    """A token's readings, without the circumstances that they share."""
    return _spread(candidates_of(text, flags), frame, bool(flags & _ONLY))


def _spread(candidates: Sequence[Candidate], frame: Frame, every_form: bool = False) -> Spread:
    """Candidates spread over the years that each allows, those of the same days made one.

    Negligible ones are left out, apart from the best of each form if ``every_form``.
    """
    closeness = nearness(frame.near, frame.first, frame.last)
    closest = max(closeness.values(), default=1.0)
    shares = sorted(
        (
            -_odds(one.keys)
            * one.factor
            * share_of_cycle(one.offer.cycle, frame.first, frame.last),
            place,
        )
        for place, one in enumerate(candidates)
    )
    total = 0.0
    chief: dict[tuple[date, date], tuple[float, float, int, Candidate]] = {}
    for share, place in shares:
        if -share * closest < NEGLIGIBLE * total / 4 and not every_form:
            break
        candidate = candidates[place]
        house = candidate.house
        for year, span in dated(candidate.offer, frame):
            if house and not (house.first or 0) <= year <= (house.last or 9999):
                continue
            odds = -share * closeness[year]
            total += odds
            if known := chief.get(span):
                if odds > known[1]:
                    chief[span] = (odds + known[0], odds, year, candidate)
                else:
                    chief[span] = (odds + known[0], *known[1:])
            else:
                chief[span] = (odds, odds, year, candidate)
    best: dict[str, float] = {}
    if every_form:
        for odds, _, _, one in chief.values():
            best[one.offer.form] = max(odds, best.get(one.offer.form, 0.0))
    least = NEGLIGIBLE * total / 2
    entries: list[Entry] = [
        (-odds, first, last, year, one.start, one.end, _scheme_name(one), _reasons(one.keys))
        for (first, last), (odds, _, year, one) in chief.items()
        if odds > least or (every_form and odds == best[one.offer.form])
    ]
    entries.sort()
    return Spread(total, min((entry[3] for entry in entries), default=9999), entries)


def _scheme_name(candidate: Candidate) -> str:
    if candidate.house:
        return f"house: {candidate.house.name}"
    return candidate.offer.form.partition(".")[0]


_REASONS = {
    "@only": "it is all that is marked",
    "@last": "it stands last",
    "@first": "it stands first, where the part number usually is",
    "@before_single": "a single line or lot character follows",
    "@before_unit": "a unit follows, so it may be a value",
    "@before_country": "the country follows",
    "@after_country": "it follows the country",
    "@after_lot_word": "a word for a lot or serial number stands before it",
    "@after_revision_word": "a word for a revision or check sum stands before it",
    "@after_date_word": "a word for a date stands before it",
    "@after_week_word": "a word for a week stands before it",
    "@after_unit": "a unit stands before it",
    "@own_line": "it has a line to itself",
    "@part_before": "the part number stands before it",
    "@part_behind": "the part number stands behind it",
    "@family_lettered": "the same characters are a part number",
    "@family_one_letter": "without its letter it is a part number",
    "@family_suffix": "with its letters it is a part number",
    "@family_alone": "the same figures are a part number",
    "@family_supply": "the same figures are a supply or reset chip",
    "@only_family_alone": "nothing else is marked that could be the part number",
    "@only_glued": "a type mark with a date behind it is all that fits on a small part",
    "@coded_first": "letters and figures that stand first are a part number",
    "@coded_before_number": "a number of the lot follows",
    "@only_two_signs": "two signs by themselves are the IEC form of a date on small parts",
    "@family_other": "the same characters are a value or a type",
    "@quantity": "it is a number with its unit",
    "@quantity_letter": "it may be a number with its unit",
    "@value_code": "beside a quantity, three figures are usually a value and its power of ten",
    "@unread": "characters that cannot be read were filled in",
    "@letter_for_figure": "letters that look like figures were taken as figures",
    "@o_or_i_for_figure": "an O or I was taken for a figure",
    "@family_again": "it could be a part number, but another one is marked",
    "@lettered_again": "it looks like a part number, but another one is marked",
    "@one_seven": "a 1 and a 7 were taken for each other",
    "@gap": "there is a gap inside it",
    "@lost_zero": "a leading zero was put back that a spreadsheet may have dropped",
    "@spreadsheet": "a spreadsheet may have made a number of it",
    "house": "it fits a house scheme",
}


@lru_cache(maxsize=65536)
def _reasons(keys: tuple[str, ...]) -> tuple[str, ...]:
    names = _names()
    reasons = []
    for key in keys:
        if key in _REASONS:
            reasons.append(_REASONS[key])
        elif (scheme := key.partition(".")[0]) in names and "@" not in key:
            reasons.append(f"written as {names[scheme]}")
    return tuple(reasons)


@lru_cache(maxsize=1)
def _names() -> dict[str, str]:
    return {scheme.key: scheme.name for scheme in all_schemes()}


_TAKEN = {"part": "part number", "code": "lot or line code", "copyright": "copyright sign"}


def _tokens(found: Found, readings: Sequence[Reading], no_date: float) -> tuple[Token, ...]:
    """What each token was taken for, the best reading's part in it included."""
    best = readings[0] if readings and no_date <= 0.5 else None
    tokens = []
    for place, (text, start, line) in enumerate(found.tokens):
        piece = found.looks[place]
        end = start + len(text)
        taken, why = _TAKEN.get(piece.kind, piece.kind), piece.why
        if place in found.copyright:
            taken, why = "copyright year", "a copyright sign stands before it: a design year"
        elif best and start < best.end and best.start < end:
            taken, why = "date", best.why[0] if best.why else "fits a scheme"
        elif piece.offers and piece.kind in ("code", "number"):
            taken, why = "possible date", f"{piece.why}; fits a scheme, but less well"
        tokens.append(Token(text, line, start, end, taken, why))
    return tuple(tokens)


def _doubts(
    marking: str, found: Found, readings: Sequence[Reading], no_date: float
) -> tuple[str, ...]:
    """What is doubtful about the marking as a whole, and what would settle it."""
    doubts = []
    if len(marking) > LONGEST:
        doubts.append(f"Only the first {LONGEST} characters were read.")
    for place, piece in enumerate(found.looks):
        if piece.given_up:
            doubts.append(f"Too much of {piece.text} is unread to find a date in it.")
        if piece.turned and readings and place == _place_of(found, readings[0]):
            doubts.append(
                f"{piece.text} reads {piece.turned} upside down; see which way the rest stands."
            )
    if readings:
        best = readings[0]
        if best.probability > 0.8:
            return tuple(doubts)
        if len(readings) > 1 and readings[1].probability > best.probability / 3:
            other = readings[1]
            if other.text == best.text and other.scheme == best.scheme:
                doubts.append(
                    f"{best.text} leaves the decade open; the part number's first year and the "
                    "other parts settle it."
                )
            else:
                doubts.append(
                    f"{best.text} may be read as {best.first} to {best.last}, or {other.text} as "
                    f"{other.first} to {other.last}; the other parts settle it."
                )
        if "a leading zero was put back" in " ".join(best.why):
            doubts.append("A spreadsheet may have dropped a leading zero; look at the part again.")
        if 0.2 < no_date < 0.8:
            doubts.append("It may hold no date at all; compare with other parts of the same kind.")
    return tuple(doubts)


def _place_of(found: Found, reading: Reading) -> int:
    return next(
        place
        for place, (text, start, _) in enumerate(found.tokens)
        if start <= reading.start < start + len(text)
    )
