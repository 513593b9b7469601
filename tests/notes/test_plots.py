"""The timeline and the board map."""

from __future__ import annotations

import re
import xml.etree.ElementTree as ET
from datetime import date, timedelta
from itertools import combinations, pairwise
from math import dist
from pathlib import Path
from threading import Event, Thread

import matplotlib as mpl
import numpy as np
import pytest
from hypothesis import HealthCheck, example, given, settings
from hypothesis import strategies as st
from matplotlib import pyplot
from matplotlib.axes import Axes
from matplotlib.colors import to_rgb
from matplotlib.dates import date2num
from matplotlib.lines import Line2D

from provenance.errors import OutputError, ProvenanceError
from provenance.inference.finding import WeekProbability
from provenance.notes import plots, statements, words
from provenance.notes.drawing import drawing, stretches
from tests.notes import boards
from tests.notes.strategies import cases

mpl.use("Agg")
SVG = "{http://www.w3.org/2000/svg}"
SLOW = settings(max_examples=4, suppress_health_check=[HealthCheck.too_slow])


def ends(line: Line2D) -> tuple[list[float], list[float]]:
    """The places of a line's points, along x and along y."""
    return np.asarray(line.get_xdata(), float).tolist(), np.asarray(
        line.get_ydata(), float
    ).tolist()


def texts(ax: Axes) -> list[str]:
    return [text.get_text() for text in ax.texts]


def test_the_timeline_is_matplotlib_axes_in_dates() -> None:
    finding = boards.synthesiser().finding
    ax = plots.plot_timeline(finding)
    assert isinstance(ax, Axes)
    first, last = ax.get_xlim()
    for part in finding.parts:
        if part.reading:
            assert first < date2num(part.reading.first) < last


def test_each_part_has_a_mark_at_its_date_of_the_shape_of_its_origin() -> None:
    finding = boards.synthesiser().finding
    ax = plots.plot_timeline(finding)
    marks = {
        (line.get_marker(), round(ends(line)[0][0]))
        for line in ax.lines
        if line.get_marker() != "None" and len(ends(line)[0]) == 1
    }
    for ref, shape in (("U1", "s"), ("U30", "D"), ("U14", "^")):
        part = next(p for p in finding.parts if p.ref == ref)
        assert part.reading
        middle = (date2num(part.reading.first) + date2num(part.reading.last) + 1) / 2
        assert (shape, round(middle)) in marks


def test_the_timeline_labels_build_works_and_probabilities() -> None:
    said = texts(plots.plot_timeline(boards.synthesiser().finding))
    for text in ("built\n90%", "interface board\n97%", "power\n55%"):
        assert text in said
    assert "capacitors replaced\nrecorded" in said
    assert "no date read" in said
    assert "later work? 55%" in said


def test_recorded_works_of_one_go_bear_one_label() -> None:
    """Labels of several works of one month could not be read."""
    finding = boards.synthesiser().finding
    (work,) = [work for work in finding.later_works if work.known]
    more = tuple(work.model_copy(update={"done": done}) for done in ("pots cleaned", "U5 soldered"))
    found = finding.model_copy(update={"later_works": (*finding.later_works, *more)})
    said = texts(plots.plot_timeline(found))
    assert "three works\nrecorded" in said
    assert not any("capacitors" in text or "pots" in text for text in said)


def test_a_long_empty_stretch_is_shortened_and_said_to_be() -> None:
    ax = plots.plot_timeline(boards.synthesiser().finding)
    assert any("41 years\nleft out" in text for text in texts(ax))
    places = ax.transData.transform(
        [(date2num(date(y, 1, 1)), 0) for y in (1986, 2026, 1979, 1980)]
    )
    across_the_gap, one_year = places[1][0] - places[0][0], places[3][0] - places[2][0]
    assert across_the_gap < 2 * one_year


SPANS = st.tuples(st.dates(date(1960, 1, 1), date(2026, 1, 1)), st.integers(0, 20000))


@given(st.lists(SPANS, min_size=1, max_size=6))
@example([(date(1961, 6, 1), 250), (date(1966, 1, 1), 20000)])
def test_stretches_follow_one_another_and_something_is_left_out_between(
    spans: list[tuple[date, int]],
) -> None:
    """A gap of less than nothing would turn the calendar round."""
    found = stretches([(first, first + timedelta(days=days)) for first, days in spans])
    assert all(part.first < part.last for part in found)
    assert all(a.last < b.first for a, b in pairwise(found))


def test_a_part_that_a_recorded_work_names_is_shown_as_such() -> None:
    finding = boards.synthesiser().finding
    known = finding.later_works[2].model_copy(update={"parts": ("U14",)})
    found = finding.model_copy(update={"later_works": (*finding.later_works[:2], known)})
    for plot in (plots.plot_timeline, plots.plot_board):
        ax = plot(found)
        assert "recorded work" in texts(ax)
        assert not any(text.startswith("replaced") for text in texts(ax))
        assert "o" in {line.get_marker() for line in ax.lines}


