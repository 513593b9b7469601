"""Score the reading of markings on seven sets written down by hand: ``python -m
tests.benchmarks.bench_reading [-v]``.

``bench_markings.csv`` holds invented markings as they are typed at the bench, of parts of many
kinds from 1965 to 2012, with what a practitioner would say of each: labels are from memory, written
without sight of the reader's rules. The rules were mended in sight of all sets but the second and
the seventh; one family and one circumstance in sight of the second. Nothing was changed by the
seventh, so it tells how the reader does on what it has not seen. Left out from the third on is what
the authors could not tell themselves. Nothing but the marking is given; the field boards' gold set
(``field_reading``) is of one maker's lines.

The column ``expected`` holds a week (``1984-W23``), month, year, day or span (``first..last``), or
several with bars between them, any of which is right; ``open:`` before them where the decade cannot
be told; ``none`` for no date. A reading is right when its days lie within the expected ones and
eight days about them, as the conventions for weeks differ by so many. 'But for the decade' are
those whose code was found but told in another decade than the part's. ``-v`` prints every marking
that is not right.
"""

from __future__ import annotations

import argparse
import calendar
import csv
from collections import Counter
from collections.abc import Iterator
from datetime import date, timedelta
from pathlib import Path

from provenance.markings.reader import read_marking
from provenance.markings.reading import Reading

HERE = Path(__file__).parent
TODAY = date(2026, 1, 1)
SLACK = timedelta(days=8)
OUTCOMES = ("right", "but for the decade", "wrong", "missed", "date where none is")


def span(text: str) -> tuple[date, date]:
    """The days of one expected date. Raises ValueError for anything else."""
    if ".." in text:
        first, last = text.split("..")
        return date.fromisoformat(first), date.fromisoformat(last)
    if "W" in text:
        year, week = map(int, text.split("-W"))
        monday = date.fromisocalendar(year, 1, 1) + timedelta(weeks=week - 1)
        return monday, monday + timedelta(days=6)
    fields = [int(field) for field in text.split("-")]
    if len(fields) == 1:
        return date(fields[0], 1, 1), date(fields[0], 12, 31)
    if len(fields) == 2:
        year, month = fields
        return date(year, month, 1), date(year, month, calendar.monthrange(year, month)[1])
    year, month, day = fields
    return date(year, month, day), date(year, month, day)


def is_within(reading: Reading, spans: list[tuple[date, date]]) -> bool:
    """Whether a reading's days lie within one of the spans, or eight days about it."""
    return any(
        first - SLACK <= reading.first and reading.last <= last + SLACK for first, last in spans
    )


def outcome(marking: str, expected: str) -> str:
    """What the reader makes of a marking, by what was expected."""
    told = expected.removeprefix("open:").split("|")
    spans = [span(one) for one in told if one != "none"]
    reading = read_marking(marking, today=TODAY)
    best = reading.best
    if best is None:
        return "right" if "none" in told else "missed"
    if not spans:
        return "date where none is"
    code = (best.scheme, best.start, best.end)
    same = [one for one in reading.readings if (one.scheme, one.start, one.end) == code]
    if expected.startswith("open:"):
        return "right" if any(is_within(one, spans) for one in same) else "wrong"
    if is_within(best, spans):
        return "right"
    return "but for the decade" if any(is_within(one, spans) for one in same) else "wrong"


def cases() -> Iterator[tuple[str, str, str, str]]:
    """Set, kind, marking and what is expected."""
    with (HERE / "bench_markings.csv").open(encoding="utf-8", newline="") as file:
        for row in csv.DictReader(file):
            marking = row["marking"].replace(" / ", "\n")
            yield row["set"], row["kind"], marking, row["expected"]


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__.partition("\n")[0])
    parser.add_argument("-v", action="store_true", help="print every marking that is not right")
    verbose = parser.parse_args().v
    found: dict[str, Counter[str]] = {}
    for name, kind, marking, expected in cases():
        what = outcome(marking, expected)
        for key in (name, f"  {kind}") if name == "second" else (name,):
            found.setdefault(key, Counter())[what] += 1
        if verbose and what != "right":
            shown = marking.replace("\n", " / ")
            print(f"{name:7}{what:20}{shown:45}{expected}")
    print(f"{'':22}{'markings':>9}" + "".join(f"{one:>20}" for one in OUTCOMES))
    for key, counts in found.items():
        total = sum(counts.values())
        shares = "".join(f"{counts[one] / total:20.1%}" for one in OUTCOMES)
        print(f"{key:22}{total:9}{shares}")


if __name__ == "__main__":
    main()
