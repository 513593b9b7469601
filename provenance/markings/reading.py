"""What reading a marking gives: tokens, dated readings with probabilities, and 'no date here'.

Plain data, light to import: no numpy, no pydantic. Tokens and readings are named tuples because
thousands are made a second.
"""

from __future__ import annotations

from collections.abc import Callable
from datetime import date
from typing import Any, NamedTuple

from provenance.weeks import Span

MOST_READINGS = 60
"""Readings that one marking has at most."""


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


Explanation = tuple[tuple[Token, ...], tuple[str, ...]]
"""The tokens of a marking and its doubts."""


Unfold = Callable[[str, Any, int], tuple[Reading, ...]]
"""Makes the first so many readings of a marking from what its reader has kept for that."""


class MarkingReading:
    """Everything that one marking says: readings, most probable first, and ``no_date``.

    The probabilities of the readings and ``no_date`` sum to one. They are stated under a prior
    that is flat over the years the marking could come from, so that a board can update them.

    Treat a reading as fixed: equal readings are interchangeable. Threads may share one: what it
    is made from is looked up before it is asked whether it is made, and dropped only afterwards.
    """

    __slots__ = (
        "_explain",
        "_explanation",
        "_kept",
        "_leading",
        "_readings",
        "_unfold",
        "marking",
        "no_date",
    )

    _explain: Callable[[MarkingReading], Explanation] | None
    """None where the explanation was given."""
    _unfold: Unfold
    _kept: Any
    _explanation: Explanation | None
    _readings: tuple[Reading, ...] | None
    _leading: tuple[Reading, ...] | None

    def __init__(
        self,
        marking: str,
        tokens: tuple[Token, ...],
        readings: tuple[Reading, ...],
        no_date: float,
        doubts: tuple[str, ...] = (),
    ) -> None:
        self.marking = marking
        self.no_date = no_date
        self._explain = self._kept = None
        self._explanation = (tokens, doubts)
        self._readings = readings
        self._leading = readings[:1]

    @classmethod
    def given_later(
        cls,
        marking: str,
        no_date: float,
        explain: Callable[[MarkingReading], Explanation],
        unfold: Unfold,
        kept: Any,
    ) -> MarkingReading:
        """A reading whose parts are made when they are asked for: a long list asks for few.

        ``unfold`` makes the readings from what is ``kept``, and ``explain`` the tokens and doubts.
        """
        reading = cls.__new__(cls)
        reading.marking = marking
        reading.no_date = no_date
        reading._explain = explain
        reading._unfold = unfold
        reading._kept = kept
        reading._explanation = reading._readings = reading._leading = None
        return reading

    @property
    def readings(self) -> tuple[Reading, ...]:
        """Every dated reading, the most probable first."""
        kept, found = self._kept, self._readings
        if found is None:
            found = self._readings = self._unfold(self.marking, kept, MOST_READINGS)
            self._leading = found[:1]
            self._kept = None
        return found

    def _explained(self) -> Explanation:
        if self._explanation is None:
            assert self._explain
            self._explanation = self._explain(self)
        return self._explanation

    @property
    def tokens(self) -> tuple[Token, ...]:
        """Every run of characters, and what it was taken for."""
        return self._explained()[0]

    @property
    def doubts(self) -> tuple[str, ...]:
        """What is doubtful about the marking as a whole, and what would settle it, in sentences."""
        return self._explained()[1]

    @property
    def best(self) -> Reading | None:
        """The most probable reading, or None where 'no date here' is more probable than its code:
        a code that leaves the decade open has several readings, which count together."""
        kept, leading = self._kept, self._leading
        if leading is None:
            leading = self._leading = self._unfold(self.marking, kept, 1)
        if not leading:
            return None
        best = leading[0]
        if best.probability > self.no_date:
            return best
        if self.no_date >= 0.5:
            return None
        code = best.scheme, best.start, best.end
        alike = [one for one in self.readings if (one.scheme, one.start, one.end) == code]
        return best if sum(one.probability for one in alike) > self.no_date else None

    def __eq__(self, other: object) -> bool:
        if not isinstance(other, MarkingReading):
            return NotImplemented
        same = (self.marking, self.readings, self.no_date) == (
            other.marking,
            other.readings,
            other.no_date,
        )
        # What explains both alike, from the same readings, explains them the same.
        is_alike = self._explain is not None and self._explain is other._explain
        return same and (is_alike or self._explained() == other._explained())

    def __hash__(self) -> int:
        return hash((self.marking, self.readings, self.no_date))

    def __repr__(self) -> str:
        return (
            f"MarkingReading(marking={self.marking!r}, tokens={self.tokens!r}, "
            f"readings={self.readings!r}, no_date={self.no_date!r}, doubts={self.doubts!r})"
        )
