"""Score the readings that whole boards settle on, given the field boards' folder.

Run as ``python -m tests.benchmarks.field_board_reading FIELD_BOARDS_FOLDER``. Every field board
with its bare-board date but no assembly stamp goes through the inference, as a person would survey
it, with no trade named and no year given to the reader. A reading counts as right by the rule of
``field_reading``: of the same kind as the gold reading, and over its middle day. The most probable
reading of a part here is the one that the finding reports.

Boards are scored with weights fitted without them (ten folds, as in ``field_reading``), then with
the weights as shipped. The last table adds two markings without a date to each board, to see how
many of them the board talks into one; the shipped weights were fitted on those markings as well.
The delays of the stock were fitted on other facts of the same boards throughout.
"""

from __future__ import annotations

import argparse
from collections.abc import Iterable, Sequence
from dataclasses import replace
from pathlib import Path

import numpy as np

from provenance.inference.evidence import gather
from provenance.inference.origins import lot_posteriors
from provenance.inference.posterior import Posterior
from provenance.markings import reader, weights
from provenance.markings.reading import MarkingReading
from tests.benchmarks.field_data import FieldBoard, field_boards, survey_of
from tests.benchmarks.field_reading import (
    FOLDS,
    Case,
    Design,
    Score,
    field_cases,
    fold_of,
    print_miss,
    reasoned_logs,
    undated_cases,
)

ADDED = 2
"""Markings without a date that are added to each board of the last table."""


def board_readings(board: FieldBoard) -> dict[str, MarkingReading]:
    """The readings of each part by its reference, as the whole board weighs them."""
    posterior = Posterior(gather(survey_of(board, bare_board=True)))
    found = {}
    for rated in lot_posteriors(posterior):
        lot, (masses, none) = rated.lot, rated.readings
        readings = [
            one._replace(probability=float(mass))
            for one, mass in zip(lot.readings, masses, strict=True)
        ]
        readings.sort(key=lambda one: -one.probability)
        for part in lot.parts:
            found[part.ref] = MarkingReading(part.marking, (), tuple(readings), float(none))
    return found


def read_boards(
    boards: Iterable[FieldBoard], cases: dict[tuple[str, str], Case]
) -> list[tuple[Case, MarkingReading]]:
    """Every labelled part of some boards with its reading."""
    return [
        (cases[board.code, ref], reading)
        for board in boards
        for ref, reading in board_readings(board).items()
        if (board.code, ref) in cases
    ]


def cross_validated(
    boards: Sequence[FieldBoard], cases: dict[tuple[str, str], Case]
) -> list[tuple[Case, MarkingReading]]:
    """Each board read with weights fitted without it."""
    everything = [*cases.values(), *undated_cases()]
    design = Design(everything)
    folds = np.array([fold_of(case.group) for case in everything])
    found = []
    for fold in range(FOLDS):
        fitted = design.fit(folds != fold, reasoned_logs(design.keys))
        with weights.replaced(dict(zip(design.keys, np.exp(fitted), strict=True))):
            reader.forget()
            found += read_boards((b for b in boards if fold_of(b.code) == fold), cases)
    reader.forget()
    return found


def with_undated(
    boards: Sequence[FieldBoard],
) -> tuple[list[FieldBoard], dict[tuple[str, str], Case]]:
    """Boards with markings added that hold no date, and the cases of the markings added."""
    undated = undated_cases()
    more, cases = [], {}
    for start, board in zip(range(0, len(undated), ADDED), boards, strict=False):
        added = {f"added {n}": case for n, case in enumerate(undated[start : start + ADDED])}
        parts = tuple((ref, case.marking) for ref, case in added.items())
        more.append(replace(board, parts=board.parts + parts))
        cases.update({(board.code, ref): case for ref, case in added.items()})
    return more, cases


def report(title: str, scored: Sequence[tuple[Case, MarkingReading]]) -> None:
    """Print one table."""
    score = Score()
    for case, reading in scored:
        score.add(case, reading)
    print(title)
    print("\n".join(score.lines()))


def main() -> None:
    """Print the scores."""
    parser = argparse.ArgumentParser(description=__doc__.split("\n")[0])
    parser.add_argument("folder", type=Path)
    parser.add_argument("--misses", action="store_true", help="list what is read wrong")
    options = parser.parse_args()
    cases = {case.place: case for case in field_cases(options.folder)}
    dated = {code for (code, _), case in cases.items() if case.span}
    boards = [board for board in field_boards(options.folder) if board.code in dated]
    held_out = cross_validated(boards, cases)
    report(f"Whole boards, cross-validated by board, {len(boards)} boards", held_out)
    report("Whole boards, weights as shipped", read_boards(boards, cases))
    more, added = with_undated(boards)
    report("Markings without a date, added to boards", read_boards(more, added))
    if options.misses:
        for case, reading in held_out:
            print_miss(case, reading)


if __name__ == "__main__":
    main()