def test_a_curve_goes_down_to_nothing_where_weeks_are_left_out() -> None:
    finding = boards.all_original().finding
    first = finding.build.weeks[0].week
    apart = tuple(
        WeekProbability(week=first + timedelta(weeks=k), probability=0.5) for k in (0, 40)
    )
    build = finding.build.model_copy(update={"weeks": apart})
    ax = plots.plot_timeline(finding.model_copy(update={"build": build}))
    (curve,) = (line for line in ax.lines if len(ends(line)[0]) == 4)
    assert ends(curve)[1] == [-2.5, 0, 0, -2.5]


def test_a_plot_of_many_parts_is_marked_to_go_over_several_sheets() -> None:
    finding = boards.many_parts().finding
    more = finding.model_copy(update={"parts": finding.parts * 3})
    assert 'class="plot timeline tall"' in plots.plot_svg(more)
    assert 'class="plot timeline"' in plots.plot_svg(boards.synthesiser().finding)


def test_the_map_shows_every_part_with_its_origin_in_words(case: boards.Case) -> None:
    said = texts(plots.plot_board(case.finding))
    for part in case.finding.parts:
        assert words.visible(part.ref) in said
    kinds = "(original|later work|replaced|not original)"
    cells = [text for text in said if re.fullmatch(rf"{kinds}\?? >?[\d.]+%", text)]
    assert len(cells) == len(case.finding.parts)


def test_areas_do_not_overlap_and_stay_on_the_map() -> None:
    placed = plots.areas(boards.many_parts().finding)
    for a in placed:
        assert a.x + a.width <= plots.BOARD_WIDTH + 0.01
        for b in placed:
            apart = (
                a.x + a.width <= b.x
                or b.x + b.width <= a.x
                or a.y + a.height <= b.y
                or b.y + b.height <= a.y
            )
            assert a is b or apart


def test_drawing_into_given_axes_keeps_them() -> None:
    figure, (left, right) = pyplot.subplots(1, 2)
    assert plots.plot_timeline(boards.all_original().finding, left) is left
    assert plots.plot_board(boards.all_original().finding, right) is right
    pyplot.close(figure)


@pytest.mark.parametrize("what", ["timeline", "board"])
def test_the_svg_is_text_with_a_title_and_a_description(
    case: boards.Case, what: plots.Picture
) -> None:
    tree = ET.fromstring(plots.plot_svg(case.finding, what))
    assert tree.get("role") == "img"
    named = str(tree.get("aria-labelledby")).split()
    ids = [node.get("id") for node in tree.iter() if node.get("id")]
    assert len(ids) == len(set(ids))
    assert set(named) <= set(ids)
    shown = {node.text for node in tree.iter(f"{SVG}text")}
    for part in case.finding.parts:
        assert words.visible(part.ref) in shown
    assert not list(tree.iter(f"{SVG}script"))


def test_two_plots_of_two_boards_share_no_id() -> None:
    finding = boards.all_original().finding
    ids = [
        {node.get("id") for node in ET.fromstring(plots.plot_svg(finding, what, id_)).iter()}
        for what in ("timeline", "board")
        for id_ in ("", "b2-")
    ]
    for at, mine in enumerate(ids):
        for other in ids[at + 1 :]:
            assert mine & other == {None}


def test_the_svg_takes_its_colours_from_the_page() -> None:
    svg = plots.plot_svg(boards.synthesiser().finding)
    assert "var(--ink)" in svg
    assert "var(--later)" in svg
    assert not re.search(r"#(?:1f2328|0072b2|d55e00|a6428a)", svg)


def seen(colour: str, rows: tuple[tuple[float, float, float], ...]) -> list[float]:
    """A colour in CIELAB as seen by one kind of colour vision (sRGB: IEC 61966-2-1; CIE 15)."""
    bright = [c / 12.92 if c <= 0.04045 else ((c + 0.055) / 1.055) ** 2.4 for c in to_rgb(colour)]
    rgb = [sum(m * c for m, c in zip(row, bright, strict=True)) for row in rows]
    to_xyz = ((0.4124, 0.3576, 0.1805), (0.2126, 0.7152, 0.0722), (0.0193, 0.1192, 0.9505))
    white = (0.9505, 1.0, 1.089)
    f = []
    for row, w in zip(to_xyz, white, strict=True):
        t = sum(m * min(max(c, 0.0), 1.0) for m, c in zip(row, rgb, strict=True)) / w
        f.append(t ** (1 / 3) if t > 0.008856 else 7.787 * t + 16 / 116)
    return [116 * f[1] - 16, 500 * (f[0] - f[1]), 200 * (f[1] - f[2])]


