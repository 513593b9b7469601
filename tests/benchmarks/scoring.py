"""What is counted of a board whose true date is known, and how it is printed."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from math import log, sqrt

import numpy as np

from provenance.inference.finding import Finding
from provenance.inference.windows import LEVELS

LEAST = 1e-5
"""Probability a week under which a finding does not list weeks: the floor of a score."""


@dataclass(frozen=True)
class Scored:
    """One board. ``held`` is the share of the stamp's days in the window of each level."""

    held: tuple[float, ...]
    weeks: tuple[float, ...]
    """Width of each window."""
    score: float
    """Log of the probability per week on the stamp's days."""


def _overlap(first: date, last: date, other_first: date, other_last: date) -> int:
    return max((min(last, other_last) - max(first, other_first)).days + 1, 0)


def scored(finding: Finding, stamp: tuple[date, date]) -> Scored:
    """Score a finding by the days that a stamp allows."""
    first, last = stamp
    days = (last - first).days + 1
    windows = {w.probability: w for w in finding.build.windows}
    held = tuple(_overlap(first, last, windows[x].first, windows[x].last) / days for x in LEVELS)
    widths = tuple(((windows[x].last - windows[x].first).days + 1) / 7 for x in LEVELS)
    mass = 0.0
    for week in finding.build.weeks:
        monday = week.week
        sunday = date.fromordinal(monday.toordinal() + 6)
        mass += week.probability * _overlap(first, last, monday, sunday) / 7
    return Scored(held, widths, log(max(mass / (days / 7), LEAST)))


HEADER = (
    f"{'':30}{'boards':>7}"
    + "".join(f"{f'{x:.0%} holds':>14}" for x in LEVELS)
    + f"{'90% weeks':>11}{'log score':>16}"
)


def row(name: str, boards: Sequence[Scored]) -> str:
    """Share held at each level with its binomial standard error, median width, mean log score."""
    count = len(boards)
    cells = []
    for level, share in zip(LEVELS, np.mean([b.held for b in boards], axis=0), strict=True):
        cells.append(f"{share:8.1%}\N{PLUS-MINUS SIGN}{sqrt(level * (1 - level) / count):.1%}")
    width = float(np.median([b.weeks[LEVELS.index(0.9)] for b in boards]))
    scores = np.array([b.score for b in boards])
    error = scores.std(ddof=1) / sqrt(count)
    return (
        f"{name:30}{count:7}"
        + "".join(f"{cell:>14}" for cell in cells)
        + f"{width:11.1f}{scores.mean():9.3f}\N{PLUS-MINUS SIGN}{error:.3f}"
    )


def gain(name: str, better: Sequence[Scored], worse: Sequence[Scored]) -> str:
    """How much log score a board one model gains on another, on the same boards."""
    gains = np.array([a.score - b.score for a, b in zip(better, worse, strict=True)])
    error = gains.std(ddof=1) / sqrt(len(gains))
    return f"{name}: {gains.mean():+.3f} nats a board (standard error {error:.3f})"
