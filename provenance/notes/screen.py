"""The answer on the screen: a summary, the parts by section, and what the result rests on.

Knows the layout in lines of text, at most so many columns wide, readable without colour. What is
said comes from ``provenance.notes.statements``; the numbers and dates from
``provenance.notes.words``. Everything that came from a file is made harmless before it is shown.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from rich.cells import cell_len, set_cell_size

from provenance.notes import words
from provenance.notes.bounded import bounded
from provenance.notes.cautions import cautions_sentence
from provenance.notes.folding import bold, bulleted, folded, titled
from provenance.notes.histories import histories
from provenance.notes.reasons import carrier_sentences, factory_or_later, inspection_sentences
from provenance.notes.statements import (
    MENTIONED_FROM,
    ORIGIN_NAMES,
    Standing,
    by_section,
    date_read,
    in_place_of_date,
    standings,
    summary,
)

if TYPE_CHECKING:
    from provenance.inference.finding import Finding
    from provenance.survey.model import Survey

COLOURS = {"original": "36", "later work": "33", "replacement": "35", "not original": "33"}
"""ANSI colours, always beside the word: cyan, yellow and magenta, which stay apart for people with
red-green blindness (common practice)."""

NARROWEST = 64
"""Columns below which the table is no longer laid out; a narrower screen gets this width."""


def screen_text(finding: Finding, survey: Survey, width: int = 80, colour: bool = False) -> str:
    """The finding as text for a terminal of ``width`` columns, with a final newline.

    With ``colour`` the headings and origins are also coloured; nothing is said by colour alone.
    """
    width, finding = max(width, NARROWEST), bounded(finding)
    blocks = [
        titled(words.visible(finding.title) or "Untitled board", width, colour),
        bulleted(summary(finding, survey), width),
        "\n\n".join(_tables(finding, survey, width, colour)),
        _results(finding, width, colour),
    ]
    return "\n\n".join(block for block in blocks if block) + "\n"


def _cell(text: str, width: int) -> str:
    """A text in exactly ``width`` cells, with an ellipsis where it was cut."""
    if cell_len(text) > width:
        return set_cell_size(text, width - 1) + "…"
    return set_cell_size(text, width)


def _tables(finding: Finding, survey: Survey, width: int, colour: bool) -> Iterator[str]:
    found = standings(finding, survey)
    if not found:
        return
    ref = min(12, max(4, *(cell_len(words.visible(s.part.ref)) for s in found)))
    columns = (ref, width - ref - sum(FIXED), *FIXED[1:])
    yield _cells((" ", "Part", "Marking", "Read as", "  Sure", "Origin"), columns)
    for section, group in by_section(found).items():
        lines = [bold(line, colour) for line in folded(words.visible(section), width)]
        lines += [_row(s, columns, colour) for s in group]
        yield "\n".join(lines)
    marks = {_mark(s) for s in found}
    if keys := [said for mark, said in KEYS.items() if mark in marks]:
        side_by_side = "   ".join(keys)
        yield side_by_side if cell_len(side_by_side) <= width else "\n".join(keys)


KEYS = {
    "*": "* most probably not original",
    "?": "? neither original nor later is even likely (66%)",
    "+": "+ a recorded work names it",
}
"""What the marks before a part's reference mean, below the table; only those in it are told."""


def _mark(found: Standing) -> str:
    if found.recorded:
        return "+"
    if found.doubtful:
        return "?"
    return " " if found.kind == "original" else "*"


FIXED = (7, 17, 6, 19)
"""Cells of the table's layout: the mark and the gaps; what was read; how sure; the origin."""


def _middle_cut(text: str, width: int) -> str:
    """A marking with its middle left out where it is too long: the date stands mostly at an end."""
    if cell_len(text) <= width:
        return text
    tail = text[-(width // 2) :]
    while cell_len(tail) > width // 2:
        tail = tail[1:]
    return set_cell_size(text, width - 1 - cell_len(tail)) + "…" + tail


def _cells(texts: tuple[str, ...], columns: tuple[int, ...]) -> str:
    ref, marking, read, sure, origin = columns
    widths = (1, ref, marking, read, sure, origin)
    cells = (_cell(text, width) for text, width in zip(texts, widths, strict=True))
    return " ".join(cells).rstrip()


def _row(found: Standing, columns: tuple[int, ...], colour: bool) -> str:
    part = found.part
    reading = date_read(part)
    unsaid = in_place_of_date(part)
    read = words.compact(reading.first, reading.last) if reading else unsaid.seen
    sure = reading.probability if reading else unsaid.probability
    origin = f"{ORIGIN_NAMES[found.kind]:<12} {words.short_percent(found.probability):>6}"
    told = ORIGIN_NAMES["recorded work"] if found.recorded else origin
    line = _cells(
        (
            _mark(found),
            words.visible(part.ref),
            _middle_cut(words.visible(part.marking), columns[1]),
            read,
            f"{words.short_percent(sure):>6}",
            told,
        ),
        columns,
    )
    if not colour:
        return line
    return line.removesuffix(told) + f"\x1b[{COLOURS[found.kind]}m{told}\x1b[0m"


def _results(finding: Finding, width: int, colour: bool) -> str:
    """What the result rests on, what else it could be, what to look at next, and warnings."""
    parts: list[tuple[str, list[str]]] = [
        ("What the result rests on", [*map(_told, finding.rests_on), *_carried(finding)]),
        ("From the factory, or added later?", list(factory_or_later(finding))),
        ("What else it could be", _rivals(finding)),
        ("What to look at next", _next(finding)),
        ("Warnings", [_told(warning) for warning in finding.warnings]),
    ]
    blocks = [
        f"{bold(heading, colour)}\n{bulleted(lines, width)}" for heading, lines in parts if lines
    ]
    return "\n\n".join(blocks)


def _told(text: str) -> str:
    return words.sentence(words.visible(text))


def _carried(finding: Finding) -> list[str]:
    return list(carrier_sentences(finding)[:1])


def _rivals(finding: Finding) -> list[str]:
    told = histories(finding)
    if len(told) < 2:
        return []
    best = told[0]
    lines = [f"Best account: {best.said}: {words.percent(best.probability)}."]
    for rival in told[1:4]:
        if rival.probability >= MENTIONED_FROM or rival is told[1]:
            against = words.odds(best.probability, rival.probability)
            lines.append(
                f"Instead: {rival.said}: {words.percent(rival.probability)} "
                f"(odds {against} for the best account)."
            )
    return lines


def _next(finding: Finding) -> list[str]:
    best = inspection_sentences(finding.inspections, most=3)
    return [*best, cautions_sentence()] if best else []
