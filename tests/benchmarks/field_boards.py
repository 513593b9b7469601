"""Score build windows on boards whose assembly stamp is known.

``python -m tests.benchmarks.field_boards ../shared/field-boards`` runs every stamped board of a
folder through ``date_board``, the stamp unseen, and prints how often the windows hold the stamp,
how wide they are, and the mean log score. Run from the project's top folder; any folder with the
same columns will do.

Three models, the learned ones cross-validated by board (five folds by a hash of the board's code):

- the defaults of the program as they stand;
- the same with the stock profile fitted to the other folds (``fit_stock``);
- independent delays: every lot an independent lognormal fitted to the other folds, no delay in
  common, no old stock. Its misreading floor and its rate of replacements are the program's.

A stamp of a month counts by the share of its days inside a window. Standard errors of shares are
those of the stated level; those of scores are from the spread over boards.

``--parts N`` leaves only so many parts on each board, drawn at random three times over: many
boards have few that can be read. Learning is from whole boards. The three draws of a board are not
independent, so standard errors are then too small.
"""

from __future__ import annotations

import argparse
import random
import time
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

from provenance.inference import date_board
from provenance.inference.defaults import DEFAULTS
from provenance.inference.stock import PROFILES, Profile
from tests.benchmarks.field_data import FieldBoard, field_boards, survey_of
from tests.benchmarks.fit_stock import TRADE, cross_validated, described, fold_of, with_profile
from tests.benchmarks.scoring import HEADER, Scored, gain, row, scored

Choice = Callable[[FieldBoard], tuple[Profile, ...]]


def run(
    boards: list[FieldBoard], trade: str | None, bare_board: bool, choice: Choice
) -> list[Scored]:
    """Date every board with the profiles chosen for it."""
    found = []
    for board in boards:
        assert board.assembled is not None
        survey = survey_of(board, bare_board=bare_board, trade=trade)
        found.append(scored(date_board(survey, profiles=choice(board)), board.assembled))
    return found


def fewer(boards: list[FieldBoard], parts: int) -> list[FieldBoard]:
    """Every board three times, each time with so many of its parts, drawn at random."""
    draw = random.Random(1978)
    return [
        replace(board, parts=tuple(draw.sample(board.parts, min(parts, len(board.parts)))))
        for board in boards
        for _ in range(3)
    ]


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__.partition("\n")[0])
    parser.add_argument("folder", type=Path)
    parser.add_argument("--parts", type=int, metavar="N", help="leave so many parts on a board")
    parser.add_argument("--profiles", action="store_true", help="print the profile of each fold")
    began = time.perf_counter()
    arguments = parser.parse_args()
    boards = [b for b in field_boards(arguments.folder) if b.assembled]
    learned = cross_validated(boards)
    if arguments.parts:
        boards = fewer(boards, arguments.parts)
    if arguments.profiles:
        for fold, (fitted, independent) in learned.items():
            print(f"fold {fold}: {described(fitted)}")
            print(f"        independent: {described(independent)}")
    print(
        f"{len(boards)} stamped boards, {sum(len(b.parts) for b in boards)} markings, "
        f"{sum(b.fabricated is not None for b in boards)} with a bare-board date "
        "(the rest are dated by their chips in both halves); "
        f"misreading floor {DEFAULTS.misread:.0%}"
    )
    print(HEADER)
    defaults: Choice = lambda _: PROFILES  # noqa: E731
    fitted_to_others: Choice = lambda b: with_profile(learned[fold_of(b.code)][0])  # noqa: E731
    independent_delays: Choice = lambda b: (learned[fold_of(b.code)][1],)  # noqa: E731
    for bare_board in (False, True):
        print("with the bare board's date" if bare_board else "chips alone")
        results: dict[str, list[Scored]] = {}
        for name, trade, choice in (
            ("defaults, trade unset", None, defaults),
            ("defaults, mass production", TRADE, defaults),
            ("fitted, trade unset", None, fitted_to_others),
            ("fitted, mass production", TRADE, fitted_to_others),
            ("independent delays", TRADE, independent_delays),
        ):
            results[name] = run(boards, trade, bare_board, choice)
            print(row("  " + name, results[name]))
        base = results.pop("independent delays")
        for name, found in results.items():
            print("    " + gain(f"{name} over independent delays", found, base))
    print(f"{time.perf_counter() - began:.0f} s")


if __name__ == "__main__":
    main()
