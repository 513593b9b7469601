"""Many markings in, one row each out: lines of text or a column of CSV, to CSV or JSON lines.

Knows how markings are found in a stream and how a row is written. Everything is read and written
row by row, so memory stays flat. Light to import: no pydantic, no numpy.
"""

from __future__ import annotations

import csv
import difflib
import io
import json
import os
import stat
import sys
from collections.abc import Callable, Iterable, Iterator
from contextlib import contextmanager
from datetime import date
from itertools import chain, count, islice
from typing import TYPE_CHECKING, NamedTuple, TextIO, TypeVar

from provenance.errors import ProvenanceError
from provenance.markings.kept import Kept
from provenance.notes import words
from provenance.notes.reading_text import reading_record
from provenance.notes.side_by_side import cores, in_order
from provenance.notes.spreadsheet import cell
from provenance.survey.typed import typed_marking

if TYPE_CHECKING:
    from provenance.markings.reading import MarkingReading

T = TypeVar("T")
Read = Callable[[Iterable[str]], Iterable["MarkingReading"]]
"""Gives the reading of each marking."""

ALONE = 1000
"""Rows that one process reads before others help: a short list would be done before they start."""
BLOCK = 500
"""Rows that are handed to a process at a time."""

COLUMNS = ("row", "marking", "text", "scheme", "first", "last", "probability", "no_date")
"""``text`` to ``probability`` are of the best reading, and empty where there is none."""


@contextmanager
def opened(path: str) -> Iterator[TextIO]:
    """A file of markings as UTF-8 text, or standard input for ``-``.

    What is not UTF-8 reads as U+FFFD, a character that cannot be read. Raises ProvenanceError.
    """
    if path == "-":
        with io.open(  # noqa: UP020 - the descriptor stays open for others
            sys.stdin.fileno(), encoding="utf-8-sig", errors="replace", newline="", closefd=False
        ) as stream:
            yield stream
        return
    name = words.visible(path)
    try:
        stream = open(path, encoding="utf-8-sig", errors="replace", newline="")  # noqa: SIM115
    except (OSError, ValueError) as problem:
        reason = getattr(problem, "strerror", None) or str(problem)
        raise ProvenanceError(f"{name}: cannot be read: {reason}. Fix: check the path") from None
    with stream:
        yield stream


def line_markings(stream: Iterable[str]) -> Iterator[str]:
    """Each line as a marking; ' / ' begins a new line on the part, an empty line stays a row.

    >>> list(line_markings(["LF353N / 8021\\n", "\\n"]))
    ['LF353N\\n8021', '']
    """
    return map(typed_marking, stream)


def column_markings(stream: Iterable[str], column: str, file: str = "") -> Iterator[str]:
    """The cells of one column of a CSV table, separated by comma, semicolon or tab.

    Raises ProvenanceError, naming file and line, where there is no such column, or a row is not
    CSV.

    >>> list(column_markings(["ref;marking\\n", "U1;XR4558 / 7923\\n"], "marking"))
    ['XR4558\\n7923']
    """
    lines = iter(stream)
    header = next(lines, "")
    separator = max(",;\t", key=header.count)
    names = [name.strip() for name in next(csv.reader([header], delimiter=separator), [])]
    place = f"{words.visible(file)}:" if file else ""
    if column not in names:
        shown = [words.visible(name) for name in names if name]
        near = difflib.get_close_matches(column, names, n=1, cutoff=0.6)
        fix = "give a table with a header"
        if near or shown:
            others = f"and one of {words.listed(shown, limit=12)}"
            fix = f"write --column {words.visible(near[0]) if near else others}"
        raise ProvenanceError(f"{place}1: there is no column {words.visible(column)!r}. Fix: {fix}")
    at = names.index(column)
    rows = csv.reader(lines, delimiter=separator)
    try:
        for row in rows:
            yield typed_marking(row[at]) if at < len(row) else ""
    except csv.Error as problem:
        raise ProvenanceError(
            f"{place}{rows.line_num + 1}: is not CSV ({problem}). "
            "Fix: save the table again as CSV in UTF-8"
        ) from None


