"""The timeline and the board map, drawn once for the report, for files and for Python.

Knows where each mark goes and how origins are told apart: by shape and label first, by colour as
well. What is shown is the finding's; nothing is worked out here. matplotlib is loaded by this
module, so import it only when something is to be drawn.
"""

from __future__ import annotations

import io
import math
import re
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from datetime import date
from html import escape
from os import PathLike
from pathlib import Path
from typing import TYPE_CHECKING, Any, Literal

from matplotlib.axes import Axes
from matplotlib.figure import Figure
from matplotlib.patches import FancyBboxPatch, Rectangle

from provenance.errors import ProvenanceError
from provenance.notes import words
from provenance.notes.bounded import bounded
from provenance.notes.drawing import (
    INK,
    MUTED,
    PAPER,
    RULE,
    TYPEFACE,
    day_number,
    drawing,
    set_calendar,
    stretches,
)
from provenance.notes.statements import (
    ORIGIN_NAMES,
    Standing,
    by_section,
    claims,
    date_read,
    in_place_of_date,
    lone_refs,
    standings,
    summary,
    window,
)
from provenance.survey.whole import write_whole_bytes

if TYPE_CHECKING:
    from provenance.inference.finding import Finding, WeekProbability, Window

COLOURS = {
    "original": "#0072b2",
    "later work": "#d55e00",
    "replacement": "#882255",
    "not original": "#d55e00",
    "recorded work": INK,
}
"""Source: blue and vermilion of Okabe and Ito 2008, Color Universal Design; wine of Tol 2021,
Colour Schemes (muted), which stays apart from both in every kind of colour vision. Where it is open
how a part came later it has the colour of later work, and a shape of its own."""

MARKERS = {
    "original": "s",
    "later work": "D",
    "replacement": "^",
    "not original": "v",
    "recorded work": "o",
}
LINES: dict[str, Any] = {
    "original": "-",
    "later work": "--",
    "replacement": ":",
    "not original": (0, (6, 1.5, 1, 1.5, 1, 1.5)),
    "recorded work": "-.",
}
"""Shape and outline of each origin; one that is not even likely is drawn hollow, with a question
mark after its word."""

CSS_COLOURS = {
    INK: "var(--ink)",
    MUTED: "var(--muted)",
    RULE: "var(--rule)",
    PAPER: "var(--lane)",
    COLOURS["original"]: "var(--original)",
    COLOURS["later work"]: "var(--later)",
    COLOURS["replacement"]: "var(--replaced)",
    "#ffffff": "var(--page)",
}
"""What a colour becomes in a report, whose style sheet has a light and a dark set."""

ROW = 0.21
"""Height of a part's row, in inches."""
CURVE_ROWS, LABEL_ROWS = 2.7, 1.6
"""Rows taken by the curves above the lanes, and by each line of labels above those."""
LABELS_IN_LINE = 4
"""So many labels stand in one line; more are spread over two."""


# ---- the timeline ----------------------------------------------------------------------------


def plot_timeline(finding: Finding, ax: Axes | None = None) -> Axes:
    """The parts' readings by section against time, with the build and later works; the axes.

    Days run along x as matplotlib dates; long stretches in which nothing happened are shortened
    and marked. Above the lanes stand the posteriors of the build and of each later work, each
    drawn to its own height. Without ``ax`` a new pyplot figure is made.
    """
    with drawing():
        if ax is None:
            from matplotlib import pyplot as plt  # noqa: PLC0415 - only for interactive use

            ax = plt.figure(figsize=timeline_size(finding), layout="constrained").add_subplot()
        _draw_timeline(finding, ax)
        return ax


def timeline_size(finding: Finding) -> tuple[float, float]:
    """Width and height in inches that a timeline needs."""
    sections = len({part.section for part in finding.parts})
    rows = len(finding.parts) + 1.2 * sections + head_rows(finding)
    return 9.0, max(2.6, ROW * rows + 0.75)


def head_rows(finding: Finding) -> float:
    """Rows that the curves of a board and the labels above them take."""
    lines = 1 if len(_shown_works(finding)) < LABELS_IN_LINE else 2
    return CURVE_ROWS + LABEL_ROWS * lines


