"""Part-number families: what a part number is, and since when it has been made.

Knows the table ``families.csv`` and how letters of a maker, package, speed and temperature stand
around a family's number. Leaves to the reader what that means for a date.
"""

from __future__ import annotations

import csv
import re
from collections.abc import Iterator
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
_QUANTIFIER = re.compile(r"\?|\{(\d)(?:,(\d))?\}")


def _beginnings(pattern: str) -> Iterator[tuple[str, str]]:
    """With which characters a number of the pattern can begin, and the pattern of what follows.

    >>> list(_beginnings("74LS##")), list(_beginnings("[A-C]?93")), list(_beginnings("(5|Z8)0"))
    ([('7', '4LS##')], [('ABC', '93'), ('9', '3')], [('5', '0'), ('Z', '80')])
    >>> list(_beginnings("#{1,3}Z"))
    [('0123456789', '#{0,2}Z')]
    """
    if not pattern:
        return
    place = _end_of_item(pattern)
    item, rest = pattern[:place], pattern[place:]
    least = most = 1
    if counted := _QUANTIFIER.match(rest):
        rest = rest[counted.end() :]
        least = int(counted[1] or 0)
        most = int(counted[2] or counted[1] or 1)
    # Groups are not repeated; of anything else, as many may follow as are left.
    more = f"{item}{{{max(least - 1, 0)},{most - 1}}}" if most > 1 else ""
    if most:
        if item[0] == "(":
            for branch in _branches(item[1:-1]):
                for chars, behind in _beginnings(branch):
                    yield chars, behind + rest
        else:
            yield _characters(item), more + rest
    if not least:
        yield from _beginnings(rest)


def _end_of_item(pattern: str) -> int:
    """Where the first character, class or group of a pattern ends."""
    if pattern[0] == "[":
        return pattern.index("]") + 1
    if pattern[0] == "\\":
        return 2
    depth = 0
    for place, char in enumerate(pattern, 1):
        depth += {"(": 1, ")": -1}.get(char, 0)
        if not depth:
            return place
    raise ValueError(f"{pattern}: a bracket stays open")


def _branches(pattern: str) -> Iterator[str]:
    """What stands between the bars of a group."""
    depth = begin = 0
    for place, char in enumerate(pattern):
        depth += {"(": 1, ")": -1}.get(char, 0)
        if char == "|" and not depth:
            yield pattern[begin:place]
            begin = place + 1
    yield pattern[begin:]


@lru_cache(maxsize=256)
def _characters(item: str) -> str:
    """The characters that a single character or a class stands for."""
    if item[0] == "\\":
        return item[1]
    if item[0] == "[":
        return "".join(char for char in _FIGURES + _CAPITALS if re.match(item, char))
    return {"#": _FIGURES, "@": _CAPITALS}.get(item, item)


@lru_cache(maxsize=1)
def _buckets() -> dict[str, list[tuple[Family, str]]]:
    """By the first character of the number: the families, and the pattern of what follows."""
    buckets: dict[str, list[tuple[Family, str]]] = {}
    for family in families():
        for chars, rest in _beginnings(family.pattern):
            for char in chars:
                buckets.setdefault(char, []).append((family, rest))
    return buckets


@lru_cache(maxsize=128)
def _table(start: str, lettered: bool) -> dict[str, list[Family]]:
    """The families of numbers with such a first character, by the second, in their order.

    ``lettered`` says whether two letters or more stand in front. Families of which the number
    alone says too little need them: one letter may be a plant's, before a date. Numbers that begin
    with letters have theirs.
    """
    table: dict[str, list[Family]] = {}
    for family, rest in _buckets().get(start, ()):
        if lettered or family.alone or start.isalpha():
            for chars, _ in _beginnings(rest):
                for char in chars:
                    members = table.setdefault(char, [])
                    if family not in members:
                        members.append(family)
    return table


@lru_cache(maxsize=1024)
def _compiled(pattern: str) -> re.Pattern[str]:
    """What a number of the family and the letters behind it must fit; built when first needed."""
    return re.compile(f"({_expression(pattern)})((?:[A-Z/-][A-Z0-9/.-]*)?)")


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
        for family in _table(number[0], lettered).get(number[1:2], ()):
            if not (found := _compiled(family.pattern).fullmatch(number)):
                continue
            if front or not found[2] or _PACKAGE.fullmatch(found[2]):
                return FamilyMatch(family, front, found[1], found[2])
            break
    return None
