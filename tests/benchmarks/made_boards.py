"""Invented boards of any size, for timing."""

from __future__ import annotations

from typing import Any

import numpy as np

from provenance.survey.model import Survey

LOGIC = ("74LS00N", "74LS04N", "74LS138N", "74LS244N", "4116-3", "4558D", "LM-7", "KV-12")


def made(parts: int, groups: int, *, built: int = 1982, years: int = 2, seed: int = 0) -> Survey:
    """A board whose last group or two came three years later; codes in year and week.

    ``years`` is the spread of the codes of the rest, as on a board from old stock.
    """
    rng = np.random.default_rng(seed)
    sections: dict[str, Any] = {}
    for group in range(groups):
        later = groups > 2 and group >= groups - 2
        chips = {}
        for number in range(parts // groups + (group < parts % groups)):
            year = built + 3 if later else built - int(rng.integers(0, years))
            week = int(rng.integers(10, 24))
            kind = LOGIC[rng.integers(len(LOGIC))]
            chips[f"U{group}{number:03}"] = f"{kind} / {year % 100:02}{week:02}"
        sections[f"section {group}"] = {"mount": "soldered", "parts": chips}
    return Survey.model_validate({"today": "2026-01-01", "sections": sections})
