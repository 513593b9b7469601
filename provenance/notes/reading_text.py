"""What one marking says, on the screen and as a record: pieces, readings, doubts.

Knows the layout of ``provenance read``. How a marking is read, and why, comes from the reader;
numbers and dates in words from ``provenance.notes.words``. Light to import: no pydantic, no numpy.
"""

from __future__ import annotations

import textwrap
from collections.abc import Iterator, Sequence
from typing import TYPE_CHECKING, Any

from provenance.markings.schemes import all_schemes
from provenance.notes import words

if TYPE_CHECKING:
    from provenance.markings.reading import MarkingReading, Reading

MOST_SHOWN = 6
"""Readings, and dates of one reading, that are shown; the record holds them all."""

NEGLIGIBLE = 0.01
"""A reading below this, 'exceptionally unlikely' (IPCC 2010), is counted with the rest."""


def reading_text(reading: MarkingReading, width: int = 80) -> str:
    """One marking explained, in at most ``width`` columns, with a final newline.

    >>> from provenance.markings.reader import read_marking
    >>> print(reading_text(read_marking("SN7432N 7841")).splitlines()[0])
    SN7432N 7841
    """
    blocks = [
        [words.visible(reading.marking) or "(nothing)"],
        ["Read as", *_outcomes(reading)],
        ["Piece by piece", *_pieces(reading)] if reading.tokens else [],
        ["What is in doubt", *map(words.visible, reading.doubts)] if reading.doubts else [],
    ]
    return "\n\n".join(_block(*block, width=width) for block in blocks if block) + "\n"


def _block(heading: str, *lines: str, width: int) -> str:
    wrapped = textwrap.wrap(heading, width, break_on_hyphens=False)
    for line in lines:
        wrapped += textwrap.wrap(
            line, width, initial_indent="- ", subsequent_indent="  ", break_on_hyphens=False
        )
    return "\n".join(wrapped)


def _outcomes(reading: MarkingReading) -> Iterator[str]:
    """What the characters may mean and 'no date', most probable first.

    Readings of the same characters in the same scheme, such as the decades of a one-figure year,
    stand in one line.
    """
    alike: dict[tuple[int, int, str], list[Reading]] = {}
    for found in reading.readings:
        alike.setdefault((found.start, found.end, found.scheme), []).append(found)
    groups = sorted(alike.values(), key=_share, reverse=True)
    shown = [group for group in groups[:MOST_SHOWN] if _share(group) >= NEGLIGIBLE] or groups[:1]
    names = {scheme.key: scheme.name for scheme in all_schemes()}
    said = [(_share(group), _outcome(group, names)) for group in shown]
    said.append((reading.no_date, f"No date here: {words.probable(reading.no_date)}."))
    yield from (line for _, line in sorted(said, key=lambda row: -row[0]))
    if rest := groups[len(shown) :]:
        share = words.percent(sum(map(_share, rest)))
        yield words.sentence(f"anything else: {share}")


def _share(group: Sequence[Reading]) -> float:
    return sum(found.probability for found in group)


def _outcome(group: Sequence[Reading], names: dict[str, str]) -> str:
    best = group[0]
    scheme = names.get(best.scheme, best.scheme)
    taken = f"{words.visible(best.text)} as {scheme}"
    more_than_that = (reason for reason in best.why if reason != f"written as {scheme}")
    why = "".join(f" {words.sentence(words.visible(reason))}" for reason in more_than_that)
    if len(group) == 1:
        when = words.when(best.first, best.last)
        return f"{words.sentence(when)[:-1]}: {words.probable(best.probability)}. {taken}.{why}"
    spans = [
        f"{words.compact(found.first, found.last)} ({words.percent(found.probability)})"
        for found in group[:MOST_SHOWN]
    ]
    more = len(group) - len(spans)
    listed = words.listed([*spans, words.counted(more, "other")] if more else spans, last="or")
    return f"{taken}: {words.probable(_share(group))}, one of {listed}.{why}"


def _pieces(reading: MarkingReading) -> Iterator[str]:
    for token in reading.tokens:
        yield words.visible(f"{token.text}: {token.taken_for}: {token.why}.")


def reading_record(reading: MarkingReading) -> dict[str, Any]:
    """One marking as plain data with stable keys, dates as ISO 8601 text; for JSON.

    >>> from provenance.markings.reader import read_marking
    >>> reading_record(read_marking("SN7432N 7841"))["readings"][0]["scheme"]
    'year_week'
    """
    return {
        "marking": reading.marking,
        "readings": [
            found._asdict() | {"first": found.first.isoformat(), "last": found.last.isoformat()}
            for found in reading.readings
        ],
        "no_date": reading.no_date,
        "tokens": [token._asdict() for token in reading.tokens],
        "doubts": list(reading.doubts),
    }
