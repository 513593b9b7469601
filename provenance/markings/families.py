"""Part-number families: what a part number is, and since when it has been made.

Knows the table ``families.csv`` and how letters of a maker, package, speed and temperature stand
around a family's number. Leaves to the reader what that means for a date.
"""

from __future__ import annotations

import csv
import re
from functools import lru_cache
from importlib.resources import files
from typing import NamedTuple


class Family(NamedTuple):
    """A row of the table; ``first_made`` is None where it is not known."""

    pattern: str
    what: str
    first_made: int | None
    source: str


class FamilyMatch(NamedTuple):
    """A family found in a token, with the letters around the number."""

    family: Family
    prefix: str
    number: str
    suffix: str


@lru_cache(maxsize=1)
def families() -> tuple[Family, ...]:
    """Every family of the table."""
    text = files("provenance.markings").joinpath("families.csv").read_text(encoding="utf-8")
    return tuple(
        Family(
            row["pattern"],
            row["what"],
            int(row["first_made"]) if row["first_made"] else None,
            row["source"],
        )
        for row in csv.DictReader(text.splitlines())
    )


def _expression(pattern: str) -> str:
    """The pattern of a row as a regular expression: ``#`` is a figure, ``@`` a letter."""
    return pattern.replace("(", "(?:").replace("#", "[0-9]").replace("@", "[A-Z]")


@lru_cache(maxsize=1)
def _table() -> re.Pattern[str]:
    branches = "|".join(f"({_expression(family.pattern)})" for family in families())
    return re.compile(rf"([A-Z]{{0,4}})(?:{branches})((?:[A-Z/-][A-Z0-9/.-]*)?)")


def family_of(token: str) -> FamilyMatch | None:
    """The family that a token belongs to, or None.

    >>> match = family_of("SN74LS32N")
    >>> match.prefix, match.number, match.suffix, match.family.first_made
    ('SN', '74LS32', 'N', 1971)
    >>> family_of("QQ99") is None
    True
    """
    if len(token) > 24 or not (match := _table().fullmatch(token)):
        return None
    groups = match.groups()
    place = next(place for place, text in enumerate(groups[1:-1]) if text)
    return FamilyMatch(families()[place], groups[0], groups[place + 1], groups[-1])