VISION = {
    "common": ((1.0, 0.0, 0.0), (0.0, 1.0, 0.0), (0.0, 0.0, 1.0)),
    "protan": ((0.152, 1.053, -0.205), (0.115, 0.786, 0.099), (-0.004, -0.048, 1.052)),
    "deutan": ((0.367, 0.861, -0.228), (0.280, 0.673, 0.047), (-0.012, 0.043, 0.969)),
    "tritan": ((1.256, -0.077, -0.179), (-0.078, 0.931, 0.148), (0.005, 0.691, 0.304)),
}
"""Source: Machado, Oliveira and Fernandes 2009, A physiologically-based model for simulation of
color vision deficiency, table 1, severity 1.0, to three figures (memory)."""


@pytest.mark.parametrize("vision", VISION)
def test_origins_differ_in_light_and_dark_for_every_kind_of_colour_vision(vision: str) -> None:
    css = (Path(plots.__file__).parent / "templates" / "report.css").read_text()
    sets = [
        tuple(re.findall(rf"--{name}: (#[0-9a-f]{{6}})", css))
        for name in ("original", "later", "replaced")
    ]
    light, dark = zip(*sets, strict=True)
    assert light == tuple(plots.COLOURS.values())[:3]
    for colours in (light, dark):
        for one, other in combinations(colours, 2):
            assert dist(seen(one, VISION[vision]), seen(other, VISION[vision])) > 20


def test_origins_differ_without_colour() -> None:
    for signs in (plots.MARKERS, plots.LINES, statements.ORIGIN_NAMES):
        assert len(set(signs.values())) == len(signs) == 5


@pytest.mark.parametrize(
    ("suffix", "start"), [("png", b"\x89PNG"), ("svg", b"<?xml"), ("pdf", b"%PDF")]
)
def test_a_plot_is_saved_by_its_suffix_and_is_the_same_each_time(
    tmp_path: Path, suffix: str, start: bytes
) -> None:
    finding = boards.all_original().finding
    one, two = tmp_path / f"one.{suffix}", tmp_path / f"two.{suffix}"
    plots.save_plot(finding, one)
    plots.save_plot(finding, two)
    assert one.read_bytes().startswith(start)
    assert one.read_bytes() == two.read_bytes()


def test_a_plot_is_never_drawn_over_a_file_unless_told_nor_over_an_input(tmp_path: Path) -> None:
    finding = boards.all_original().finding
    path = tmp_path / "plot.svg"
    path.write_text("old")
    with pytest.raises(OutputError, match="is there already"):
        plots.save_plot(finding, path)
    with pytest.raises(OutputError, match="never written over"):
        plots.save_plot(finding, path, overwrite=True, inputs=[path])
    assert path.read_text() == "old"
    plots.save_plot(finding, path, overwrite=True)
    assert path.read_text().startswith("<?xml")
    assert list(tmp_path.iterdir()) == [path]


def test_another_suffix_is_refused_and_nothing_is_written(tmp_path: Path) -> None:
    path = tmp_path / "plot.doc"
    with pytest.raises(ProvenanceError, match=r"\.png, \.svg or \.pdf"):
        plots.save_plot(boards.all_original().finding, path)
    assert not path.exists()


def test_two_threads_that_draw_leave_the_style_of_matplotlib_as_it_was() -> None:
    before = dict(mpl.rcParams)
    inside, leave = Event(), Event()

    def other() -> None:
        with drawing():
            inside.set()
            leave.wait(10)

    thread = Thread(target=other)
    with drawing():
        thread.start()
        inside.wait(0.2)
    leave.set()
    thread.join()
    assert inside.is_set()
    assert dict(mpl.rcParams) == before


def test_a_plot_is_saved_to_a_path_given_as_text(tmp_path: Path) -> None:
    plots.save_plot(boards.all_original().finding, str(tmp_path / "board.svg"), "board")
    assert (tmp_path / "board.svg").read_text().startswith("<?xml")


def test_another_picture_is_refused_by_name(tmp_path: Path) -> None:
    with pytest.raises(ProvenanceError, match=r"no picture 'map'\. Fix: use timeline or board"):
        plots.save_plot(boards.all_original().finding, tmp_path / "one.svg", "map")  # type: ignore[arg-type]
    assert list(tmp_path.iterdir()) == []


def test_a_notebook_shows_the_summary_and_the_timeline() -> None:
    page = plots.repr_html(boards.hostile().finding)
    assert "Built between" in page
    assert "<svg" in page
    assert boards.HOSTILE not in page


@SLOW
@given(cases())
def test_any_finding_can_be_drawn(case: boards.Case) -> None:
    for what in ("timeline", "board"):
        ET.fromstring(plots.plot_svg(case.finding, what))
    assert plots.repr_html(case.finding).startswith("<div")
