"""Lines of text no wider than so many cells of a terminal: titles, lists, folded sentences.

Knows how wide characters are on a screen. What the lines say, and that it is harmless there, is the
caller's.
"""

from __future__ import annotations

import textwrap
from collections.abc import Iterable

from rich.cells import cell_len, chop_cells


def folded(text: str, width: int, first: str = "", then: str = "") -> list[str]:
    """Lines no wider than ``width`` cells; double-width characters count as two."""
    lines: list[str] = []
    for line in textwrap.wrap(
        text, width, initial_indent=first, subsequent_indent=then, break_on_hyphens=False
    ) or [first.rstrip()]:
        lines.extend(chop_cells(line, width) if cell_len(line) > width else [line])
    return lines


def bulleted(sentences: Iterable[str], width: int) -> str:
    """Sentences as a list."""
    return "\n".join(line for said in sentences for line in folded(said, width, "- ", "  "))


def bold(text: str, colour: bool) -> str:
    """A text in bold where colour is asked for."""
    return f"\x1b[1m{text}\x1b[0m" if colour else text


def titled(title: str, width: int, colour: bool = False) -> str:
    """A title with a rule below it."""
    lines = folded(title, width)
    rule = "=" * max(map(cell_len, lines))
    return "\n".join([*(bold(line, colour) for line in lines), rule])
