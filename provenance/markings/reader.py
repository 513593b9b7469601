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
from provenance.markings.reading import MarkingReading, Reading, Token
from provenance.markings.schemes import Proposal, all_schemes, calendar_years
from provenance.markings.tokens import Look, look, look_across, plain
from provenance.markings.weights import weights
from provenance.weeks import Span

LONGEST = 4000
"""Characters of a marking that are read; a whole data sheet is no marking."""
MOST_READINGS = 60
NEGLIGIBLE = 2e-4
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
    place: int
    """Number of the token that it stands in (the first, if several)."""
    keys: tuple[str, ...]
    factor: float
    house: House | None = None


@lru_cache(maxsize=64)
def _nearness(near: int | None, first: int, last: int) -> Mapping[int, float]:
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
    offer: Proposal, first: int, last: int, today: date
) -> tuple[tuple[int, tuple[date, date]], ...]:
    """The calendar years and days that a proposal can mean; nothing later than today."""
    dated = []
    for year in calendar_years(offer.year, offer.cycle, first, last):
        try:
            span = offer.span(year)
        except ValueError:
            continue
        if span.first <= today:
            dated.append((year, (span.first, span.last)))
    return tuple(dated)


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
        if behind.short:
            keys.append("@before_single")
        elif behind.kind == "unit":
            keys.append("@before_unit")
        elif behind.kind == "country":
            keys.append("@before_country")
    if lines[-1] and lines.count(lines[place]) == 1:
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


def _own_circumstances(piece: Look) -> tuple[str, ...]:
    """What a token's family says against its being a date."""
    family = piece.family
    if family is None:
        return ()
    if len(family.prefix) > 1:
        return ("@family_lettered",)
    if family.prefix:
        return ("@family_one_letter",)
    if family.family.kind in ("crystal", "resistor", "battery"):
        return ("@family_other",)
    if family.number.isalpha() or not family.number[0].isdigit():
        return ("@family_lettered",)
    if not family.number.isdigit():
        return ("@family_lettered",)
    if family.family.kind == "supply":
        return ("@family_supply",)
    return ("@family_suffix",) if family.suffix else ("@family_alone",)


class Found(NamedTuple):
    """Everything about a marking that bears on its date, before any weighing."""

    tokens: list[tuple[str, int, int]]
    looks: list[Look]
    copyright: dict[int, int]
    """Copyright years by the place of their token."""
    candidates: list[Candidate]
    none_keys: tuple[str, ...]
    """Circumstances that speak for 'no date here'."""
    floors: dict[int, int]
    """First years of families by the place of their token: no date elsewhere comes before them."""

    def floor(self, place: int) -> int:
        """No date at this place comes before this year, if families and design years are right.

        A token that is itself read as the date says nothing of a family.
        """
        return max(
            [*(year for at, year in self.floors.items() if at != place), *self.copyright.values()],
            default=0,
        )


