"""What every picture of time shares: ink, style, and a calendar that leaves long gaps out.

Knows how days become places along x; what is drawn at them is in ``plots`` and ``machine_plot``.
matplotlib is loaded by this module, so import it only when something is to be drawn.
"""

from __future__ import annotations

import warnings
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import date, datetime
from itertools import pairwise
from threading import RLock
from typing import Any

import matplotlib as mpl
import numpy as np
from matplotlib.axes import Axes
from matplotlib.dates import date2num, num2date

from provenance.notes import words

INK, MUTED, RULE, PAPER = "#1f2328", "#59636e", "#d0d7de", "#f4f6f8"

TYPEFACE: str = mpl.rcParamsDefault["font.sans-serif"][0]
"""The one that matplotlib brings along, so that every machine measures text alike."""

STYLE: Any = {
    "font.family": TYPEFACE,
    "font.size": 8.5,
    "text.color": INK,
    "svg.fonttype": "none",
    "svg.hashsalt": "provenance",
    "text.parse_math": False,
    "axes.spines.top": False,
    "axes.spines.right": False,
    "axes.spines.left": False,
    "axes.edgecolor": RULE,
    "xtick.color": MUTED,
    "xtick.labelcolor": INK,
    "hatch.linewidth": 0.6,
}


_ONE_AT_A_TIME = RLock()
"""matplotlib's style and Python's filters of warnings belong to all threads: two that drew at once
would undo each other's, and leave one of them behind."""


@contextmanager
def drawing() -> Iterator[None]:
    """The style, and no complaint about characters that the font has not; for one thread alone."""
    with _ONE_AT_A_TIME, mpl.rc_context(STYLE), warnings.catch_warnings():
        warnings.filterwarnings("ignore", message="Glyph .* missing from")
        yield


day_number: Callable[[date], float] = date2num
"""The place of a day along x."""
_moment: Callable[[float], datetime] = num2date


def _day(number: float) -> date:
    moment: datetime = _moment(number)
    return moment.date()


# ---- the calendar axis -----------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class Stretch:
    """A stretch of days in which something happened, drawn to scale."""

    first: float
    last: float

    @property
    def days(self) -> float:
        """Its length."""
        return self.last - self.first


SHORTEST_STRETCH = 120.0
LONGEST_GAP = 900.0
"""Days. A stretch is at least so long; a longer gap between stretches is drawn shortened."""
GAP_SHARE = 0.09
"""What a shortened gap takes, as a share of all stretches."""


def stretches(spans: Sequence[tuple[date, date]]) -> tuple[Stretch, ...]:
    """The stretches of time that hold all the spans, with a margin, apart by more than a gap."""
    ends = sorted((day_number(first), day_number(last)) for first, last in spans)
    if not ends:
        return ()
    merged = [list(ends[0])]
    for first, last in ends[1:]:
        if first - merged[-1][1] <= LONGEST_GAP:
            merged[-1][1] = max(merged[-1][1], last)
        else:
            merged.append([first, last])
    total = sum(last - first for first, last in merged)
    margin = max(20.0, 0.04 * total)
    # Towards a gap less than half of it, so that something of the gap remains.
    within = min(margin, LONGEST_GAP / 3)
    found = []
    for at, (first, last) in enumerate(merged):
        short = max(0.0, SHORTEST_STRETCH - (last - first)) / 2
        before = within if at else margin
        behind = within if at + 1 < len(merged) else margin
        found.append(Stretch(first - before - short, last + behind + short))
    return tuple(found)


def _scale(parts: tuple[Stretch, ...]) -> tuple[Any, Any]:
    """Days and the places they are drawn at: to scale in a stretch, shortened between."""
    total = sum(part.days for part in parts)
    days: list[float] = []
    places: list[float] = []
    at = 0.0
    for part in parts:
        days += [part.first, part.last]
        places += [at, at + part.days]
        at += part.days + GAP_SHARE * total
    return np.array(days), np.array(places)


def set_calendar(ax: Axes, parts: tuple[Stretch, ...], inches: float) -> None:
    """Make x the calendar of these stretches, its gaps marked; y gets no ticks.

    There are as many ticks as ``inches``, the width of the axes, have room for.
    """
    days, places = _scale(parts)

    def forward(x: Any) -> Any:
        inside = np.interp(x, days, places)
        return inside + np.minimum(x - days[0], 0) + np.maximum(x - days[-1], 0)

    def backward(y: Any) -> Any:
        inside = np.interp(y, places, days)
        return inside + np.minimum(y - places[0], 0) + np.maximum(y - places[-1], 0)

    ax.set_xscale("function", functions=(forward, backward))
    ax.set_xlim(days[0], days[-1])
    ticks: list[date] = []
    for part in parts:
        ticks += _ticks(part, inches * part.days / places[-1])
    labels = []
    year = None
    for tick in ticks:
        whole = all(t.month == 1 for t in ticks)
        named = str(tick.year) if whole else f"{tick:%b}"
        labels.append(named if whole or tick.year == year else f"{named}\n{tick.year}")
        year = tick.year
    ax.set_xticks([day_number(tick) for tick in ticks], labels)
    ax.minorticks_off()
    ax.set_yticks([])
    ax.tick_params(length=3)
    _mark_gaps(ax, parts)


_STEPS = (1, 3, 6, 12, 24, 60, 120, 240)
"""Months between ticks."""


def _ticks(part: Stretch, inches: float) -> list[date]:
    """First days of months in a stretch, as many as there is room for."""
    first = _day(part.first)
    last = _day(part.last)
    room = max(1, int(inches / 0.5))
    ticks: list[date] = []
    for step in _STEPS:
        months = range((first.year * 12 + first.month) // step * step, last.year * 12 + 13, step)
        ticks = [
            day
            for month in months
            if first <= (day := date(month // 12, month % 12 + 1, 1)) <= last
        ]
        if len(ticks) <= room:
            break
    return ticks


def _mark_gaps(ax: Axes, parts: tuple[Stretch, ...]) -> None:
    """Mark each shortened gap with its length in years."""
    for before, after in pairwise(parts):
        years = round((after.first - before.last) / 365.25)
        ax.axvspan(before.last, after.first, color=RULE, alpha=0.35, lw=0, zorder=0.5)
        ax.annotate(
            f"{words.counted(years, 'year')}\nleft out" if years else "left out",
            (_middle(before.last, after.first), 0),
            xycoords=("data", "axes fraction"),
            xytext=(0, -27),
            textcoords="offset points",
            ha="center",
            va="top",
            fontsize=7,
            color=MUTED,
        )


def _middle(first: float, last: float) -> float:
    """The middle of a shortened gap: halfway in days is halfway on paper."""
    return (first + last) / 2