def shown_spans(
    finding: Finding, found: Sequence[Standing] = (), *, build: bool = True
) -> list[tuple[date, date]]:
    """The days that a picture of these parts, the later works and with ``build`` that needs."""
    spans = [(read.first, read.last) for s in found if (read := date_read(s.part))]
    shown_works = (work.windows for work in _shown_works(finding))
    for windows in (finding.build.windows, *shown_works) if build else shown_works:
        # Both: the shortest runs of weeks need not lie one within the other.
        shown = (window(windows), window(windows, 0.95))
        spans += [(said.first, said.last) for said in shown if said]
    return spans


@dataclass(frozen=True, slots=True)
class ShownWork:
    """A later work as it is drawn: inferred or recorded."""

    name: str
    probability: float
    known: bool
    windows: tuple[Window, ...]
    weeks: tuple[WeekProbability, ...]

    @property
    def number(self) -> str:
        """Its probability, or that it is on record."""
        return "recorded" if self.known else words.percent(self.probability)


def _shown_works(finding: Finding) -> tuple[ShownWork, ...]:
    not_original = {p.ref: 1 - p.origin.original for p in finding.parts}
    lone = lone_refs(finding)
    # A work on a group of one part is told by the part, whose being later is what it comes to.
    inferred = (
        ShownWork(
            c.subject,
            max(not_original[ref] for ref in c.work.parts)
            if len(c.work.parts) == 1 and lone.issuperset(c.work.parts)
            else c.probability,
            False,
            c.work.windows,
            c.work.weeks,
        )
        for c in claims(finding)
    )
    known = (
        ShownWork(words.visible(w.done or "recorded work"), 1.0, True, w.windows, w.weeks)
        for w in finding.later_works
        if w.known
    )
    return (*inferred, *known)


def _draw_timeline(finding: Finding, ax: Axes) -> None:
    finding = bounded(finding)
    found = standings(finding, None)
    parts = stretches(shown_spans(finding, found))
    if not parts:
        ax.set_axis_off()
        ax.text(0.5, 0.5, "Nothing to show on a timeline", ha="center", transform=ax.transAxes)
        return
    figure = ax.get_figure(root=True)
    width = figure.get_figwidth() if isinstance(figure, Figure) else 9.0
    set_calendar(ax, parts, width - 2.3)
    bottom = _lanes(ax, found)
    head = head_rows(finding)
    ax.set_ylim(bottom, -head)
    draw_events(ax, finding)
    ax.legend(
        handles=_keys(ax, found),
        loc="upper center",
        bbox_to_anchor=(0.5, -48 / (72 * max(1.0, ROW * (bottom + head)))),
        ncols=4,
        frameon=False,
        fontsize=8,
        handletextpad=0.4,
    )


def _lanes(ax: Axes, found: Sequence[Standing]) -> float:
    """Draw the lanes and their parts; the y below the last."""
    y = 0.3
    left, right = ax.get_yaxis_transform(), ax.get_yaxis_transform()
    for at, (section, mine) in enumerate(by_section(found).items()):
        height = len(mine) + 1.2
        if at % 2 == 0:
            ax.axhspan(y, y + height, color=PAPER, lw=0, zorder=0)
        name = words.clipped(words.visible(section), 8, 44)
        ax.text(-0.105, y + 0.6, name, transform=left, va="center", weight="bold", fontsize=8.5)
        for row, s in enumerate(mine):
            here = y + 1.2 + row + 0.4
            ref = words.clipped(words.visible(s.part.ref), 4, 12)
            ax.text(-0.012, here, ref, transform=left, ha="right", va="center")
            told = _told(s, words.percent(s.probability))
            ax.text(1.012, here, told, transform=right, va="center", fontsize=7.5, color=MUTED)
            _draw_part(ax, s, here)
        y += height
    return y + 0.2


def _told(found: Standing, number: str) -> str:
    """The origin of a part in a word, with its probability where the marks are asked for it."""
    if found.recorded:
        return ORIGIN_NAMES["recorded work"]
    return f"{ORIGIN_NAMES[found.kind]}{'?' if found.doubtful else ''} {number}"


