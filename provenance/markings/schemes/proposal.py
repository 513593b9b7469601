"""What a scheme hands to the reader: a date as it is written, with its year still open.

Knows the shape of a token. Leaves the calendar to ``provenance.markings.periods``, weights to
``provenance.markings.weights`` and choice to the reader.
"""

from __future__ import annotations

from functools import lru_cache
from typing import NamedTuple


class Proposal(NamedTuple):
    """A stretch of a token read as a date in one form of a scheme.

    ``form`` is the scheme's key, or the key, a dot and a variant: weights are kept by form.
    ``year`` repeats every ``cycle`` years (0: a full year; 100, 20, 10). ``unit`` and ``number``
    say which part of the year: ``week``, ``iso week`` and ``eia week`` (number of the week),
    ``month``, ``day`` (month x 100 + day), ``ordinal`` (day of the year), ``year`` (0).
    """

    form: str
    start: int
    end: int
    year: int
    cycle: int
    unit: str
    number: int
    until: int = 0
    """Last number, where unreadable characters leave a run open; 0: the number alone."""


_FIGURES = "0123456789"
_CAPITALS = "ABCDEFGHIJKLMNOPQRSTUVWXYZ"
_SAMPLES = str.maketrans(
    dict.fromkeys(_FIGURES, "0")
    | dict.fromkeys(_CAPITALS, "A")
    | dict.fromkeys(_CAPITALS.lower(), "a")
)


def sample_of(token: str) -> str:
    """The token that stands for all of the same shape: figures 0, capitals A, small letters a.

    A token with characters beyond ASCII stands for itself.

    >>> sample_of("TK7841-x"), sample_of("7Ω")
    ('AA0000-a', '7Ω')
    """
    return token.translate(_SAMPLES) if token.isascii() else token


@lru_cache(maxsize=1024)
def makeup_of(sample: str) -> str:
    """What a sample is made of: ``0`` figures, ``A`` letters, ``-`` anything else.

    The kind that it begins with comes first, then the other kinds that it holds, in this order.

    >>> [makeup_of(token) for token in ("7841", "H7841", "7841B", "97-11", "8'N4", "'78", "Ω")]
    ['0', 'A0', '0A', '0-', '0A-', '-0', '-']
    """
    kinds = [
        "-" if not char.isascii() else "0" if char.isdigit() else "A" if char.isalpha() else "-"
        for char in sample
    ]
    return kinds[0] + "".join(kind for kind in "0A-" if kind in kinds and kind != kinds[0])


def is_day(month: int, day: int) -> bool:
    """Whether a month can have such a day (29 February included)."""
    return 1 <= month <= 12 and 1 <= day <= (29 if month == 2 else 31 - (month in (4, 6, 9, 11)))
