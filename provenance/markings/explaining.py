"""Why a marking is read as it is: the reasons of a reading, each token's part, and the doubts.

Knows the words for circumstances and doubts. Tokens and doubts are worked out when they are asked
for, because whoever reads a long list of markings wants the dates only.
"""

from __future__ import annotations

from collections.abc import Sequence
from functools import lru_cache

from provenance.markings.reading import MarkingReading, Reading, Token
from provenance.markings.schemes import all_schemes
from provenance.markings.surroundings import Layout, layout_of
from provenance.markings.tokens import plain

LONGEST = 4000
"""Characters of a marking that are read; a whole data sheet is no marking."""

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
def reasons(keys: tuple[str, ...]) -> tuple[str, ...]:
    """The names of forms and circumstances in words; those without words are left out."""
    names = _names()
    found = []
    for key in keys:
        if key in _REASONS:
            found.append(_REASONS[key])
        elif (scheme := key.partition(".")[0]) in names and "@" not in key:
            found.append(f"written as {names[scheme]}")
    return tuple(found)


@lru_cache(maxsize=1)
def _names() -> dict[str, str]:
    return {scheme.key: scheme.name for scheme in all_schemes()}


def explain(reading: MarkingReading) -> tuple[tuple[Token, ...], tuple[str, ...]]:
    """The tokens and the doubts of a marking that has been read."""
    layout = layout_of(plain(reading.marking[:LONGEST]))
    return _tokens(layout, reading), _doubts(layout, reading)


_TAKEN = {"part": "part number", "code": "lot or line code", "copyright": "copyright sign"}


def _tokens(layout: Layout, reading: MarkingReading) -> tuple[Token, ...]:
    """What each token was taken for, the best reading's part in it included."""
    best = reading.readings[0] if reading.readings and reading.no_date <= 0.5 else None
    tokens = []
    for place, (text, start) in enumerate(zip(layout.texts, layout.starts, strict=True)):
        piece = layout.looks[place]
        end = start + len(text)
        taken, why = _TAKEN.get(piece.kind, piece.kind), piece.why
        if place in layout.copyright_years:
            taken, why = "copyright year", "a copyright sign stands before it: a design year"
        elif best and start < best.end and best.start < end:
            taken, why = "date", best.why[0] if best.why else "fits a scheme"
        elif piece.offers and piece.kind in ("code", "number"):
            taken, why = "possible date", f"{piece.why}; fits a scheme, but less well"
        tokens.append(Token(text, layout.line(place), start, end, taken, why))
    return tuple(tokens)


def _doubts(layout: Layout, reading: MarkingReading) -> tuple[str, ...]:
    """What is doubtful about the marking as a whole, and what would settle it."""
    doubts = []
    readings = reading.readings
    if len(reading.marking) > LONGEST:
        doubts.append(f"Only the first {LONGEST} characters were read.")
    for place, piece in enumerate(layout.looks):
        if piece.given_up:
            doubts.append(f"Too much of {piece.text} is unread to find a date in it.")
        if piece.turned and readings and place == _place_of(layout, readings[0]):
            doubts.append(
                f"{piece.text} reads {piece.turned} upside down; see which way the rest stands."
            )
    if readings and readings[0].probability <= 0.8:
        doubts += _doubts_of_the_date(readings, reading.no_date)
    return tuple(doubts)


def _doubts_of_the_date(readings: Sequence[Reading], no_date: float) -> list[str]:
    """Why the best reading is not sure."""
    doubts = []
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
    return doubts


def _place_of(layout: Layout, reading: Reading) -> int:
    return next(
        place
        for place, (text, start) in enumerate(zip(layout.texts, layout.starts, strict=True))
        if start <= reading.start < start + len(text)
    )
