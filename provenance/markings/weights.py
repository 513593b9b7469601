"""How much each form of a date, and each circumstance, counts: one table, a source in each row.

Knows the table only. A weight is in odds: the weight of a form against 'no date here', before the
circumstances (rows that begin with ``@``) multiply it. Column ``reasoned`` is what was set down
from common practice before any fitting; column ``odds`` is what is used, and column ``source``
says whether it was moved by the fit, and on what (``tests/benchmarks/field_reading.py``).
"""

from __future__ import annotations

import csv
from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from functools import lru_cache
from pathlib import Path

_PATH = Path(__file__).with_name("weights.csv")
_REASONED = "common practice"
_FITTED = "fitted: field boards (one maker's high-volume lines, 1989-2008) and undated markings"


@lru_cache(maxsize=1)
def _rows() -> tuple[dict[str, str], ...]:
    text = _PATH.read_text(encoding="utf-8")
    return tuple(csv.DictReader(text.splitlines()))


_in_use: dict[str, float] = {}


def weights() -> dict[str, float]:
    """Odds by form (``year_week.separated``) and by circumstance (``@last``)."""
    if not _in_use:
        _in_use.update({row["key"]: float(row["odds"]) for row in _rows()})
    return _in_use


@lru_cache(maxsize=65536)
def odds_of(keys: tuple[str, ...]) -> float:
    """The product of the weights of a form and of circumstances; one where there is no weight."""
    table = weights()
    odds = 1.0
    for key in keys:
        odds *= table.get(key, 1.0)
    return odds


def reasoned() -> dict[str, float]:
    """The same odds as they were set down before any fitting."""
    return {row["key"]: float(row["reasoned"]) for row in _rows()}


@contextmanager
def replaced(table: Mapping[str, float]) -> Iterator[None]:
    """Other odds for a while: how the fit is scored on boards that it has not seen."""
    before = dict(weights())
    _in_use.update(table)
    try:
        yield
    finally:
        _in_use.clear()
        _in_use.update(before)


def write(table: Mapping[str, float]) -> None:
    """Write fitted odds into the table, three figures each."""
    rows = []
    for row in _rows():
        odds = float(f"{table[row['key']]:.3g}")
        moved = abs(odds / float(row["reasoned"]) - 1) > 0.02
        rows.append(
            {
                "key": row["key"],
                "odds": f"{odds:g}" if moved else row["reasoned"],
                "reasoned": row["reasoned"],
                "source": _FITTED if moved else _REASONED,
            }
        )
    with _PATH.open("w", encoding="utf-8", newline="") as file:
        writer = csv.DictWriter(file, ["key", "odds", "reasoned", "source"], lineterminator="\n")
        writer.writeheader()
        writer.writerows(rows)
    _rows.cache_clear()
    _in_use.clear()
