"""What reading a marking gives: tokens, dated readings with probabilities, and 'no date here'.

Plain data, light to import: no numpy, no pydantic. Tokens and readings are named tuples because
thousands are made a second.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from typing import NamedTuple

from provenance.weeks import Span


class Token(NamedTuple):
    """One run of characters of a marking, and what it was taken for.

    ``line`` and ``start``/``end`` say where it stands (end exclusive, in the marking as given).
    """

    text: str
    line: int
    start: int
    end: int
    taken_for: str
    why: str


class Reading(NamedTuple):
    """One dated interpretation of a marking.

    ``scheme`` is the key of the scheme; ``text`` the characters used, as they stand in the
    marking; ``first`` and ``last`` the span of days, both included; ``probability`` how likely
    this reading is from the marking alone, before the rest of the board has spoken.
    """

    scheme: str
    text: str
    first: date
    last: date
    probability: float
    start: int
    end: int
    why: tuple[str, ...] = ()

    @property
    def span(self) -> Span:
        """The days that the reading allows."""
        return Span(self.first, self.last)


@dataclass(frozen=True, slots=True)
class MarkingReading:
    """Everything that one marking says: readings, most probable first, and ``no_date``.

    The probabilities of the readings and ``no_date`` sum to one. They are stated under a prior
    that is flat over the years the marking could come from, so that a board can update them.
    """

    marking: str
    tokens: tuple[Token, ...]
    readings: tuple[Reading, ...]
    no_date: float
    doubts: tuple[str, ...] = ()
    """What is doubtful about the marking as a whole, and what would settle it, in sentences."""

    @property
    def best(self) -> Reading | None:
        """The most probable reading, or None where 'no date here' is more probable."""
        if self.readings and self.readings[0].probability > self.no_date:
            return self.readings[0]
        return None
