"""Part-number families: what a part number is, and since when it has been made.

Knows the table ``families.csv`` and how letters of a maker, package, speed and temperature stand
around a family's number. Leaves to the reader what that means for a date.
"""

from __future__ import annotations

import csv
import re
from functools import lru_cache
from pathlib import Path
from typing import NamedTuple


class Family(NamedTuple):
    """A row of the table.

    ``alone`` says whether the bare number is taken for the family; other numbers need letters in
    front. ``first_made`` is None where it is not known.
    """

    pattern: str
    kind: str
    what: str
    alone: bool
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
    text = Path(__file__).with_name("families.csv").read_text(encoding="utf-8")
    return tuple(
        Family(
            row["pattern"],
            row["kind"],
            row["what"],
            row["alone"] == "yes",
            int(row["first_made"]) if row["first_made"] else None,
            row["source"],
        )
        for row in csv.DictReader(text.splitlines())
    )


def _expression(pattern: str) -> str:
    """The pattern of a row as a regular expression: ``#`` is a figure, ``@`` a letter."""
    return pattern.replace("(", "(?:").replace("#", "[0-9]").replace("@", "[A-Z]")


_FIGURES = "0123456789"
_CAPITALS = "ABCDEFGHIJKLMNOPQRSTUVWXYZ"


def _starts(pattern: str) -> set[str]:
    """The characters with which a number of the pattern can begin.

    >>> sorted(_starts("74LS##")), sorted(_starts("[A-C]?93")), sorted(_starts("(5|Z8)0"))
    (['7'], ['9', 'A', 'B', 'C'], ['5', 'Z'])
    """
    first, rest = pattern[0], pattern[1:]
    if first.isalnum() and not rest.startswith("?"):
        return {first}
    if first == "(":
        depth, place, branches = 1, 1, [1]
        while depth:
            depth += {"(": 1, ")": -1}.get(pattern[place], 0)
            if pattern[place] == "|" and depth == 1:
                branches.append(place + 1)
            place += 1
        rest = pattern[place:]
        starts = set().union(*(_starts(pattern[branch:]) for branch in branches))
    elif first == "[":
        place = pattern.index("]") + 1
        starts = {char for char in _FIGURES + _CAPITALS if re.match(pattern[:place], char)}
        rest = pattern[place:]
    else:
        starts = set({"#": _FIGURES, "@": _CAPITALS}.get(first, first))
    return starts | _starts(rest[1:]) if rest.startswith("?") else starts


@lru_cache(maxsize=1)
def _buckets() -> dict[tuple[str, bool], list[Family]]:
    """By the first character of the number, and by whether two letters or more stand in front."""
    buckets: dict[tuple[str, bool], list[Family]] = {}
    for family in families():
        for start in _starts(family.pattern):
            buckets.setdefault((start, True), []).append(family)
            # Families of which the number alone says too little need letters in front; one
            # letter may be a plant's, before a date. Numbers that begin with letters have theirs.
            if family.alone or start.isalpha():
                buckets.setdefault((start, False), []).append(family)
    return buckets


@lru_cache(maxsize=128)
def _table(start: str, lettered: bool) -> tuple[re.Pattern[str], list[Family]] | None:
    """One expression for the families of a bucket, in the order of the table.

    Few branches are tried for any one token, and an expression is built when it is first needed.
    """
    members = _buckets().get((start, lettered))
    if not members:
        return None
    branches = "|".join(f"({_expression(family.pattern)})" for family in members)
    return re.compile(f"(?:{branches})((?:[A-Z/-][A-Z0-9/.-]*)?)"), members


_PACKAGE = re.compile(r"[A-Z]{1,5}[0-9]?(?:[-/.][A-Z0-9/.-]*)?|[-/][A-Z0-9/.-]+")
"""Package, speed and temperature letters: what may follow a number without letters in front."""
_LETTERS = re.compile(r"([A-Z]{0,4})-?")


def family_of(token: str) -> FamilyMatch | None:
    """The family that a token (in capitals) belongs to, or None.

    >>> match = family_of("SN74LS32N")
    >>> match.prefix, match.number, match.suffix, match.family.first_made
    ('SN', '74LS32', 'N', 1971)
    >>> family_of("7432").family.what, family_of("QQ99") is None
    ('7400-series logic (TTL)', True)
    """
    if not token or len(token) > 24 or not (match := _LETTERS.match(token)):
        return None
    prefix, rest = match[1], token[match.end() :]
    tries = [("", token, False)]
    if prefix and rest:
        tries.insert(0, (prefix, rest, len(prefix) > 1))
    for front, number, lettered in tries:
        bucket = _table(number[0], lettered)
        if bucket and (found := bucket[0].fullmatch(number)):
            groups = found.groups()
            if not front and groups[-1] and not _PACKAGE.fullmatch(groups[-1]):
                continue
            place = next(place for place, text in enumerate(groups[:-1]) if text)
            return FamilyMatch(bucket[1][place], front, groups[place], groups[-1])
    return None
