"""How much each form of a date, and each circumstance, counts: one table, a source in each row.

Knows the table only. A weight is in odds: the weight of a form against 'no date here', before the
circumstances (rows that begin with ``@``) multiply it.
"""

from __future__ import annotations

import csv
from functools import lru_cache
from importlib.resources import files


@lru_cache(maxsize=1)
def weights() -> dict[str, float]:
    """Odds by form (``year_week.separated``) and by circumstance (``@last``)."""
    text = files("provenance.markings").joinpath("weights.csv").read_text(encoding="utf-8")
    return {row["key"]: float(row["odds"]) for row in csv.DictReader(text.splitlines())}
