"""Score the reading of markings on the field boards and on markings without a date.

Run as ``python -m tests.benchmarks.field_reading FIELD_BOARDS_FOLDER``. Prints, for the weights as
they stand and cross-validated by board (the weights are fitted anew without the boards that they
are scored on): how often the most probable reading is right, how often the true span is among the
three most probable, how many markings without a date are given one, and how well the stated
probabilities hold (expected calibration error, ten bins of equal width).

'Decade given' means that the reader is told the true year as ``near``; nothing else of the board.

With the decade left open, the decades of one code count as one outcome.

``--fit`` writes the weights fitted on everything into ``provenance/markings/weights.csv``. The
fit is penalised maximum likelihood: the probability that the model gives to the gold readings,
with a normal prior on each log weight around its reasoned value in ``REASONED``.

Gold readings: ``gold_readings.csv``, with ``gold_readings.md`` on how they were made. A reading
counts as right when it is of the same kind (week or month) and shares days with the gold span.
"""

from __future__ import annotations

import argparse
import csv
import hashlib
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date
from pathlib import Path

import numpy as np
import scipy.optimize
import scipy.sparse

from provenance.markings import reader, spreading, weights
from provenance.markings.reader import read_marking
from provenance.markings.reading import MarkingReading, Reading
from provenance.markings.surroundings import layout_of
from provenance.markings.tokens import plain

HERE = Path(__file__).parent
TODAY = date(2026, 1, 1)
YEARS = (1960, 2025)
FOLDS = 10
SPREAD = 2.0
"""Standard deviation of the prior on a log weight: a factor of seven either way is no surprise."""


