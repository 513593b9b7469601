"""The field boards, read from their own folder: see tests/benchmarks/gold_readings.md.

Nothing of them is part of this project. A stamp is only scored against, never shown to the
inference.
"""

from __future__ import annotations

import csv
from dataclasses import dataclass
from datetime import date
from pathlib import Path
from typing import Any

from provenance.survey.model import Survey


@dataclass(frozen=True)
class FieldBoard:
    """One board: its parts, its bare-board month and the days its assembly stamp allows."""

    code: str
    kind: str
    family: str
    parts: tuple[tuple[str, str], ...]
    fabricated: str | None
    assembled: tuple[date, date] | None


def _month(year: str, month: str) -> str | None:
    """EDTF of a year, with its month where it is known."""
    if not year:
        return None
    return f"{year}-{int(month):02d}" if month else year


def field_boards(folder: Path) -> list[FieldBoard]:
    """Every board of the folder, in file order."""
    parts: dict[str, list[tuple[str, str]]] = {}
    with (folder / "parts.csv").open(encoding="utf-8", newline="") as stream:
        for row in csv.DictReader(stream):
            parts.setdefault(row["board"], []).append((row["part"], row["marking"]))
    found = []
    with (folder / "boards.csv").open(encoding="utf-8", newline="") as stream:
        for row in csv.DictReader(stream):
            first, last = row["assembled_first"], row["assembled_last"]
            found.append(
                FieldBoard(
                    row["board"],
                    row["kind"],
                    row["family"],
                    tuple(parts.get(row["board"], ())),
                    _month(row["pcb_year"], row["pcb_month"]),
                    (date.fromisoformat(first), date.fromisoformat(last)) if first else None,
                )
            )
    return found


def survey_of(
    board: FieldBoard, *, bare_board: bool, trade: str | None = None, today: str = "2026-01-01"
) -> Survey:
    """The survey that a person would write of a field board: one section, no stamp."""
    evidence: list[dict[str, Any]] = []
    if bare_board and board.fabricated:
        evidence.append({"kind": "bare board code", "date": board.fabricated})
    data: dict[str, Any] = {
        "board": {"title": board.code},
        "today": today,
        "sections": {"board": {"mount": "soldered", "parts": dict(board.parts)}},
        "evidence": evidence,
    }
    if trade:
        data["trade"] = trade
    return Survey.model_validate(data)
