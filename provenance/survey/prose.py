"""Plain English that every layer needs: lists of names, how a sentence begins, names of months,
what a document says of a date.

Knows commas, the last word before the end and the capital; what is said is the caller's. Light to
import.
"""

from __future__ import annotations

from collections.abc import Iterable

MONTHS = (
    *("January", "February", "March", "April", "May", "June"),
    *("July", "August", "September", "October", "November", "December"),
)
"""English whatever the locale, unlike the calendar module's names."""


def listed(items: Iterable[str], *, limit: int | None = None, last: str = "and") -> str:
    """A list in prose; with a limit, the rest is counted.

    >>> listed(["U1"]), listed(["U1", "U2"]), listed(["U1", "U2", "U3"])
    ('U1', 'U1 and U2', 'U1, U2 and U3')
    >>> listed(["U1", "U2", "U3", "U4"], limit=2), listed([])
    ('U1, U2 and 2 others', '')
    """
    names = list(items)
    if limit is not None and len(names) > limit + 1:
        rest = len(names) - limit
        names = [*names[:limit], f"{rest} others"]
    if len(names) < 2:
        return "".join(names)
    return f"{', '.join(names[:-1])} {last} {names[-1]}"


def begun(text: str) -> str:
    """A text with a capital first letter, unless it begins with a reference, which stays as it is.

    >>> begun("the document"), begun("u7 was replaced"), begun("")
    ('The document', 'u7 was replaced', '')
    """
    if any(character.isdecimal() for character in text.partition(" ")[0]):
        return text
    return text[:1].upper() + text[1:]


def says_of(says: str | None, written: str) -> str:
    """What a document says of a date in EDTF: a board is built on a day, in a month or a year.

    >>> says_of("built on", "1975-03-12"), says_of("built on", "1975~")
    ('built on 1975-03-12', 'built in 1975~')
    >>> says_of("built between", "1979/1980"), says_of(None, "1979")
    ('built between 1979 and 1980', '1979')
    """
    if says == "built on" and (written.count("-") != 2 or "/" in written):
        says = "built in"
    if says == "built between" and ".." not in written:
        written = written.replace("/", " and ")
    return f"{says} {written}" if says else written
