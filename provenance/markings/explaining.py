"""Why a marking is read as it is: what each token was taken for, and the doubts.

Both are worked out when they are asked for, because whoever reads a long list of markings wants
the dates only. The reasons of each reading are in ``reasons``.
"""

from __future__ import annotations

from collections.abc import Sequence

from provenance.markings.reading import MarkingReading, Reading, Token
from provenance.markings.surroundings import Layout, layout_of
from provenance.markings.tokens import look, plain, turned_over

LONGEST = 4000
"""Characters of a marking that are read; a whole data sheet is no marking."""


def explain(reading: MarkingReading) -> tuple[tuple[Token, ...], tuple[str, ...]]:
    """The tokens and the doubts of a marking that has been read."""
    layout = layout_of(plain(reading.marking[:LONGEST]))
    return _tokens(layout, reading), _doubts(layout, reading)


_TAKEN = {"part": "part number", "code": "lot or line code", "copyright": "copyright sign"}


def _tokens(layout: Layout, reading: MarkingReading) -> tuple[Token, ...]:
    """What each token was taken for, the best reading's part in it included."""
    best = reading.readings[0] if reading.readings and reading.no_date <= 0.5 else None
    tokens = []
    for place, (text, start) in enumerate(zip(layout.texts, layout.starts(), strict=True)):
        piece = look(text)
        end = start + len(text)
        taken, why = _TAKEN.get(piece.kind, piece.kind), piece.why
        if place in layout.copyright_years:
            taken, why = "copyright year", "a copyright sign stands before it: a design year"
        elif best and start < best.end and best.start < end:
            taken, why = "date", best.why[0] if best.why else "fits a scheme"
        elif piece.offers[0] and piece.kind in ("code", "number"):
            taken = "possible date"
            less = "but less well" if best else "but is more likely none"
            why = f"{piece.why}; fits a scheme, {less}"
        tokens.append(Token(text, layout.line(place), start, end, taken, why))
    return tuple(tokens)


def _doubts(layout: Layout, reading: MarkingReading) -> tuple[str, ...]:
    """What is doubtful about the marking as a whole, and what would settle it."""
    doubts = []
    readings = reading.readings
    if len(reading.marking) > LONGEST:
        doubts.append(f"Only the first {LONGEST} characters were read.")
    for piece in map(look, layout.texts):
        if piece.given_up:
            doubts.append(f"Too much of {piece.text} is unread to find a date in it.")
    if readings:
        piece = look(layout.texts[_place_of(layout, readings[0])])
        if other := turned_over(piece):
            doubts.append(f"{piece.text} reads {other} upside down; see which way the rest stands.")
    if readings and readings[0].probability <= 0.8 and reading.no_date < 0.8:
        doubts += _doubts_of_the_date(readings, reading.no_date)
    return tuple(doubts)


def _doubts_of_the_date(readings: Sequence[Reading], no_date: float) -> list[str]:
    """Why the best reading is not sure."""
    doubts = []
    best = readings[0]
    if len(readings) > 1 and readings[1].probability > best.probability / 3:
        other = readings[1]
        if other.text == best.text and other.scheme == best.scheme:
            alike = [r for r in readings if (r.text, r.scheme) == (best.text, best.scheme)]
            doubts.append(
                f"{best.text} leaves the {_left_open(alike)} open; the other parts settle it."
            )
        else:
            doubts.append(
                f"{best.text} may be read as {best.first} to {best.last}, or {other.text} as "
                f"{other.first} to {other.last}; the other parts settle it."
            )
    if "a leading zero was put back" in " ".join(best.why):
        doubts.append("A spreadsheet may have dropped a leading zero; look at the part again.")
    if no_date > 0.2:
        doubts.append("It may hold no date at all; compare with other parts of the same kind.")
    return doubts


def _left_open(readings: Sequence[Reading]) -> str:
    """What differs between readings of one form: the decade alone, the year, or less."""
    years = [(one.first - readings[0].first).days / 365.25 for one in readings]
    if max(map(abs, years)) < 0.98:
        return "week or month"
    # The same week begins some days earlier or later from year to year.
    return "decade" if all(abs(n / 10 - round(n / 10)) < 0.004 for n in years) else "year"


def _place_of(layout: Layout, reading: Reading) -> int:
    return next(
        place
        for place, (text, start) in enumerate(zip(layout.texts, layout.starts(), strict=True))
        if start <= reading.start < start + len(text)
    )
