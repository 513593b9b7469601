"""The parts of all the boards of a machine: why each is what it is, and as one table.

Knows how boards are told apart where references repeat; how one board is told is in ``reasons``
and ``record``.
"""

from __future__ import annotations

import csv
import io
from typing import TYPE_CHECKING

from provenance.errors import ProvenanceError
from provenance.notes import words
from provenance.notes.folding import bulleted, titled
from provenance.notes.machine import machine_summary
from provenance.notes.reasons import meant, why_text
from provenance.notes.record import parts_csv
from provenance.notes.spreadsheet import cell

if TYPE_CHECKING:
    from provenance.census.machine import MachineFinding
    from provenance.survey.model import Machine


def machine_why_text(
    found: MachineFinding, machine: Machine, ref: str | None = None, width: int = 80
) -> str:
    """The reasons board by board; with ``ref``, of the parts of that reference.

    Raises ProvenanceError where no board has a part of that reference.
    """
    blocks = [] if ref else [bulleted(machine_summary(found), width) + "\n"]
    for board, finding, survey in zip(found.belonging, found.boards, machine.boards, strict=True):
        if ref is None or any(part.ref == ref for part in finding.parts):
            title = titled(words.visible(board.title), width)
            blocks.append(f"{title}\n\n{why_text(finding, survey, ref, width)}")
    if not blocks:
        parts = [part for finding in found.boards for part in finding.parts]
        raise ProvenanceError(
            f"no board has a part {words.visible(ref or '')!r}. Fix: leave the reference out, or "
            f"use {meant(ref or '', parts)}"
        )
    return "\n".join(blocks)


def machine_parts_csv(found: MachineFinding) -> str:
    """The parts of all boards as one CSV table, as ``parts_csv`` with the board's title first."""
    out = io.StringIO()
    rows = csv.writer(out)
    for number, (board, finding) in enumerate(zip(found.belonging, found.boards, strict=True)):
        heading, *parts = csv.reader(io.StringIO(parts_csv(finding), newline=""))
        if number == 0:
            rows.writerow(["board", *heading])
        title = cell(board.title)
        rows.writerows([title, *part] for part in parts)
    return out.getvalue()