def _draw_part(ax: Axes, found: Standing, y: float) -> None:
    read = date_read(found.part)
    colour = COLOURS[found.told]
    if read is None:
        ax.text(
            0.004,
            y,
            in_place_of_date(found.part).seen,
            transform=ax.get_yaxis_transform(),
            va="center",
            style="italic",
            fontsize=7.5,
            color=MUTED,
        )
        return
    first, last = day_number(read.first), day_number(read.last) + 1
    ax.plot([first, last], [y, y], color=colour, lw=4, solid_capstyle="butt", alpha=0.55, zorder=3)
    ax.plot(
        [(first + last) / 2],
        [y],
        MARKERS[found.told],
        ms=5.5,
        mec=colour,
        mfc="#ffffff" if found.open else colour,
        mew=1.2,
        zorder=4,
    )


def draw_events(
    ax: Axes, finding: Finding, base: float = 0.0, lane: tuple[float, float] = (0.0, 1.0)
) -> None:
    """The build window and the later works as shaded bands, their curves and labels above.

    The curves stand on ``base``; the bands go over the ``lane``, in shares of the axes' height.
    """
    finding = bounded(finding)
    said = window(finding.build.windows)
    labels: list[tuple[float, str]] = []
    recorded: list[tuple[float, str]] = []
    if said is not None:
        first, last = day_number(said.first), day_number(said.last) + 1
        colour = COLOURS["original"]
        ax.axvspan(first, last, *lane, color=colour, alpha=0.13, lw=0, zorder=1)
        name = "built" if finding.build.dated else "assumed, nothing dates it"
        labels.append(((first + last) / 2, f"{name}\n{words.percent(said.probability)}"))
        _curve(ax, finding.build.weeks, colour, "-", base)
    for work in _shown_works(finding):
        span = window(work.windows)
        if span is None:
            continue
        first, last = day_number(span.first), day_number(span.last) + 1
        colour = INK if work.known else COLOURS["later work"]
        ax.axvspan(
            first,
            last,
            *lane,
            facecolor=colour,
            alpha=0.05 + 0.11 * work.probability,
            lw=0,
            zorder=1,
        )
        label = f"{words.clipped(work.name, 4, 24)}\n{work.number}"
        (recorded if work.known else labels).append(((first + last) / 2, label))
        _curve(ax, work.weeks, colour, "--", base)
    place_labels(ax, labels + _together(recorded), base - CURVE_ROWS)


IN_ONE_GO = 183
"""Recorded works fewer days apart than this bear one label, half a year."""


def _together(recorded: Iterable[tuple[float, str]]) -> list[tuple[float, str]]:
    """Labels of recorded works by day, with one for all that were done in one go: those of an owner
    at the bench would stand one over the other."""
    goes: list[list[tuple[float, str]]] = []
    for x, label in sorted(recorded):
        if goes and x - goes[-1][-1][0] < IN_ONE_GO:
            goes[-1].append((x, label))
        else:
            goes.append([(x, label)])
    return [
        (
            sum(x for x, _ in go) / len(go),
            go[0][1] if len(go) == 1 else f"{words.counted(len(go), 'work')}\nrecorded",
        )
        for go in goes
    ]


SHOWN_FROM = 0.005
"""A week less probable than this share of the likeliest is left out of a curve."""


def _curve(ax: Axes, weeks: Sequence[WeekProbability], colour: str, line: str, base: float) -> None:
    if not weeks:
        return
    top = max(week.probability for week in weeks)
    shown = [week for week in weeks if week.probability >= SHOWN_FROM * top]
    xs: list[float] = []
    ys: list[float] = []
    for week in shown:
        x = day_number(week.week) + 3.5
        if xs and x - xs[-1] > 7:  # Weeks were left out: the curve goes down to nothing between.
            xs += [xs[-1] + 7, x - 7]
            ys += [base, base]
        xs.append(x)
        ys.append(base - 2.5 * week.probability / top)
    ax.fill_between(xs, ys, base, color=colour, alpha=0.22, lw=0, zorder=2)
    ax.plot(xs, ys, line, color=colour, lw=1.2, zorder=3)


