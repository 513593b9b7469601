"""Surveys whose markings have known readings, so that a check of the inference checks only that."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from contextlib import contextmanager
from datetime import date
from unittest.mock import patch

from provenance.inference import evidence
from provenance.markings.reading import MarkingReading, Reading
from provenance.weeks import Span, monday, sunday

Dated = tuple[Span, float]
"""The days of one reading, and its probability."""


def reading_of(marking: str, dated: Sequence[Dated]) -> MarkingReading:
    """A marking read with given probabilities; the rest is 'no date here'."""
    readings = tuple(
        Reading("given", marking, span.first, span.last, probability, 0, len(marking))
        for span, probability in sorted(dated, key=lambda item: -item[1])
    )
    return MarkingReading(marking, (), readings, 1.0 - sum(p for _, p in dated))


def week_span(week: int, weeks: int = 1) -> Span:
    """The days of some whole weeks of the grid."""
    return Span(monday(week), sunday(week + weeks - 1))


@contextmanager
def fixed_readings(readings: Mapping[str, Sequence[Dated]]) -> Iterator[None]:
    """Read the given markings as given. Any other marking is an error."""

    def read(
        marking: str,
        *,
        near: int | None = None,
        years: tuple[int, int] = (0, 0),
        today: date | None = None,
        houses: object = (),
    ) -> MarkingReading:
        del near, years, today, houses
        return reading_of(marking, readings[marking])

    with patch.object(evidence, "read_marking", read):
        yield
