"""A list of names in plain English, for every layer that puts one in a sentence.

Knows commas and the last word before the end; what is in the list is the caller's. Light to
import.
"""

from __future__ import annotations

from collections.abc import Iterable


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