def place_labels(ax: Axes, labels: list[tuple[float, str]], base: float) -> None:
    """Write the labels above ``base``, each at its day, in two heights where they would touch."""
    transform = ax.transData + ax.transAxes.inverted()
    taken: list[tuple[float, float, int]] = []
    for x, text in sorted(labels):
        place = float(transform.transform((x, 0))[0])
        half = 0.0052 * max(map(len, text.split("\n"))) + 0.01
        place = min(max(place, half - 0.02), 1.02 - half)
        level = next(
            (
                k
                for k in range(2)
                if all(k != used or place - half >= end for _, end, used in taken)
            ),
            1,
        )
        taken.append((place - half, place + half, level))
        ax.text(
            place,
            base - LABEL_ROWS * level,
            text,
            transform=ax.get_yaxis_transform(),
            ha="center",
            va="bottom",
            fontsize=7.5,
            linespacing=1.15,
            color=INK,
        )


def _keys(ax: Axes, found: Sequence[Standing]) -> list[Any]:
    """One key for each origin that is shown, and one for a doubtful origin."""
    keys: list[Any] = []
    for kind, name in ORIGIN_NAMES.items():
        if any(s.told == kind for s in found):
            colour = COLOURS[kind]
            keys += ax.plot([], [], MARKERS[kind], color=colour, label=name, ms=6)
    if any(s.open for s in found):
        keys += ax.plot(
            [], [], "o", mfc="#ffffff", mec=MUTED, label="hollow, ?: not even likely", ms=6
        )
    return keys


# ---- the board map ---------------------------------------------------------------------------

CELL_WIDTH, CELL_HEIGHT = 1.0, 0.64
"""A part's cell, in inches."""
BOARD_WIDTH = 9.0
"""Inches."""
HEADING = 0.42


@dataclass(frozen=True, slots=True)
class Area:
    """A section's place on the map, in inches from the top left."""

    name: str
    parts: tuple[Standing, ...]
    columns: int
    x: float
    y: float

    @property
    def width(self) -> float:
        """Its width."""
        return self.columns * CELL_WIDTH + 0.16

    @property
    def height(self) -> float:
        """Its height."""
        return math.ceil(len(self.parts) / self.columns) * CELL_HEIGHT + HEADING + 0.12


