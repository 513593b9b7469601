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

from provenance.markings.expression import Expression


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


_FIGURES = "0123456789"
_CAPITALS = "ABCDEFGHIJKLMNOPQRSTUVWXYZ"
_ANY = _FIGURES + _CAPITALS + ".-/"
"""Every character of a number."""
_QUANTIFIER = re.compile(r"\?|\{(\d)(?:,(\d))?\}")


@lru_cache(maxsize=4096)
def _beginnings(pattern: str) -> tuple[tuple[str, str], ...]:
    """With which characters a number of the pattern can begin, and the pattern of what follows.

    >>> _beginnings("74LS##"), _beginnings("[A-C]?93"), _beginnings("(5|Z8)0")
    ((('7', '4LS##'),), (('ABC', '93'), ('9', '3')), (('5', '0'), ('Z', '80')))
    >>> _beginnings("#{1,3}Z")
    (('0123456789', '#{0,2}Z'),)
    """
    if not pattern:
        return ()
    place = _end_of_item(pattern)
    item, rest = pattern[:place], pattern[place:]
    least = most = 1
    if counted := _QUANTIFIER.match(rest):
        rest = rest[counted.end() :]
        least = int(counted[1] or 0)
        most = int(counted[2] or counted[1] or 1)
    found: list[tuple[str, str]] = []
    if item[0] == "(":  # Groups are not repeated.
        for branch in _branches(item[1:-1]):
            found += ((chars, behind + rest) for chars, behind in _beginnings(branch))
    elif most:
        more = f"{item}{{{max(least - 1, 0)},{most - 1}}}" if most > 1 else ""
        found.append((_characters(item), more + rest))
    return (*found, *_beginnings(rest)) if not least else tuple(found)


def _end_of_item(pattern: str) -> int:
    """Where the first character, class or group of a pattern ends."""
    if pattern[0] == "[":
        return pattern.index("]") + 1
    if pattern[0] != "(":
        return 2 if pattern[0] == "\\" else 1
    depth = 0
    for place, char in enumerate(pattern, 1):
        depth += (char == "(") - (char == ")")
        if not depth:
            return place
    raise ValueError(f"{pattern}: a bracket stays open")


def _branches(pattern: str) -> Iterator[str]:
    """What stands between the bars of a group."""
    depth = begin = 0
    for place, char in enumerate(pattern):
        depth += (char == "(") - (char == ")")
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
        inside = re.sub("(.)-(.)", _between, item[1:-1])
        return "".join(char for char in _ANY if char in inside)
    return {"#": _FIGURES, "@": _CAPITALS}.get(item, item)


def _between(ends: re.Match[str]) -> str:
    """The characters from one to another."""
    return "".join(map(chr, range(ord(ends[1]), ord(ends[2]) + 1)))


Rest = tuple[int, str]
"""The place of a family in the table, and the pattern of what is still to come of its number."""


class _Node(dict[str, "_Node | None"]):
    """What may still come of a number of which so many characters are known.

    All patterns are followed at once, one step a character: what is looked up is the node behind
    the character that comes next, None where no number has it there. The steps that were taken are
    kept: the patterns make some hundreds of nodes, and most tokens leave the paths soon.
    """

    __slots__ = ("complete", "next")

    def __init__(self, rests: tuple[Rest, ...]) -> None:
        super().__init__()
        self.next = [
            (chars, (family, more)) for family, rest in rests for chars, more in _beginnings(rest)
        ]
        """The characters that can come next, and what is still to come behind them."""
        self.complete = tuple(family for family, rest in rests if _may_end(rest))
        """The families of which this may be the whole number."""

    def __missing__(self, char: str) -> _Node | None:
        behind = dict.fromkeys([rest for chars, rest in self.next if char in chars])
        found = self[char] = _node(tuple(behind)) if behind else None
        return found


@lru_cache(maxsize=4096)
def _node(rests: tuple[Rest, ...]) -> _Node:
    return _Node(rests)


@lru_cache(maxsize=4096)
def _may_end(pattern: str) -> bool:
    """Whether nothing more need come.

    >>> _may_end(""), _may_end("#?A?"), _may_end("#{0,2}"), _may_end("#")
    (True, True, True, False)
    """
    while pattern:
        place = _end_of_item(pattern)
        counted = _QUANTIFIER.match(pattern, place)
        if not counted or counted[1] not in (None, "0"):
            return False
        pattern = pattern[counted.end() :]
    return True


@lru_cache(maxsize=2)
def _root(lettered: bool) -> _Node:
    """Where numbers begin, by whether they begin with letters or two stand in front.

    Families of which the number alone says too little need them: one letter may be a plant's,
    before a date.
    """
    known = (place for place, family in enumerate(families()) if lettered or family.alone)
    return _Node(tuple((place, families()[place].pattern) for place in known))


def _number_of(text: str, lettered: bool) -> tuple[Family, int] | None:
    """The first family of the table whose number a text begins with, and the number's length.

    What follows the number must be letters of package, speed and the like.
    """
    node = _root(lettered or text[:1].isalpha())
    found: dict[int, int] = {}
    for length, char in enumerate(text, 1):
        following = node[char]
        if following is None:
            break
        node = following
        if node.complete and _SUFFIX.fullmatch(text, length):
            found |= dict.fromkeys(node.complete, length)
    if not found:
        return None
    first = min(found)
    return families()[first], found[first]


_SUFFIX = re.compile(r"(?:[A-Z/-][A-Z0-9/.-]*)?")
_PACKAGE = Expression(r"[A-Z]{1,5}[0-9]?(?:[-/.][A-Z0-9/.-]*)?|[-/][A-Z0-9/.-]+")
"""What of these may follow a number without letters in front."""
_LETTERS = re.compile(r"([A-Z]{0,4})-?")


def _named_outright(token: str) -> Family | None:
    """The family whose number a whole token is, if it lists its numbers with their letters.

    ``S8050`` is a transistor of a short list, and not an 8050 with a letter in front.
    """
    found = _number_of(token, False)
    if not found or found[1] < len(token):
        return None
    return None if any(sign in found[0].pattern for sign in _OPEN) else found[0]


_OPEN = ("#", "[0-9]", "[1-9]")
"""What stands for any figure in a pattern."""


def family_of(token: str) -> FamilyMatch | None:
    """The family that a token (in capitals) belongs to, or None.

    >>> match = family_of("SN74LS32N")
    >>> match.prefix, match.number, match.suffix, match.family.first_made
    ('SN', '74LS32', 'N', 1971)
    >>> family_of("S8050").family.kind, family_of("D2114").family.kind
    ('transistor', 'memory')
    >>> family_of("7432").family.what, family_of("QQ99") is None
    ('7400-series logic (TTL)', True)
    """
    if not token or len(token) > 24 or not (match := _LETTERS.match(token)):
        return None
    prefix, begin = match[1], match.end()
    if prefix and begin < len(token) and (found := _number_of(token[begin:], len(prefix) > 1)):
        if len(prefix) < 3 and (outright := _named_outright(token)):
            return FamilyMatch(outright, "", token, "")
        family, length = found
        end = begin + length
        return FamilyMatch(family, prefix, token[begin:end], token[end:])
    if found := _number_of(token, False):
        family, length = found
        suffix = token[length:]
        if not suffix or _PACKAGE.fullmatch(suffix):
            return FamilyMatch(family, "", token[:length], suffix)
    return None
