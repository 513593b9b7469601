"""Time the reading of markings: ``python -m tests.benchmarks.reading_speed [FIELD_BOARDS_FOLDER]``.

Prints markings a second of processor time on one core for invented markings that are all different
(part number, date and lot drawn at random), first with nothing kept of earlier readings, then with
some of their tokens met before, then with all of them; for the field boards' markings, each read
again as it comes in a list of many boards, if the folder is given; rows a second of ``provenance
read`` from a table to a file, its start left out, for 20,000 different markings, for 100,000, and
for markings that come again, held to one core (by the time of the processor) and with all that
there are (by the clock); the time for one marking of 10 KB; and the cold start of the reader
against a bare import of typer. The target in the design is 20,000 a second on one core.

Of each marking the best reading and the probability of 'no date' are asked for, as a row of
``provenance read`` shows them. Other readings, tokens and doubts are worked out when they are asked
for; one line asks for every reading.
"""

from __future__ import annotations

import csv
import os
import random
import subprocess
import sys
import tempfile
import time
from collections.abc import Sequence
from datetime import date, timedelta
from pathlib import Path

from provenance.markings.reader import read_marking, read_markings
from provenance.markings.schemes import all_schemes
from provenance.notes.side_by_side import cores

PREFIXES = ("SN", "MC", "TMS", "D", "HM", "XR", "CD", "QX", "", "")
NUMBERS = (
    "7432", "74LS245", "74LS138", "4116", "2114", "555", "324", "8255A", "6502", "6845", "4051",
    "4066", "27128", "62256", "2732", "7805", "339", "1488", "1489", "6116",
)  # fmt: skip
SUFFIXES = ("", "N", "P", "-2", "AN", "-15", "PC", "BCN")
BEHIND = ("", "", " JAPAN", " A", " 3 B", " KOREA", " QK{}", " {}")


def invented(count: int, seed: int = 1978) -> list[str]:
    """Different markings of the usual make-up: part number, date code, lot or country."""
    draw = random.Random(seed)
    schemes = all_schemes()
    common = [scheme for scheme in schemes if scheme.key.startswith(("year_week", "short_year"))]
    made: set[str] = set()
    while len(made) < count:
        day = date(1970, 1, 1) + timedelta(days=draw.randrange(13000))
        scheme = draw.choice(common if draw.random() < 0.8 else schemes)
        behind = draw.choice(BEHIND).format(draw.randrange(10000))
        part = draw.choice(PREFIXES) + draw.choice(NUMBERS) + draw.choice(SUFFIXES)
        made.add(f"{part} {scheme.write(day)}{behind}")
    ordered = sorted(made)
    draw.shuffle(ordered)
    return ordered


def rates(markings: Sequence[str], *, every_reading: bool = False) -> str:
    """Markings a second of processor time, over all and in the best batch of 500.

    Where other work shares the machine, the best batch is nearest to what the core can do.
    """
    batches = []
    for start in range(0, len(markings), 500):
        batch = markings[start : start + 500]
        begun = time.process_time()
        for reading in read_markings(batch):
            best = reading.readings[:1] if every_reading else reading.best
            assert best or reading.no_date > 0.0
        batches.append((len(batch), time.process_time() - begun))
    overall = len(markings) / sum(seconds for _, seconds in batches)
    best_batch = max(count / seconds for count, seconds in batches)
    return f"{overall:8,.0f} markings/s, best batch {best_batch:8,.0f}"


def command_rates(markings: Sequence[str], *, held: bool) -> str:
    """Rows a second that the command reads from a table, its start left out: of processor time,
    ``held`` to one core, or by the clock."""
    with tempfile.TemporaryDirectory() as folder:
        short, long = Path(folder, "short.csv"), Path(folder, "long.csv")
        for path, rows in ((short, markings[:1]), (long, markings)):
            with path.open("w", encoding="utf-8", newline="") as file:
                csv.writer(file).writerows([["ref", "chip"], *(["U1", one] for one in rows)])
        started = min(command_seconds(short, held=held) for _ in range(3))
        overall = min(command_seconds(long, held=held) for _ in range(3))
    rate = (len(markings) - 1) / (overall - started)
    return f"{rate:8,.0f} rows/s, after {started:.2f} s to start"


HOLD = "import os; os.sched_setaffinity(0, [min(os.sched_getaffinity(0))]); "
"""Holds a process to one core, where the system can."""


def command_seconds(table: Path, *, held: bool) -> float:
    """Processor time of ``provenance read`` on the column ``chip`` of a table, ``held`` to one
    core, or time by the clock; its output is buffered as Python does by itself."""
    code = HOLD * (held and hasattr(os, "sched_setaffinity"))
    code += "from provenance.cli import main; main()"
    command = [sys.executable, "-c", code, "read", "--from", str(table), "--column", "chip"]
    environment = {name: value for name, value in os.environ.items() if name != "PYTHONUNBUFFERED"}
    begun = os.times()
    with table.with_suffix(".out").open("wb") as out:
        subprocess.run(command, check=True, stdout=out, env=environment)
    ended = os.times()
    if not held:
        return ended.elapsed - begun.elapsed
    return ended.children_user + ended.children_system - begun.children_user - begun.children_system


def empty_turns() -> float:
    """Millions of turns of an empty loop a second: what the core gives at this moment."""
    begun = time.process_time()
    for _ in range(1_000_000):
        pass
    return 1 / (time.process_time() - begun)


def cold_start(code: str) -> float:
    """Seconds to start Python and run a line, the best of five."""
    times = []
    for _ in range(5):
        start = time.perf_counter()
        subprocess.run([sys.executable, "-c", code], check=True)
        times.append(time.perf_counter() - start)
    return min(times)


def main() -> None:
    """Print the timings."""
    print(f"empty loop                   {empty_turns():8.1f} million turns/s")
    print(f"all different, caches empty  {rates(invented(20000))}")
    print(f"another 20,000               {rates(invented(20000, 1979))}")
    print(f"the same again               {rates(invented(20000, 1979))}")
    again = rates(invented(20000, 1979), every_reading=True)
    print(f"again, every reading         {again}")
    if len(sys.argv) > 1:
        with (Path(sys.argv[1]) / "parts.csv").open(encoding="utf-8", newline="") as file:
            field = [row["marking"] for row in csv.DictReader(file)]
        print(f"field boards, first pass     {rates(field)}")
        print(f"field boards, again          {rates(field)}")
        repeated = [marking for marking in field for _ in range(5)]
        print(f"field boards, each five times{rates(repeated)}")
        print(f"  provenance read --from     {command_rates(field, held=True)}")
    recurring = invented(1250) * 16
    random.Random(1978).shuffle(recurring)
    print(f"provenance read --from, held to one core, and by the clock on {cores()}")
    for name, list_of in (
        ("20,000 different markings", invented(20000)),
        ("100,000 different markings", invented(100_000)),
        ("each marking sixteen times", recurring),
    ):
        print(f"  {name:27}{command_rates(list_of, held=True)}")
        print(f"    by the clock             {command_rates(list_of, held=False)}")
    long = ("QX4558 7?21 H7?21 8'31 " * 500)[:10240]
    start = time.perf_counter()
    read_marking(long)
    print(f"one marking of 10 KB         {(time.perf_counter() - start) * 1000:8.1f} ms")
    bare = cold_start("import typer")
    ours = cold_start("from provenance.markings.reader import read_marking; read_marking('X 7841')")
    print(
        f"cold: reader {ours * 1000:.0f} ms, import typer {bare * 1000:.0f} ms, "
        f"ratio {ours / bare:.2f}"
    )


if __name__ == "__main__":
    main()
