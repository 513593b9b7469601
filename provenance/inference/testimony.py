"""What speaks of the build besides the parts: production years, codes, stamps, documents.

Knows the likelihood of each kind and that each can be wrong. All ratios are to knowing nothing.

======================  ======================================================================
bare board code         the build follows the code by the trade's board delay, or an old blank's
inspection stamp        the stamp follows the build by a short exponential lag
``in use by``           the build is not after the date
``not before``          the build is not before the date
``built on/between``    the build lies in the date's span; a serial number's date means this too
======================  ======================================================================

An approximate date (EDTF's ``~``) has no sharp ends: each lies off by a normal distance, as wide as
the date is coarse. An uncertain one (``?``) is less likely right.
"""

from __future__ import annotations

from collections.abc import Iterator
from math import erf, sqrt
from typing import NamedTuple

import numpy as np

from provenance.inference.defaults import Defaults
from provenance.inference.delays import backwards, onwards, transit
from provenance.inference.grid import Array, Weeks
from provenance.inference.stock import Lognormal
from provenance.markings.reading import MarkingReading
from provenance.survey.model import Evidence, Survey
from provenance.survey.prose import says_of
from provenance.weeks import week_of


def prior(survey: Survey, weeks: Weeks, defaults: Defaults) -> Array:
    """(W): the build before anything is seen, flat over the production years; sums to one."""
    flat = np.ones(len(weeks))
    for bound, side in zip(survey.production_span(), (-1, 1), strict=True):
        if bound is not None:
            outside = np.maximum(side * (weeks - week_of(bound)), 0)
            flat *= np.exp(-outside / defaults.production_slack)
    result: Array = flat / flat.sum()
    return result


def named(evidence: Evidence) -> str:
    """A piece of evidence in a sentence: its kind, the section that it speaks of if it does of one,
    and in brackets its marking or date."""
    of = f" on {evidence.section}" if evidence.section else ""
    written = evidence.date or evidence.marking or ""
    return f"the {evidence.kind}{of} ({says_of(evidence.says, written)})"


def off(written: str, defaults: Defaults) -> float:
    """Weeks by which one end of a date in EDTF may lie off, by how it is written: a standard
    deviation."""
    if not written.endswith(("~", "%")):
        return 0.0
    known = written.rstrip("~%").replace("-XX", "")
    precision = "decade" if "X" in known else ("year", "month", "day")[known.count("-")]
    return defaults.approximate[precision]


class Said(NamedTuple):
    """One piece of evidence: ``right`` (W) is the part of its likelihood ratio that holds if it is
    right, ``wrong`` the part that holds if not, ``mistaken`` the share of that where it states a
    date and not none. ``usual`` (W) is ``right`` if no bare board lay for
    years as a blank."""

    right: Array
    wrong: float
    mistaken: float
    usual: Array

    @property
    def ratio(self) -> Array:
        """(W): the likelihood ratio of each week of the build."""
        return self.right + self.wrong


def said(
    evidence: Evidence,
    reading: MarkingReading | None,
    weeks: Weeks,
    board: Lognormal,
    defaults: Defaults,
) -> Said:
    """What one piece of evidence says of each week; ``board`` is the bare board's usual delay."""
    reliability = evidence.reliability
    if reliability is None:
        reliability = defaults.reliability[evidence.kind]
        if evidence.date and any(mark in evidence.date for mark in "?%"):
            reliability *= defaults.uncertain
    known = 0.0
    right, usual = np.zeros((2, len(weeks)))
    old, *blank = defaults.old_blanks
    for begins, ends, share in _spans(evidence, reading, defaults):
        since = np.ones(len(weeks)) if begins is None else begins.passed(weeks - begins.week)
        until = np.ones(len(weeks)) if ends is None else ends.passed(ends.week - weeks)
        if evidence.says == "in use by":
            ratio = lain = until
        elif evidence.says == "not before":
            ratio = lain = since
        else:
            ratio = lain = since * until * (len(weeks) / max((since * until).sum(), 1.0))
            if evidence.kind == "bare board code":
                lain = onwards(ratio, transit(Lognormal(*blank)))
                ratio = onwards(ratio, transit(board))
            elif evidence.kind == "inspection stamp":
                ratio = lain = backwards(ratio, inspection_lag(defaults))
        usual += reliability * share * ratio
        right += reliability * share * ((1 - old) * ratio + old * lain)
        known += share
    wrong = 1.0 - reliability * known
    mistaken = (1.0 - reliability) * known / wrong if wrong > 0 else 1.0
    return Said(right, wrong, mistaken, usual)


def board_delay(usual: Lognormal, defaults: Defaults) -> Array:
    """Weeks from the bare board's code to the build, as usual in the trade or as an old blank; sums
    to one."""
    old, *blank = defaults.old_blanks
    found = [(1 - old) * transit(usual), old * transit(Lognormal(*blank))]
    length = max(map(len, found))
    total: Array = np.sum([np.pad(one, (0, length - len(one))) for one in found], axis=0)
    return total


def inspection_lag(defaults: Defaults) -> Array:
    """Weeks from the build to an inspection stamp; sums to one."""
    lag = np.exp(-np.arange(max(int(12 * defaults.inspection_lag), 1)) / defaults.inspection_lag)
    result: Array = lag / lag.sum()
    return result


class _End(NamedTuple):
    """The week in which a span begins or ends, and how many weeks it may lie off."""

    week: int
    off: float

    def passed(self, weeks: Weeks) -> Array:
        """(W): the probability that weeks so far within the end lie within it indeed."""
        if not self.off:
            return (weeks >= 0).astype(np.float64)
        spread = (weeks + 0.5) / (self.off * sqrt(2))
        return np.array([0.5 * (1 + erf(x)) for x in spread.tolist()])


_Span = tuple[_End | None, _End | None, float]
"""First end, last end (None: open), probability."""


def _spans(
    evidence: Evidence, reading: MarkingReading | None, defaults: Defaults
) -> Iterator[_Span]:
    """The spans that a piece of evidence may speak of, with their probabilities."""
    if evidence.date is not None:
        begins, _, ends = evidence.date.partition("/")
        first, last = (
            None if day is None else _End(week_of(day), off(written, defaults))
            for day, written in zip(evidence.span(), (begins, ends or begins), strict=True)
        )
        yield first, last, 1.0
    elif reading is not None:
        for r in reading.readings:
            yield _End(week_of(r.first), 0.0), _End(week_of(r.last), 0.0), r.probability
