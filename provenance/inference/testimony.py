"""What speaks of the build besides the parts: production years, codes, stamps, documents.

Knows the likelihood of each kind and that each can be wrong. All ratios are to knowing nothing.

======================  ======================================================================
bare board code         the build follows the code by the trade's board delay
inspection stamp        the stamp follows the build by a short exponential lag
``in use by``           the build is not after the date
``not before``          the build is not before the date
``built on/between``    the build lies in the date's span; a serial number's date means this too
======================  ======================================================================
"""

from __future__ import annotations

from datetime import date
from typing import NamedTuple

import numpy as np

from provenance.inference.defaults import Defaults
from provenance.inference.delays import backwards, onwards, transit
from provenance.inference.grid import Array, Weeks
from provenance.inference.stock import Lognormal
from provenance.markings.reading import MarkingReading
from provenance.survey.model import Evidence, Survey
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
    """A piece of evidence in a sentence: its kind and, in brackets, its marking or date."""
    says = f"{evidence.says} " if evidence.says else ""
    return f"the {evidence.kind} ({says}{evidence.date or evidence.marking})"


class Said(NamedTuple):
    """One piece of evidence: ``right`` (W) is the part of its likelihood ratio that holds if it is
    right, ``wrong`` the part that holds if not."""

    right: Array
    wrong: float

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
    """What one piece of evidence says of each week; ``board`` is the bare board's delay."""
    reliability = evidence.reliability
    if reliability is None:
        reliability = defaults.reliability[evidence.kind]
    count, start = len(weeks), int(weeks[0])
    spans = _spans(evidence, reading)
    right = np.zeros(count)
    for (first, last), share in spans:
        low = max(week_of(first) - start, 0) if first else 0
        high = min(week_of(last) - start, count - 1) if last else count - 1
        ratio = np.zeros(count)
        if evidence.says == "in use by":
            ratio[: max(high + 1, 0)] = 1.0
        elif evidence.says == "not before":
            ratio[low:] = 1.0
        elif low <= high:
            ratio[low : high + 1] = count / (high - low + 1)
            if evidence.kind == "bare board code":
                ratio = onwards(ratio, transit(board))
            elif evidence.kind == "inspection stamp":
                ratio = backwards(ratio, inspection_lag(defaults))
        right += reliability * share * ratio
    return Said(right, 1.0 - reliability * sum(share for _, share in spans))


def inspection_lag(defaults: Defaults) -> Array:
    """Weeks from the build to an inspection stamp; sums to one."""
    lag = np.exp(-np.arange(int(12 * defaults.inspection_lag)) / defaults.inspection_lag)
    result: Array = lag / lag.sum()
    return result


def _spans(
    evidence: Evidence, reading: MarkingReading | None
) -> list[tuple[tuple[date | None, date | None], float]]:
    """The spans of days that a piece of evidence may speak of, with their probabilities."""
    if evidence.date is not None:
        return [(evidence.span(), 1.0)]
    if reading is None:
        return []
    return [((r.first, r.last), r.probability) for r in reading.readings]
