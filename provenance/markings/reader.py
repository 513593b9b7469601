"""From the characters of a marking to its readings, with probabilities.

Knows how a marking falls into tokens, what surrounds a date, how unreadable and confusable
characters are tried, and how weights become probabilities. Leaves to ``schemes`` how dates are
written, to ``families`` what part numbers look like, to ``weights`` the numbers, and to the
board's inference everything that the other parts say.
"""

from __future__ import annotations

import math
import re
from collections.abc import Sequence
from datetime import date
from functools import lru_cache
from typing import Any

from provenance.markings.families import FamilyMatch, family_of
from provenance.markings.reading import MarkingReading, Reading, Token
from provenance.markings.schemes import Proposal, all_schemes, calendar_years, period
from provenance.markings.weights import weights

LONGEST = 4000
"""Characters of a marking that are read; a whole data sheet is no marking."""
_LONGEST_DATED = 24
_MOST_READINGS = 60
_NEGLIGIBLE = 1e-4
_FAMILY_SLACK = 1
"""Years before a family's first-made year that are still allowed: the years are from memory."""
_TOO_EARLY = 0.02
"""What a reading from before the family's first year, or the design year, keeps of its weight."""

_TOKEN = re.compile(r"[^\s\x00-\x20\x7f-\xa0]+")
_COPYRIGHT = ("©", "(C)", "COPR", "COPYRIGHT")


@lru_cache(maxsize=65536)
def _proposals(text: str) -> tuple[tuple[Proposal, float], ...]:
    if len(text) > _LONGEST_DATED:
        return ()
    table = weights()
    return tuple(
        (proposal, table.get(proposal.form, 1.0))
        for scheme in all_schemes()
        for proposal in scheme.propose(text)
    )


@lru_cache(maxsize=65536)
def _family(text: str) -> FamilyMatch | None:
    return family_of(text)


@lru_cache(maxsize=64)
def _nearness(near: int | None, first: int, last: int) -> dict[int, float]:
    """How much likelier each year is than under the flat prior."""
    count = last - first + 1
    if near is None:
        return dict.fromkeys(range(first, last + 1), 1.0)
    bells = {year: math.exp(-abs(year - near) / 3) for year in range(first, last + 1)}
    total = sum(bells.values())
    return {year: 0.95 * count * bell / total + 0.05 for year, bell in bells.items()}


def read_marking(
    marking: str,
    *,
    near: int | None = None,
    years: tuple[int, int] | None = None,
    today: date | None = None,
    houses: Sequence[Any] = (),
) -> MarkingReading:
    """Read one marking.

    ``near`` is a year that the part is thought to be from, and sharpens the decade softly;
    ``years`` bounds the readings (1960 to this year); nothing is read later than ``today``.

    >>> reading = read_marking("SN7432N 7841")
    >>> reading.best.text, reading.best.scheme
    ('7841', 'year_week')
    """
    today = today or date.today()
    first_year, last_year = years or (1960, today.year)
    last_year = min(last_year, today.year)
    nearness = _nearness(near, first_year, last_year)
    table = weights()
    tokens: list[Token] = []
    candidates: list[tuple[float, Proposal, int, str]] = []
    floor = 0
    part_seen = False
    found = [
        (match[0], match.start(), line)
        for line, (offset, text) in enumerate(_lines(marking[:LONGEST]))
        for match in _TOKEN.finditer(text, offset)
    ]
    for place, (text, start, line) in enumerate(found):
        upper = text.upper()
        family = _family(upper)
        if place and found[place - 1][0].upper() in _COPYRIGHT and upper.isdigit():
            tokens.append(Token(text, line, start, start + len(text), "copyright year", "follows ©"))
            continue
        offers = _proposals(upper)
        factor = 1.0
        if place == len(found) - 1:
            factor *= table["@last"]
        if place == 0 and len(found) > 1:
            factor *= table["@first"]
        if part_seen:
            factor *= table["@part_seen"]
        taken, why = ("possible date", "fits a date scheme") if offers else ("other", "no scheme")
        if family:
            floor = max(floor, family.family.first_made or 0)
            if len(family.prefix) > 1:
                factor *= table["@family_prefix"]
            elif family.prefix:
                factor *= table["@family_prefix_one"]
            elif family.suffix:
                factor *= table["@family_suffix"]
            else:
                factor *= table["@family_bare"]
            taken, why = "part number", family.family.what
            part_seen = True
        tokens.append(Token(text, line, start, start + len(text), taken, why))
        candidates.extend((weight * factor, offer, start, text) for offer, weight in offers)
    total = 1.0
    merged: dict[tuple[date, date], tuple[float, Proposal, int, str]] = {}
    for weight, offer, start, text in candidates:
        share = weight * (10 / (last_year - first_year + 1) if offer.cycle in (10, 20) else 1.0)
        for year in calendar_years(offer.year, offer.cycle, first_year, last_year):
            try:
                span = period(offer.unit, year, offer.number)
            except ValueError:
                continue
            if span.first > today:
                continue
            mass = share * nearness[year]
            if year < floor - _FAMILY_SLACK:
                mass *= _TOO_EARLY
            total += mass
            known = merged.get(span)
            if known is None:
                merged[span] = (mass, offer, start, text)
            elif mass > known[0]:
                merged[span] = (mass + known[0], offer, start, text)
            else:
                merged[span] = (mass + known[0], *known[1:])
    best = sorted(merged.items(), key=lambda item: -item[1][0])[:_MOST_READINGS]
    readings = tuple(
        Reading(
            offer.form.partition(".")[0],
            text[offer.start : offer.end],
            first,
            last,
            mass / total,
            start + offer.start,
            start + offer.end,
            (offer.form,),
        )
        for (first, last), (mass, offer, start, text) in best
        if mass > _NEGLIGIBLE * total
    )
    no_date = 1.0 - sum(reading.probability for reading in readings)
    return MarkingReading(marking, tuple(tokens), readings, max(no_date, 0.0))


def _lines(text: str) -> list[tuple[int, str]]:
    """Each line's offset with the text up to the line's end."""
    lines, start = [], 0
    for piece in text.split("\n"):
        lines.append((start, text[: start + len(piece)]))
        start += len(piece) + 1
    return lines