@dataclass(frozen=True)
class Case:
    """One marking with what it truly says; ``span`` is None where it holds no date."""

    group: str
    marking: str
    near: int | None
    span: tuple[date, date] | None
    unit: str
    part: str = ""

    @property
    def place(self) -> tuple[str, str]:
        """The board and the part."""
        return self.group, self.part

    def is_right(self, first: date, last: date) -> bool:
        """Whether a reading's days are the gold's: same kind, shared days."""
        if self.span is None:
            return False
        days = (last - first).days + 1
        kind = "month" if days >= 27 else "week"
        if days > 31 or kind != self.unit:
            return False
        middle = date.fromordinal((self.span[0].toordinal() + self.span[1].toordinal()) // 2)
        return first <= middle <= last


def field_cases(folder: Path) -> list[Case]:
    """The gold set; rows that two readers could not tell are left out."""
    with (folder / "parts.csv").open(encoding="utf-8", newline="") as file:
        markings = {(row["board"], row["part"]): row["marking"] for row in csv.DictReader(file)}
    with (HERE / "gold_readings.csv").open(encoding="utf-8", newline="") as file:
        gold = list(csv.DictReader(file))
    with (folder / "boards.csv").open(encoding="utf-8", newline="") as file:
        years = {row["board"]: row["pcb_year"] for row in csv.DictReader(file)}
    of_board: dict[str, list[int]] = {}
    for row in gold:
        if row["year"]:
            of_board.setdefault(row["board"], []).append(int(row["year"]))
    cases = []
    for row in gold:
        marking = markings.get((row["board"], row["part"]))
        if marking is None or row["kind"] == "unsure":
            continue
        if row["kind"] == "date":
            span = (date.fromisoformat(row["first"]), date.fromisoformat(row["last"]))
            cases.append(
                Case(row["board"], marking, int(row["year"]), span, row["unit"], row["part"])
            )
        else:
            # The decade is given here as well: the board's own year, or that of its other parts.
            near = years.get(row["board"]) or max(of_board.get(row["board"], [0]))
            cases.append(Case(row["board"], marking, int(near) or None, None, "", row["part"]))
    return cases


def undated_cases() -> list[Case]:
    """Markings without a date; each is its own group."""
    with (HERE / "no_date_markings.csv").open(encoding="utf-8", newline="") as file:
        return [
            Case(f"no date {row['marking']}", row["marking"], None, None, "")
            for row in csv.DictReader(file)
        ]


def decades_together(case: Case, reading: MarkingReading) -> MarkingReading:
    """A reading in which one code's decades count as one outcome, right if one of them is."""
    groups: dict[tuple[int, int, str, bool], list[Reading]] = {}
    for one in reading.readings:
        key = (one.start, one.end, one.scheme, (one.last - one.first).days > 20)
        groups.setdefault(key, []).append(one)
    together = []
    for members in groups.values():
        right = [one for one in members if case.is_right(one.first, one.last)]
        total = sum(one.probability for one in members)
        together.append((right or members)[0]._replace(probability=total))
    together.sort(key=lambda one: -one.probability)
    return MarkingReading(reading.marking, (), tuple(together), reading.no_date)


def read(case: Case, near: int | None) -> MarkingReading:
    return read_marking(case.marking, near=near, years=YEARS, today=TODAY)


@dataclass
class Score:
    """What the reader makes of a list of cases."""

    dated: int = 0
    right: int = 0
    in_three: int = 0
    undated: int = 0
    false: int = 0
    stated: list[tuple[float, bool]] | None = None

    def __post_init__(self) -> None:
        self.stated = []

    def add(self, case: Case, reading: MarkingReading) -> None:
        """Count one marking."""
        assert self.stated is not None
        top = reading.readings[:3]
        right = [case.is_right(one.first, one.last) for one in top]
        if case.span is None:
            self.undated += 1
            self.false += bool(top and top[0].probability > 0.5)
        else:
            self.dated += 1
            self.right += bool(reading.best and right[0])
            self.in_three += any(right)
        outcomes = [(reading.no_date, case.span is None)]
        outcomes += [
            (one.probability, case.is_right(one.first, one.last)) for one in reading.readings
        ]
        self.stated.append(max(outcomes))

    def calibration_error(self) -> float:
        """Expected calibration error of the most probable outcome, ten bins of equal width."""
        assert self.stated
        stated = np.array([probability for probability, _ in self.stated])
        right = np.array([outcome for _, outcome in self.stated], dtype=float)
        bins = np.minimum((stated * 10).astype(int), 9)
        return sum(
            float(abs(stated[held].mean() - right[held].mean()) * held.mean())
            for held in (bins == place for place in range(10))
            if held.any()
        )

    def lines(self) -> Iterable[str]:
        """The score in words."""
        if self.dated:
            yield f"  most probable reading right   {self.right / self.dated:7.1%} of {self.dated}"
            yield f"  true span among the top three {self.in_three / self.dated:7.1%}"
        if self.undated:
            share = self.false / self.undated
            yield f"  without a date, given one     {share:7.1%} of {self.undated}"
        yield f"  expected calibration error    {self.calibration_error():7.1%}"


class Design:
    """Every reading of every case, as rows of a sparse matrix over the weights."""

    def __init__(self, cases: Sequence[Case]) -> None:
        self.keys = sorted(weights.weights())
        column = {key: number for number, key in enumerate(self.keys)}
        rows: list[int] = []
        columns: list[int] = []
        offsets: list[float] = []
        self.right: list[bool] = []
        self.starts: list[int] = []
        for case in cases:
            self.starts.append(len(offsets))
            layout = layout_of(plain(case.marking))
            others = reader.others_of(layout)
            nearness = spreading.nearness(case.near, *YEARS)
            entries: list[tuple[tuple[str, ...], float, bool]] = [
                (reader.against(layout, others), 1.0, case.span is None)
            ]
            floors, frame = reader.floors_of(layout), spreading.Frame(*YEARS, TODAY, None)
            for place, candidate_keys, factor, when in reader.candidates(layout, others):
                _, cycle, *_ = when
                share = factor * spreading.share_of_cycle(cycle, *YEARS)
                for year, days in zip(*spreading.dated(frame, when), strict=True):
                    early = spreading.too_early(year, reader.floor_of(floors, place))
                    keys = (*candidate_keys, *early)
                    entries.append(
                        (keys, share * nearness[year], case.is_right(*map(date.fromordinal, days)))
                    )
            for keys, factor, is_right in entries:
                for key in keys:
                    if key in column:
                        rows.append(len(offsets))
                        columns.append(column[key])
                offsets.append(float(np.log(factor)))
                self.right.append(is_right)
        shape = (len(offsets), len(self.keys))
        self.matrix = scipy.sparse.csr_matrix((np.ones(len(rows)), (rows, columns)), shape=shape)
        self.offsets = np.array(offsets)
        self.right_rows = np.array(self.right)
        self.bounds = np.array([*self.starts, len(offsets)])

    def fit(self, chosen: np.ndarray, reasoned: np.ndarray) -> np.ndarray:
        """Log weights from the chosen cases, around the reasoned ones."""
        sizes = np.diff(self.bounds)
        keep = np.repeat(chosen, sizes)
        matrix, offsets, right = self.matrix[keep], self.offsets[keep], self.right_rows[keep]
        sizes = sizes[chosen]
        starts = np.concatenate([[0], np.cumsum(sizes)[:-1]])
        # A gold reading that no scheme proposes teaches nothing.
        teaches = np.add.reduceat(right.astype(float), starts) > 0
        wrong = np.where(right, 0.0, -np.inf)

        def softmax(scores: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
            top = np.maximum.reduceat(scores, starts)
            top = np.where(np.isfinite(top), top, 0.0)
            exponents = np.exp(scores - np.repeat(top, sizes))
            sums = np.add.reduceat(exponents, starts)
            shares = exponents / np.repeat(np.where(sums > 0, sums, 1.0), sizes)
            return shares, top + np.log(np.where(sums > 0, sums, 1.0))

        def loss(values: np.ndarray) -> tuple[float, np.ndarray]:
            scores = offsets + matrix @ values
            every, total = softmax(scores)
            gold, hit = softmax(scores + wrong)
            mask = np.repeat(teaches, sizes)
            away = values - reasoned
            value = float(((total - hit) * teaches).sum() + (away**2).sum() / (2 * SPREAD**2))
            slope = matrix.T @ ((every - gold) * mask) + away / SPREAD**2
            return value, slope

        result = scipy.optimize.minimize(
            loss, reasoned, jac=True, method="L-BFGS-B", options={"maxiter": 300}
        )
        return np.asarray(result.x)


def fold_of(group: str) -> int:
    """The fold of a board: the same in every run."""
    return int(hashlib.sha256(group.encode()).hexdigest(), 16) % FOLDS


def reasoned_logs(keys: Sequence[str]) -> np.ndarray:
    """Logarithms of the odds that were reasoned before any fitting."""
    return np.log([weights.reasoned()[key] for key in keys])


def cross_validated(cases: Sequence[Case]) -> list[MarkingReading]:
    """Each case read with weights fitted without its board."""
    design = Design(cases)
    reasoned = reasoned_logs(design.keys)
    folds = np.array([fold_of(case.group) for case in cases])
    readings: dict[int, MarkingReading] = {}
    for fold in range(FOLDS):
        fitted = design.fit(folds != fold, reasoned)
        with weights.replaced(dict(zip(design.keys, np.exp(fitted), strict=True))):
            reader.forget()
            for number in np.flatnonzero(folds == fold):
                readings[int(number)] = read(cases[int(number)], cases[int(number)].near)
    reader.forget()
    return [readings[number] for number in range(len(cases))]


def report(title: str, cases: Sequence[Case], readings: Sequence[MarkingReading]) -> Score:
    """Print one table."""
    print(title)
    scores = {"field boards": Score(), "markings without a date": Score(), "both": Score()}
    for case, reading in zip(cases, readings, strict=True):
        name = "markings without a date" if case.group.startswith("no date") else "field boards"
        scores[name].add(case, reading)
        scores["both"].add(case, reading)
    for name, score in scores.items():
        print(f" {name}")
        print("\n".join(score.lines()))
    return scores["both"]


def main() -> None:
    """Print the scores; with ``--fit`` write the fitted weights."""
    parser = argparse.ArgumentParser(description=__doc__.split("\n")[0])
    parser.add_argument("folder", type=Path)
    parser.add_argument("--fit", action="store_true", help="write fitted weights")
    parser.add_argument("--misses", action="store_true", help="list what is read wrong")
    options = parser.parse_args()
    cases = field_cases(options.folder) + undated_cases()
    if options.fit:
        design = Design(cases)
        everything = np.ones(len(cases), dtype=bool)
        fitted = design.fit(everything, reasoned_logs(design.keys))
        weights.write(dict(zip(design.keys, np.exp(fitted).tolist(), strict=True)))
        reader.forget()
        print("wrote the fitted weights")
    held_out = cross_validated(cases)
    report("Decade given, cross-validated by board", cases, held_out)
    report("Decade given, weights as shipped", cases, [read(case, case.near) for case in cases])
    open_decade = [decades_together(case, read(case, None)) for case in cases]
    report("Decade open and left open, weights as shipped", cases, open_decade)
    if options.misses:
        for case, reading in zip(cases, held_out, strict=True):
            print_miss(case, reading)


def print_miss(case: Case, reading: MarkingReading) -> None:
    """One line for a marking that is read wrong; a star where not even three readings hold it."""
    top = reading.readings[:3]
    right = [case.is_right(one.first, one.last) for one in top]
    if case.span is None:
        wrong, star = bool(top and top[0].probability > 0.5), " "
    else:
        wrong, star = not (reading.best and right[0]), " " if any(right) else "*"
    if wrong:
        shown = [f"{one.scheme} {one.text} {one.first} {one.probability:.2f}" for one in top]
        truth = f"{case.span[0]} ({case.unit})" if case.span else "none"
        print(f"{star} {case.marking} | {truth} | {'; '.join(shown)} | {reading.no_date:.2f}")


if __name__ == "__main__":
    main()
