"""The timeline of a machine: every board, on one calendar, and when they came together."""

from __future__ import annotations

from datetime import date
from pathlib import Path

import matplotlib as mpl
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from matplotlib.axes import Axes
from matplotlib.collections import LineCollection
from matplotlib.dates import date2num
from matplotlib.patches import Rectangle

from provenance.census.machine import MachineFinding
from provenance.notes import words
from provenance.notes.machine_plot import machine_figure, save_machine_plot
from provenance.notes.statements import window
from tests.notes import boards
from tests.notes.strategies import cases
from tests.notes.test_machine import machine

mpl.use("Agg")
SLOW = settings(max_examples=4, suppress_health_check=[HealthCheck.too_slow])


def drawn(found: MachineFinding) -> Axes:
    (ax,) = machine_figure(found).axes
    return ax


def pair(together: float) -> MachineFinding:
    made = [boards.synthesiser(), boards.all_original()]
    return machine((0.97, 0.4), together, made)[0]


def dotted(ax: Axes) -> set[float]:
    """The days at which a dotted line stands, whichever lane it is in."""
    lines = [c for c in ax.collections if isinstance(c, LineCollection)]
    return {float(x) for one in lines for segment in one.get_segments() for x, _ in segment}


def test_every_board_has_its_title_its_build_and_how_probable_it_is_that_it_belongs() -> None:
    found = pair(0.8)
    said = [text.get_text() for text in drawn(found).texts]
    for board, percent in zip(found.belonging, ("97%", "40%"), strict=True):
        assert words.visible(board.title) in said
        assert f"built for this\nmachine {percent}" in said
    assert said.count("built\n90%") == 2
    assert "interface board\n97%" in said


def test_of_a_board_that_nothing_dates_it_is_not_known_whether_it_belongs() -> None:
    found = machine((0.97, 0.9), 0.88, [boards.synthesiser(), boards.undated()])[0]
    said = [text.get_text() for text in drawn(found).texts]
    assert "built for this\nmachine not known" in said
    assert "built for this\nmachine 90%" not in said


def test_lanes_stand_one_below_the_other_and_each_band_keeps_to_its_own() -> None:
    found = pair(0.8)
    ax = drawn(found)
    titles = {text.get_text(): text.get_position()[1] for text in ax.texts}
    first, second = (titles[words.visible(board.title)] for board in found.belonging)
    assert first < second
    said = window(found.boards[1].build.windows)
    assert said
    left, right = date2num(said.first), date2num(said.last) + 1
    bands = [
        patch
        for patch in ax.patches
        if isinstance(patch, Rectangle)
        and (patch.get_x(), patch.get_x() + patch.get_width()) == (left, right)
    ]
    below, above = ax.get_ylim()
    tops = [below + (above - below) * (b.get_y() + b.get_height()) for b in bands]
    assert any(first + 1 < top < second for top in tops)
    assert all(b.get_height() < 1 for b in bands)


def test_dotted_lines_enclose_when_the_machine_was_put_together() -> None:
    found = pair(0.8)
    said = window(found.windows)
    assert said
    ax = drawn(found)
    assert dotted(ax) == {date2num(said.first), date2num(said.last) + 1}
    assert "put together\n90%" in [text.get_text() for text in ax.texts]


def test_boards_that_do_not_belong_together_were_never_put_together() -> None:
    ax = drawn(pair(0.3))
    assert dotted(ax) == set()
    assert not any("put together" in text.get_text() for text in ax.texts)


def test_a_board_that_nothing_dates_does_not_stretch_the_calendar() -> None:
    found = pair(0.8)
    build = found.boards[1].build
    wide = tuple(
        w.model_copy(update={"first": date(1962, 1, 1), "last": date(2026, 1, 1)})
        for w in build.windows
    )
    undated = build.model_copy(update={"dated": False, "windows": wide})
    two = found.boards[1].model_copy(update={"build": undated})
    ax = drawn(found.model_copy(update={"boards": (found.boards[0], two)}))
    assert ax.get_xlim()[0] > date2num(date(1970, 1, 1))
    assert "assumed, nothing dates it\n90%" in [text.get_text() for text in ax.texts]


@pytest.mark.parametrize("suffix", ["png", "svg", "pdf"])
def test_the_same_machine_gives_the_same_bytes(tmp_path: Path, suffix: str) -> None:
    one, two = tmp_path / f"one.{suffix}", tmp_path / f"two.{suffix}"
    save_machine_plot(pair(0.8), one)
    save_machine_plot(pair(0.8), str(two))
    assert one.read_bytes() == two.read_bytes()


@SLOW
@given(st.lists(cases(), min_size=1, max_size=3), st.floats(0, 1))
def test_any_machine_can_be_drawn(made: list[boards.Case], together: float) -> None:
    found = machine((0.5,) * len(made), together, made)[0]
    texts = [text.get_text() for text in drawn(found).texts]
    assert sum(text.startswith("built for this\nmachine ") for text in texts) == len(made)
