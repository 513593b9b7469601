"""Text from a file as a cell of a table that somebody opens in a spreadsheet.

Knows what a spreadsheet takes for a formula. How rows become CSV is left to the csv module. Light
to import.
"""

from __future__ import annotations

import re

from provenance.notes.words import visible

_FORMULA = re.compile(r"\s*[=+\-@＝＋－＠]")
"""How a cell begins that a spreadsheet takes for a formula. Source: OWASP, 'CSV Injection'."""

_NUMBER = re.compile(r"-?[0-9]+(\.[0-9]+)?")


def cell(text: str) -> str:
    """A text as a cell that no spreadsheet takes for a formula: an apostrophe goes before one.

    Numbers stay as they are; control characters are spelled out.

    >>> cell("=1+1"), cell("-3.5"), cell("7912"), cell("-2+3")
    ("'=1+1", '-3.5', '7912', "'-2+3")
    """
    if text[:1].isalnum() and text.isascii() and text.isprintable():
        return text  # As nearly every cell of a long list: no formula, and nothing to spell out.
    shown = visible(text)
    is_formula = _FORMULA.match(shown) and not _NUMBER.fullmatch(shown)
    return f"'{shown}" if is_formula else shown
