"""The boards of one machine on one calendar: when each was built, and when they came together.

Knows where each board's lane goes; what stands in a lane is drawn as on the board's own timeline,
by ``plots``, which also has the parts. matplotlib is loaded by this module, so import it only when
something is to be drawn.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from os import PathLike
from typing import TYPE_CHECKING

from matplotlib.axes import Axes
from matplotlib.figure import Figure

from provenance.notes import words
from provenance.notes.drawing import (
    INK,
    MUTED,
    PAPER,
    Stretch,
    day_number,
    drawing,
    set_calendar,
    stretches,
)
from provenance.notes.plots import (
    CURVE_ROWS,
    LABEL_ROWS,
    ROW,
    draw_events,
    head_rows,
    place_labels,
    shown_spans,
    write_figure,
)
from provenance.notes.statements import window

if TYPE_CHECKING:
    from provenance.census.machine import Belonging, MachineFinding
    from provenance.inference.finding import Window

WIDTH = 9.0
"""Inches."""
TITLE_ROWS, FOOT_ROWS = 1.2, 0.3
"""Rows that a board's title takes above its labels and curves, and what is left below them."""


def save_machine_plot(
    found: MachineFinding,
    path: str | PathLike[str],
    *,
    overwrite: bool = False,
    inputs: Iterable[str | PathLike[str]] = (),
) -> None:
    """Write the boards of a machine on one timeline, as PNG, SVG or PDF by the suffix.

    Each board has a lane with the posteriors of its build and of its later works; where the boards
    more likely than not belong together, dotted lines enclose when they were put together. Files,
    ``overwrite``, ``inputs`` and errors are as with ``save_plot``.
    """
    write_figure(machine_figure(found), path, overwrite=overwrite, inputs=inputs)


def machine_figure(found: MachineFinding) -> Figure:
    """The timeline of a machine as a figure that belongs to no window."""
    rows = _top_rows(found) + sum(height for _, height in _lanes(found))
    with drawing():
        figure = Figure(figsize=(WIDTH, max(2.6, ROW * rows + 0.75)), layout="constrained")
        _draw_machine(found, figure.add_subplot())
        return figure


def _put_together(found: MachineFinding) -> Window | None:
    """When the machine was put together, where its boards belong together at all."""
    return window(found.windows) if found.together >= 0.5 else None


def _top_rows(found: MachineFinding) -> float:
    return LABEL_ROWS + 0.4 if _put_together(found) else 0.2


def _lanes(found: MachineFinding) -> Iterator[tuple[float, float]]:
    """The top and the height of each board's lane, in rows from the first lane's top."""
    top = 0.0
    for finding in found.boards:
        height = TITLE_ROWS + head_rows(finding) + FOOT_ROWS
        yield top, height
        top += height


def _calendar(found: MachineFinding) -> tuple[Stretch, ...]:
    """Long enough for all but builds that nothing dates, and for when the boards came together."""
    none_dated = not any(finding.build.dated for finding in found.boards)
    spans = [
        span
        for finding in found.boards
        for span in shown_spans(finding, build=finding.build.dated or none_dated)
    ]
    if together := _put_together(found):
        spans.append((together.first, together.last))
    return stretches(spans)


def _draw_machine(found: MachineFinding, ax: Axes) -> None:
    lanes = tuple(_lanes(found))
    parts = _calendar(found)
    set_calendar(ax, parts, WIDTH - 2.3)
    bottom = sum(lanes[-1])
    whole = bottom + _top_rows(found)
    ax.set_ylim(bottom, bottom - whole)
    for at, (finding, board, (top, height)) in enumerate(
        zip(found.boards, found.belonging, lanes, strict=True)
    ):
        if at % 2 == 0:
            ax.axhspan(top, top + height, color=PAPER, lw=0, zorder=0)
        base = top + height - FOOT_ROWS
        _name_lane(ax, board, top, base, dated=finding.build.dated)
        lane = (bottom - top - height) / whole, (bottom - top) / whole
        draw_events(ax, finding, base, lane)
    if together := _put_together(found):
        ends = (day_number(together.first), day_number(together.last) + 1)
        for top, height in lanes:  # Beside the curves alone: a title or a label stays clear.
            below = top + height
            curves = below - FOOT_ROWS - CURVE_ROWS
            ax.vlines(ends, curves, below, color=INK, lw=1.1, ls=":", zorder=2)
        label = f"put together\n{words.percent(together.probability)}"
        place_labels(ax, [(sum(ends) / 2, label)], -0.15)


def _name_lane(ax: Axes, board: Belonging, top: float, base: float, *, dated: bool) -> None:
    """The board's title above its lane, and beside it how probable it is that it belongs: of one
    that nothing dates that is not known."""
    across = ax.get_yaxis_transform()
    name = words.clipped(words.visible(board.title), 8, 44)
    ax.text(-0.02, top + 0.7, name, transform=across, va="center", weight="bold", fontsize=8.5)
    known = words.percent(board.probability) if dated else "not known"
    belongs = f"built for this\nmachine {known}"
    ax.text(1.012, base - 1.2, belongs, transform=across, va="center", fontsize=7.5, color=MUTED)