def find(text: str, houses: tuple[House, ...] = ()) -> Found:
    """The tokens of a plain text, and every candidate for its date code."""
    tokens = _split(text)
    looks = [look(token[0]) for token in tokens]
    copyright_years = _copyright_years(tokens, looks)
    candidates: list[Candidate] = []
    lines = [token[2] for token in tokens]
    parts = [place for place, piece in enumerate(looks) if piece.kind == "part"]
    floors: dict[int, int] = {}
    certain: set[int] = set()
    supply = False
    for place in parts:
        if (family := looks[place].family) is not None:
            if family.family.first_made:
                floors[place] = family.family.first_made - FAMILY_SLACK
            if len(family.prefix) > 1 or not family.number.isdigit():
                certain.add(place)
            supply = supply or family.family.kind == "supply"
    first_part = parts[0] if parts else len(tokens)
    for place, (_, start, _line) in enumerate(tokens):
        piece = looks[place]
        if piece.offers and place not in copyright_years:
            keys = _surroundings(place, looks, lines)
            own_keys = _own_circumstances(piece)
            if own_keys and certain - {place}:
                own_keys = (_AGAIN.get(own_keys[0], own_keys[0]),)
            keys += own_keys
            if len(tokens) == 1 and own_keys == ("@family_alone",):
                keys.append("@only_family_alone")
            if first_part < place:
                keys.append("@part_before")
            elif parts and parts[-1] > place:
                keys.append("@part_behind")
            shared = tuple(keys)
            for offer, own, factor in piece.offers:
                form = offer.form
                special: tuple[str, ...] = ()
                if supply and form in _SUPPLY_FORMS:
                    special = (form + "@supply",)
                elif form in _TWO_SIGNS and shared[:1] in (("@only",), ("@own_line",)):
                    special = ("@only_two_signs",)
                elif len(tokens) == 1 and form.endswith("_glued"):
                    special = ("@only_glued",)
                elif form in _CODED and place + 1 < len(looks) and looks[place + 1].kind == "number":
                    special = ("@coded_before_number",)
                candidates.append(
                    Candidate(
                        offer,
                        start + offer.start,
                        start + offer.end,
                        place,
                        (form, *own, *shared, *special),
                        factor,
                    )
                )
        if place:
            candidates.extend(_across(tokens, looks, lines, place, copyright_years))
    if len(tokens) == 1 and (text := tokens[0][0]).replace(".0", "").isdigit():
        candidates.extend(_from_spreadsheet(text, tokens[0][1]))
    for house in houses:
        candidates.extend(_from_house(house, tokens))
    return Found(tokens, looks, copyright_years, candidates, _against(looks, candidates), floors)


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


def _copyright_years(tokens: Sequence[tuple[str, int, int]], looks: Sequence[Look]) -> dict[int, int]:
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


def _across(
    tokens: Sequence[tuple[str, int, int]],
    looks: Sequence[Look],
    lines: Sequence[int],
    place: int,
    taken: Mapping[int, int],
) -> Iterable[Candidate]:
    """Candidates that span two or three tokens ending at a place."""
    text = tokens[place][0]
    if not 2 <= len(text) <= 4 or not text[-2:].isdigit() or place in taken:
        return
    for count in (2, 3):
        begin = place - count + 1
        if begin < 0 or lines[begin] != lines[place] or begin in taken:
            return
        texts = tuple(token[0] for token in tokens[begin : place + 1])
        if len(texts[0]) > 9:
            continue
        for offer in look_across(texts):
            start = tokens[begin][1] + offer.start
            keys = [offer.form, "@gap", *_surroundings(place, looks, lines)]
            if any(looks[inner].kind == "part" for inner in range(begin)):
                keys.append("@part_before")
            end = tokens[place][1] + len(text)
            yield Candidate(offer, start, end, begin, tuple(keys), 1.0)


def _from_spreadsheet(text: str, start: int) -> Iterable[Candidate]:
    """Candidates for a whole cell that a spreadsheet has taken for a number."""
    figures = text.removesuffix(".0")
    if figures != text:
        for offer, own, factor in look(figures).offers:
            keys = (offer.form, *own, "@only", "@spreadsheet")
            yield Candidate(offer, start + offer.start, start + offer.end, 0, keys, factor)
    if len(figures) == 3:
        for offer, own, factor in look("0" + figures).offers:
            if offer.form in ("year_week", "year_month") and not own:
                keys = (offer.form, "@only", "@lost_zero")
                yield Candidate(offer, start, start + 3, 0, keys, factor)


def _from_house(house: House, tokens: Sequence[tuple[str, int, int]]) -> Iterable[Candidate]:
    for place, (text, start, _) in enumerate(tokens):
        for offer in house.propose(text.upper()):
            yield Candidate(
                offer, start + offer.start, start + offer.end, place, ("house",), 1.0, house
            )