def areas(finding: Finding) -> tuple[Area, ...]:
    """The sections as areas in rows, in the order of the survey, none wider than the map."""
    placed: list[Area] = []
    x = y = row = 0.0
    for name, mine in by_section(standings(finding, None)).items():
        most = int((BOARD_WIDTH - 0.16) // CELL_WIDTH)
        columns = max(min(len(mine), 2), min(most, math.ceil(math.sqrt(1.4 * len(mine)))))
        columns = min(columns, len(mine)) if len(mine) > 1 else 1
        columns = max(columns, min(2, most)) if len(name) > 12 else columns
        area = Area(name, tuple(mine), columns, x, y)
        if x and x + area.width > BOARD_WIDTH:
            x, y, row = 0.0, y + row + 0.16, 0.0
            area = Area(name, tuple(mine), columns, x, y)
        placed.append(area)
        x += area.width + 0.16
        row = max(row, area.height)
    return tuple(placed)


def board_size(finding: Finding) -> tuple[float, float]:
    """Width and height in inches that a board map needs."""
    deepest = max((area.y + area.height for area in areas(finding)), default=1.0)
    return BOARD_WIDTH + 0.2, deepest + 0.6


def plot_board(finding: Finding, ax: Axes | None = None) -> Axes:
    """The sections as areas with their parts, each with its origin by shape and label; the axes.

    The map keeps the survey's order; it is no picture of where the sections lie. Without ``ax`` a
    new pyplot figure is made.
    """
    with drawing():
        if ax is None:
            from matplotlib import pyplot as plt  # noqa: PLC0415 - only for interactive use

            ax = plt.figure(figsize=board_size(finding)).add_axes((0, 0, 1, 1))
        _draw_board(finding, ax)
        return ax


def _draw_board(finding: Finding, ax: Axes) -> None:
    finding = bounded(finding)
    width, height = board_size(finding)
    ax.set_xlim(-0.1, width - 0.1)
    ax.set_ylim(height - 0.1, -0.1)
    ax.set_aspect("equal")
    ax.set_axis_off()
    found = [s for area in areas(finding) for s in area.parts]
    for area in areas(finding):
        ax.add_patch(
            FancyBboxPatch(
                (area.x + 0.05, area.y + 0.05),
                area.width - 0.1,
                area.height - 0.1,
                boxstyle="round,pad=0.05,rounding_size=0.08",
                fc=PAPER,
                ec=RULE,
                lw=1,
            )
        )
        letters = max(8, int(area.width / 0.085) - 2)
        name = words.clipped(words.visible(area.name), 12, letters)
        ax.text(area.x + 0.14, area.y + 0.25, name, weight="bold", va="center", fontsize=9)
        for at, s in enumerate(area.parts):
            row, column = divmod(at, area.columns)
            _draw_cell(
                ax, s, area.x + 0.08 + column * CELL_WIDTH, area.y + HEADING + row * CELL_HEIGHT
            )
    ax.legend(
        handles=_keys(ax, found),
        loc="lower left",
        ncols=4,
        frameon=False,
        fontsize=8.5,
        handletextpad=0.4,
    )


def _draw_cell(ax: Axes, found: Standing, x: float, y: float) -> None:
    colour = COLOURS[found.told]
    ax.add_patch(
        Rectangle(
            (x + 0.05, y + 0.04),
            CELL_WIDTH - 0.1,
            CELL_HEIGHT - 0.08,
            fc="#ffffff",
            ec=colour,
            lw=1.3,
            ls=LINES[found.told],
        )
    )
    ax.plot(
        [x + 0.2],
        [y + 0.2],
        MARKERS[found.told],
        ms=6,
        mec=colour,
        mfc="#ffffff" if found.open else colour,
        mew=1.2,
    )
    ref = words.clipped(words.visible(found.part.ref), 3, 8)
    ax.text(x + 0.32, y + 0.2, ref, va="center", fontsize=9)
    number = words.short_percent(found.probability)
    ax.text(x + 0.12, y + 0.42, _told(found, number), va="center", fontsize=6.6, color=INK)


# ---- out to files, pages and notebooks -------------------------------------------------------


def timeline_figure(finding: Finding) -> Figure:
    """The timeline as a figure that belongs to no window."""
    with drawing():
        figure = Figure(figsize=timeline_size(finding), layout="constrained")
        _draw_timeline(finding, figure.add_subplot())
        return figure


def board_figure(finding: Finding) -> Figure:
    """The board map as a figure that belongs to no window."""
    with drawing():
        figure = Figure(figsize=board_size(finding))
        _draw_board(finding, figure.add_axes((0, 0, 1, 1)))
        return figure


Picture = Literal["timeline", "board"]
FIGURES: dict[Picture, Callable[[Finding], Figure]] = {
    "timeline": timeline_figure,
    "board": board_figure,
}

FORMATS = ("png", "svg", "pdf")


def save_plot(
    finding: Finding,
    path: str | PathLike[str],
    what: Picture = "timeline",
    *,
    overwrite: bool = False,
    inputs: Iterable[str | PathLike[str]] = (),
) -> None:
    """Write the timeline, or with ``what="board"`` the map, as PNG, SVG or PDF by the suffix.

    The file is written whole or not at all, and the same finding gives the same bytes. Refuses an
    existing file unless ``overwrite``, and each of ``inputs`` in any case, as ``write_whole`` does.
    Raises ProvenanceError for another suffix or picture, OutputError where nothing was written.
    """
    if what not in FIGURES:
        fix = f"use {words.listed(FIGURES, last='or')}"
        raise ProvenanceError(f"there is no picture {words.visible(str(what))!r}. Fix: {fix}")
    write_figure(FIGURES[what](finding), path, overwrite=overwrite, inputs=inputs)


def write_figure(
    figure: Figure,
    path: str | PathLike[str],
    *,
    overwrite: bool,
    inputs: Iterable[str | PathLike[str]],
) -> None:
    """Write a figure by the suffix, on the terms of ``save_plot``."""
    path = Path(path)
    form = path.suffix.lower().removeprefix(".")
    if form not in FORMATS:
        kind = repr(words.visible(path.suffix)) if path.suffix else "a file without a suffix"
        raise ProvenanceError(
            f"{words.visible(str(path))}: a plot cannot be written as {kind}. "
            f"Fix: end the name in .png, .svg or .pdf"
        )
    out = io.BytesIO()
    undated = {"svg": {"Date": None}, "pdf": {"CreationDate": None}, "png": {}}
    with drawing():
        figure.savefig(out, format=form, dpi=160, facecolor="white", metadata=undated[form])
    write_whole_bytes(path, out.getvalue(), overwrite=overwrite, inputs=inputs)


def plot_svg(finding: Finding, what: Picture = "timeline", id_: str = "") -> str:
    """A plot as an SVG element for a page, with ``id_`` before every id.

    Text stays text, a title and a description tell those who cannot see it what it shows, and its
    colours are CSS variables, so that it follows light and dark.
    """
    name = f"{id_}{what}"
    out = io.StringIO()
    with drawing():
        FIGURES[what](finding).savefig(
            out, format="svg", transparent=True, metadata={"Date": None, "Creator": None}
        )
    svg = out.getvalue()
    svg = svg[svg.index("<svg") :]
    svg = re.sub(r"\s*<metadata>.*?</metadata>", "", svg, flags=re.DOTALL)
    svg = re.sub(r'\b(id="|xlink:href="#|href="#)', rf"\g<1>{name}-", svg)
    svg = svg.replace("url(#", f"url(#{name}-")
    svg = re.sub("#[0-9a-f]{6}", lambda found: CSS_COLOURS.get(found[0], found[0]), svg)
    svg = re.sub(rf"'{TYPEFACE}'[^;\"]*", "var(--font)", svg)
    head = re.match(r"<svg[^>]*>", svg)
    assert head is not None
    view = re.search(r'viewBox="[^"]*"', head[0])
    assert view is not None
    title, told = _alternative(finding, what)
    start = (
        f'<svg xmlns="http://www.w3.org/2000/svg" xmlns:xlink="http://www.w3.org/1999/xlink" '
        f'class="plot {what}{" tall" if _is_tall(view[0]) else ""}" {view[0]} role="img" '
        f'aria-labelledby="{name}-title {name}-desc">\n'
        f'<title id="{name}-title">{escape(title)}</title>\n'
        f'<desc id="{name}-desc">{escape(told)}</desc>'
    )
    return start + svg[head.end() :].rstrip()


TALL = 2.0
"""Height over width beyond which a plot in print goes over several sheets, since on one its text
could no longer be read."""


def _is_tall(view: str) -> bool:
    width, height = map(float, re.findall(r"[\d.]+", view)[2:])
    return height > TALL * width


def _alternative(finding: Finding, what: Picture) -> tuple[str, str]:
    """What a plot shows, in words."""
    finding = bounded(finding)
    found = standings(finding, None)
    name = words.visible(finding.title) or "the board"
    if what == "board":
        told = [f"Map of {words.counted(len(areas(finding)), 'section')}."]
        for area in areas(finding):
            kinds = [ORIGIN_NAMES[s.told] + (" (doubtful)" if s.open else "") for s in area.parts]
            counts = [f"{kinds.count(kind)} {kind}" for kind in dict.fromkeys(kinds)]
            told.append(f"{words.visible(area.name)}: {words.listed(counts)}.")
        return f"Map of {name}", " ".join(told)
    said = window(finding.build.windows)
    told = []
    if said:
        told.append(
            f"Build {words.when(said.first, said.last)}, {words.percent(said.probability)}."
        )
    for work in _shown_works(finding):
        span = window(work.windows)
        if span:
            when = words.when(span.first, span.last)
            told.append(f"{work.name}: {when}, {work.number}.")
    dated = sum(1 for s in found if date_read(s.part))
    told.append(f"{words.counted(dated, 'part')} with a date read; the parts table has each.")
    return f"Timeline of {name}", " ".join(told)


def repr_html(finding: Finding) -> str:
    """A finding as a notebook shows it: the summary and the timeline."""
    said = "".join(f"<li>{escape(text)}</li>" for text in summary(finding))
    variables = ";".join(
        f"{css[4:-1]}:{colour}" for colour, css in CSS_COLOURS.items() if css.startswith("var(")
    )
    title = escape(words.visible(finding.title) or "Untitled board")
    return (
        f'<div style="{variables};--font:sans-serif;color:{INK};background:#ffffff;'
        f'padding:1em;max-width:60em"><h3>{title}</h3><ul>{said}</ul>'
        f"{plot_svg(finding)}</div>"
    )