def write_rows(
    readings: Iterable[MarkingReading],
    write: Callable[[str], object],
    *,
    as_json: bool = False,
    first: int = 1,
) -> None:
    """Write one row for each reading, as soon as it is there: CSV with a header, or JSON lines.

    ``first`` is the number of the first row; the header stands before row 1.
    """
    if as_json:
        for reading in readings:
            write(json.dumps(reading_record(reading)) + "\n")
        return
    writer = csv.writer(_Lines(write), lineterminator="\n")
    found = iter(readings)
    # What is wrong with the table shows with its first row: then nothing has been written yet.
    foremost = list(islice(found, 1))
    if first == 1:
        writer.writerow(COLUMNS)
    for number, reading in enumerate(chain(foremost, found), first):
        row = (str(number), *_row(reading))
        line = ",".join(row)
        # The csv module looks at every character of a row, and costs several times as much.
        if line.count(",") >= len(row) or '"' in line or "\n" in line or "\r" in line:
            writer.writerow(row)
        else:
            write(line + "\n")


def read_rows(
    markings: Iterable[str],
    read: Read,
    write: Callable[[str], object],
    *,
    as_json: bool = False,
    processes: int = 1,
) -> None:
    """Read every marking and write its row, with several processes from row ``ALONE`` + 1 on.

    What the first rows have taught the reader, the processes know from the start.
    """
    left = iter(markings)
    if processes == 1:
        write_rows(read(left), write, as_json=as_json)
        return
    write_rows(read(islice(left, ALONE)), write, as_json=as_json)

    def rows_of(block: tuple[int, list[str]]) -> str:
        out = io.StringIO()
        first, some = block
        write_rows(read(some), out.write, as_json=as_json, first=first)
        return out.getvalue()

    for text in in_order(_blocks(left), rows_of, processes):
        write(text)


def _blocks(markings: Iterator[str]) -> Iterator[tuple[int, list[str]]]:
    """Markings by the block, each with the number of its first row."""
    for first in count(ALONE + 1, BLOCK):
        block = [*islice(markings, BLOCK)]
        if not block:
            return
        yield first, block


def processes_for(stream: TextIO) -> int:
    """How many processes are to read the markings in a stream: one for each core where it is a
    file; rows that come through a pipe are answered one by one."""
    return cores() if stat.S_ISREG(os.fstat(stream.fileno()).st_mode) else 1


_iso = Kept(date.isoformat, 4096)
"""A day in ISO 8601; the days of a long list come again."""


class _Lines(NamedTuple):
    """What the csv module takes for a file: it writes each row at once."""

    write: Callable[[str], object]


def _row(reading: MarkingReading) -> tuple[str, ...]:
    marking, no_date = cell(reading.marking), f"{reading.no_date:.4f}"
    best = reading.best
    if best is None:
        return (marking, "", "", "", "", "", no_date)
    scheme, text, first, last, probability = best[:5]
    return (
        marking,
        cell(text),
        scheme,
        _iso[first],
        _iso[last],
        f"{probability:.4f}",
        no_date,
    )


def with_progress(rows: Iterable[T], *, every: int = 1500) -> Iterable[T]:
    """The same rows; a count of them is shown on standard error while that is a terminal."""
    return _counted(rows, every) if sys.stderr.isatty() else rows


def _counted(rows: Iterable[T], every: int) -> Iterator[T]:
    """The same rows, with a bar."""
    from rich.console import Console  # noqa: PLC0415 - only a terminal needs it
    from rich.progress import BarColumn, Progress, TextColumn, TimeElapsedColumn  # noqa: PLC0415

    shown = Progress(
        TextColumn("reading"),
        BarColumn(),
        TextColumn("{task.completed:,.0f} markings"),
        TimeElapsedColumn(),
        console=Console(stderr=True),
        transient=True,
        auto_refresh=False,  # A process with threads should not be forked.
        # Rows for another program stay on standard output; on the same screen the bar makes way.
        redirect_stdout=sys.stdout.isatty(),
    )
    with shown:
        task = shown.add_task("reading", total=None)
        for number, row in enumerate(rows, 1):
            yield row
            if number % every == 0:
                shown.update(task, completed=number, refresh=True)