def _against(looks: Sequence[Look], candidates: Sequence[Candidate]) -> tuple[str, ...]:
    """Circumstances that speak for 'no date here'."""
    if not candidates:
        return ()
    kinds = {piece.kind for piece in looks}
    keys = ["@none.only"] if len(looks) == 1 else []
    if not kinds.isdisjoint(("lot word", "revision word")):
        keys.append("@none.lot_or_revision")
    if "unit" in kinds:
        keys.append("@none.unit")
    if "part" in kinds and len(looks) > 1:
        keys.append("@none.part")
    return tuple(keys)


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
    nearness = _nearness(near, first_year, last_year)
    floors = [found.floor(place) for place in range(len(found.tokens))]
    early = weights()["@too_early"]
    none = _odds(found.none_keys)
    total = none
    shares = {cycle: share_of_cycle(cycle, first_year, last_year) for cycle in (0, 10, 20, 100)}
    # By span of days: the odds of all its candidates, and the weightiest of them.
    masses: dict[tuple[date, date], float] = {}
    chief: dict[tuple[date, date], tuple[float, Candidate]] = {}
    for candidate in found.candidates:
        offer = candidate.offer
        share = _odds(candidate.keys) * candidate.factor * shares[offer.cycle]
        house = candidate.house
        for year, span in _dated(offer, first_year, last_year, today):
            mass = share * nearness[year]
            if year < floors[candidate.place]:
                mass *= early
            if house and not (house.first or 0) <= year <= (house.last or 9999):
                continue
            total += mass
            if span in masses:
                masses[span] += mass
                if mass > chief[span][0]:
                    chief[span] = (mass, candidate)
            else:
                masses[span] = mass
                chief[span] = (mass, candidate)
    least = NEGLIGIBLE * total
    kept = sorted((-mass, span) for span, mass in masses.items() if mass >= least)
    readings = tuple(
        _reading(marking, chief[span][1], span, -mass / total) for mass, span in kept[:MOST_READINGS]
    )
    no_date = max(0.0, 1.0 - math.fsum(reading.probability for reading in readings))
    return MarkingReading(
        marking,
        _tokens(found, readings),
        readings,
        no_date,
        _doubts(marking, found, readings, no_date),
    )


def _reading(
    marking: str, candidate: Candidate, span: tuple[date, date], probability: float
) -> Reading:
    offer, start, end = candidate.offer, candidate.start, candidate.end
    scheme = offer.form.partition(".")[0]
    if candidate.house:
        scheme = f"house: {candidate.house.name}"
    return Reading(
        scheme, marking[start:end], span[0], span[1], probability, start, end,
        _reasons(candidate.keys),
    )  # fmt: skip


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
    "@coded_before_number": "a number of the lot follows",
    "@only_two_signs": "two signs by themselves are the IEC form of a date on small parts",
    "@family_other": "the same characters are a value or a type",
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
    reasons = [f"written as {names[keys[0].partition('.')[0]]}"] if keys[0] != "house" else []
    return tuple(reasons + [_REASONS[key] for key in keys if key in _REASONS])


@lru_cache(maxsize=1)
def _names() -> dict[str, str]:
    return {scheme.key: scheme.name for scheme in all_schemes()}


def _tokens(found: Found, readings: Sequence[Reading]) -> tuple[Token, ...]:
    """What each token was taken for, the best reading's part in it included."""
    best = readings[0] if readings else None
    tokens = []
    for place, (text, start, line) in enumerate(found.tokens):
        piece = found.looks[place]
        end = start + len(text)
        taken, why = piece.kind, piece.why
        if place in found.copyright:
            taken, why = "copyright year", "a copyright sign stands before it: a design year"
        elif best and start < best.end and best.start < end:
            taken, why = "date", best.why[0] if best.why else "fits a scheme"
        elif piece.offers and piece.kind != "part":
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
        if piece.text.count("?") > 2:
            doubts.append(f"Too much of {piece.text} is unread to find a date in it.")
        if piece.turned and readings and place == _place_of(found, readings[0]):
            doubts.append(
                f"{piece.text} reads {piece.turned} upside down; see which way the rest stands."
            )
    if readings:
        best = readings[0]
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
