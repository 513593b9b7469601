"""Tell later work from original fit, on field boards with parts moved between them.

``python -m tests.benchmarks.transplants ../shared/field-boards`` makes boards whose later work is
known: into a board of one family go the parts of one fit group of a younger board of that family
(13 to 26, 26 to 52, 52 to 104, and more weeks younger), or one part alone, younger or older; and
untouched boards stay as they are. Run from the project's top folder.

Fit groups are by reference: u1 is the processor, u2 and u3 the memory, u4 and up supply and sound,
x and y the clock. A board takes part if it has at least three of them with four parts or more.
A board's date is the middle of its stamp; a board without one is dated, for choosing pairs only,
by its newest original chip that has another
within 26 weeks, plus the four weeks by which assembly usually follows it. Nothing of
the pairing is shown to the inference. That untouched boards are untouched is taken on trust: they
are other people's boards.

The stock profile is the one learned from the folds that the host is not in (``fit_stock``).

What is printed, by gap: area under the curve for 'this group is later'; the share of moved parts,
and of all parts, whose most probable origin is right; false alarms on untouched boards; expected
calibration error in ten bins of 'this part is original', as mixed here and weighted to the share
of later parts that the model itself expects; and all of it again with the two rates of later work
learned from the hosts of other folds, since the mix has far more of it than boards at large. Errors
by kind and gap hold these fixed, which nobody knows who looks at a board: only 'all' is what
calibration promises. A group's probability of being later is the mean over
its parts of 'not original', since refitting a group of one part and replacing that part are the
same thing; for the same reason the two count together for a part alone in its group.
"""

from __future__ import annotations

import argparse
import hashlib
import time
from collections import defaultdict
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from itertools import pairwise
from math import log
from pathlib import Path
from typing import Any

import numpy as np
from scipy.stats import rankdata

from provenance.inference import date_board
from provenance.inference.defaults import DEFAULTS, Defaults
from provenance.inference.finding import Finding, Origin
from provenance.inference.stock import Profile
from provenance.survey.model import Survey
from tests.benchmarks.field_data import FieldBoard, field_boards, survey_of
from tests.benchmarks.fit_stock import TRADE, cross_validated, fold_of, with_profile

GAPS = ((13, 26), (26, 52), (52, 104), (104, 10_000))
"""Weeks by which the donor is younger (or older)."""
FOLLOWS = 4
"""Weeks from the newest chip to assembly, for pairing boards without a stamp."""
NEAR = 26
"""Weeks within which an older code must stand beside the newest."""
RATES = ((1300, 40_000), (1300, 8_000), (600, 20_000), (300, 40_000), (300, 8_000), (150, 8_000))
"""Weeks between two later works, and between two replacements of one part, that are tried where
the rates are learned from other hosts. The first are the defaults."""
EXPECTED_LATER = 0.05
"""Share of parts that are not original in the weighted calibration error: of the order of what
the default rates give for a board of some decades."""


@dataclass(frozen=True)
class Host:
    """A board that takes part: its groups, and its date in weeks for pairing."""

    board: FieldBoard
    groups: dict[str, dict[str, str]]
    week: float


@dataclass(frozen=True)
class Case:
    """One made board: which parts were moved, and whether as a group or alone."""

    host: Host
    groups: dict[str, dict[str, str]]
    moved: frozenset[str]
    kind: str
    gap: tuple[int, int] | None

    @property
    def long(self) -> bool:
        """Whether the donor is more than a year away."""
        return self.gap is not None and self.gap[0] >= 52


def group_of(ref: str) -> str | None:
    """The fit group of a reference, or None for one that stands in none."""
    letter, figures = ref[:1].lower(), ref[1:]
    if letter in "xy":
        return "clock"
    if letter != "u" or not figures.isdigit():
        return None
    return {1: "processor", 2: "memory", 3: "memory"}.get(int(figures), "supply and sound")


def grouped(board: FieldBoard) -> dict[str, dict[str, str]]:
    found: defaultdict[str, dict[str, str]] = defaultdict(dict)
    for ref, marking in board.parts:
        if (group := group_of(ref)) is not None:
            found[group][ref] = marking
    return dict(found)


def survey(case: Case, *, bare_board: bool, trade: str | None) -> Survey:
    data: dict[str, Any] = {
        "board": {"title": case.host.board.code},
        "today": "2026-01-01",
        "sections": {
            name: {"mount": "soldered", "parts": parts} for name, parts in case.groups.items()
        },
    }
    if trade:
        data["trade"] = trade
    if bare_board and case.host.board.fabricated:
        data["evidence"] = [{"kind": "bare board code", "date": case.host.board.fabricated}]
    return Survey.model_validate(data)


def _week(board: FieldBoard) -> float | None:
    """The date for pairing, in weeks from an arbitrary day."""
    if board.assembled is not None:
        first, last = board.assembled
        return (first.toordinal() + last.toordinal()) / 14
    finding = date_board(survey_of(board, bare_board=True, trade=TRADE))
    codes = sorted(
        (p.reading.first.toordinal() + p.reading.last.toordinal()) / 14
        for p in finding.parts
        if p.reading is not None and p.origin.original > 0.5
    )
    # A code that stands alone may be a misreading.
    near = [new for old, new in pairwise(codes) if new - old <= NEAR]
    return near[-1] + FOLLOWS if near else None


def hosts(boards: Sequence[FieldBoard]) -> list[Host]:
    found = []
    for board in boards:
        groups = grouped(board)
        if len(groups) >= 3 and sum(map(len, groups.values())) >= 4:
            week = _week(board)
            if week is not None:
                found.append(Host(board, groups, week))
    return found


def _chance(*names: str) -> bytes:
    """A number that is random in its names and the same on every machine."""
    return hashlib.sha256(" ".join(names).encode()).digest()


def _with(host: Host, parts: dict[str, str]) -> dict[str, dict[str, str]]:
    return {
        name: {ref: parts.get(ref, marking) for ref, marking in group.items()}
        for name, group in host.groups.items()
    }


def cases(found: Sequence[Host]) -> Iterator[Case]:
    """Untouched boards; then, for every host, gap and group, one donor chosen by a hash."""
    for host in found:
        yield Case(host, host.groups, frozenset(), "untouched", None)
        for gap in GAPS:
            for name, group in host.groups.items():
                moved = _donated(found, host, gap, name, tuple(group), older=False)
                if moved:
                    yield Case(host, _with(host, moved), frozenset(moved), "group", gap)
                if len(group) < 2:
                    continue
                for older in (False, True):
                    kind = "one part, older" if older else "one part, newer"
                    ref = min(group, key=lambda r: _chance(host.board.code, r, kind))
                    moved = _donated(found, host, gap, name, (ref,), older=older)
                    if moved:
                        yield Case(host, _with(host, moved), frozenset(moved), kind, gap)


def _donated(
    found: Sequence[Host],
    host: Host,
    gap: tuple[int, int],
    name: str,
    refs: tuple[str, ...],
    *,
    older: bool,
) -> dict[str, str]:
    """The markings of some parts of a board of the family that lies in the gap, or nothing."""
    sign = -1 if older else 1
    donors = [
        d
        for d in found
        if d.board.family == host.board.family
        and d.board.kind == host.board.kind
        and gap[0] <= sign * (d.week - host.week) < gap[1]
        and set(refs) <= set(d.groups.get(name, {}))
        and all(d.groups[name][ref] != host.groups[name][ref] for ref in refs)
    ]
    if not donors:
        return {}
    donor = min(donors, key=lambda d: _chance(host.board.code, d.board.code, name, *refs))
    return {ref: donor.groups[name][ref] for ref in refs}


@dataclass(frozen=True)
class Judged:
    """What the inference says of one made board."""

    case: Case
    origins: dict[str, Origin]

    @property
    def later(self) -> list[tuple[float, bool]]:
        """For each group: the mean over its parts of 'not original', and whether it was moved."""
        return [
            (float(np.mean([1 - self.origins[r].original for r in refs])), set(refs) <= moved)
            for refs in self.case.groups.values()
            for moved in [self.case.moved]
        ]

    @property
    def moved(self) -> str | None:
        """The group that was moved, or None."""
        return next(
            (n for n, refs in self.case.groups.items() if set(refs) <= self.case.moved), None
        )

    @property
    def parts(self) -> list[tuple[float, bool]]:
        """For each part: 'not original', and whether it was moved."""
        return [(1 - o.original, ref in self.case.moved) for ref, o in self.origins.items()]

    def right(self, *, moved: bool) -> list[bool]:
        """For the parts that were moved, or that were not: is the most probable origin right?"""
        alone = {r for refs in self.case.groups.values() if len(refs) == 1 for r in refs}
        truth = "original"
        if moved:
            truth = "later_work" if self.case.kind == "group" else "replacement"
        return [
            (origin.original < 0.5) is moved if ref in alone else most_probable(origin) == truth
            for ref, origin in self.origins.items()
            if (ref in self.case.moved) is moved
        ]


def most_probable(origin: Origin) -> str:
    """The name of the likeliest of the three origins."""
    return max(("original", "later_work", "replacement"), key=lambda name: getattr(origin, name))


def judged(
    case: Case,
    profiles: tuple[Profile, ...],
    *,
    bare: bool,
    trade: str | None,
    defaults: Defaults = DEFAULTS,
) -> Judged:
    finding: Finding = date_board(
        survey(case, bare_board=bare, trade=trade), profiles=profiles, defaults=defaults
    )
    return Judged(case, {p.ref: p.origin for p in finding.parts})


def with_learned_rates(by_rates: Sequence[Sequence[Judged]]) -> list[Judged]:
    """For every case what the rates say that score best on the hosts of the other folds.

    ``by_rates`` are the cases judged with each of RATES; the score is the mean log probability of
    'original' or not, over all parts.
    """
    folds = [fold_of(j.case.host.board.code) for j in by_rates[0]]
    scores = [[_log_score(j) for j in found] for found in by_rates]
    best = {}
    for fold in sorted(set(folds)):
        others = [n for n, f in enumerate(folds) if f != fold]
        sums = [sum(score[n] for n in others) for score in scores]
        best[fold] = sums.index(max(sums))
        weeks, alone = RATES[best[fold]]
        print(f"  fold {fold}: works 1 / {weeks} a week, replacements 1 / {alone}")
    return [by_rates[best[fold]][n] for n, fold in enumerate(folds)]


def _log_score(found: Judged) -> float:
    return sum(log(max(later if moved else 1 - later, 1e-9)) for later, moved in found.parts)


def area(pairs: Sequence[tuple[float, bool]]) -> float:
    """Area under the curve: how often a true case ranks above a false one (Mann and Whitney)."""
    scores = np.array([score for score, _ in pairs])
    true = np.array([truth for _, truth in pairs])
    ranks = rankdata(scores)
    yes, no = int(true.sum()), int((~true).sum())
    if not yes or not no:
        return float("nan")
    return float((ranks[true].sum() - yes * (yes + 1) / 2) / (yes * no))


def calibration_error(pairs: Sequence[tuple[float, bool]], later: float | None = None) -> float:
    """Expected calibration error in ten bins; ``later`` weights true cases to that share."""
    scores = np.array([score for score, _ in pairs])
    true = np.array([truth for _, truth in pairs])
    weight = np.ones(len(true))
    if later is not None and 0 < true.mean() < 1:
        weight = np.where(true, later / true.mean(), (1 - later) / (1 - true.mean()))
    bins = np.minimum((scores * 10).astype(int), 9)
    gaps = [abs(float((weight * (scores - true))[bins == b].sum())) for b in range(10)]
    return sum(gaps) / float(weight.sum())


def _share(flags: Sequence[bool]) -> str:
    return f"{np.mean(flags):8.1%} ({len(flags)})" if flags else "- (0)"


def table(found: Sequence[Judged]) -> None:
    untouched = [j for j in found if j.case.kind == "untouched"]
    spared = [pair for j in untouched for pair in j.later]
    spared_parts = [pair for j in untouched for pair in j.parts]
    alarms = [score > 0.5 for score, _ in spared]
    part_alarms = [score > 0.5 for score, _ in spared_parts]
    print(
        f"  untouched: {len(untouched)} boards; false alarms at 1/2: groups{_share(alarms)}, "
        f"parts{_share(part_alarms)}; calibration error {calibration_error(spared_parts):.1%}"
    )
    print(
        f"  {'moved':18}{'weeks':>12}{'boards':>8}{'AUC':>8}{'moved parts right':>19}"
        f"{'other parts right':>19}{'error':>9}{'weighted':>10}"
    )
    for kind in ("group", "one part, newer", "one part, older"):
        for gap in (*GAPS, None):
            here = [j for j in found if j.case.kind == kind and (gap is None or j.case.gap == gap)]
            if not here:
                continue
            by_group = kind == "group"
            pairs = (spared if by_group else spared_parts) + [
                pair for j in here for pair in (j.later if by_group else j.parts)
            ]
            parts = spared_parts + [pair for j in here for pair in j.parts]
            weeks = (
                "all" if gap is None else f"{gap[0]} to {gap[1]}" if gap[1] < 999 else "over 104"
            )
            print(
                f"  {kind:18}{weeks:>12}{len(here):8}{area(pairs):8.3f}"
                f"{_share([r for j in here for r in j.right(moved=True)]):>19}"
                f"{_share([r for j in here for r in j.right(moved=False)]):>19}"
                f"{calibration_error(parts):9.1%}"
                f"{calibration_error(parts, EXPECTED_LATER):10.1%}"
            )
    for name in sorted({name for j in found for name in j.case.groups}):
        here = [j for j in found if j.case.kind == "group" and j.moved == name and j.case.long]
        flags = [r for j in here for r in j.right(moved=True)]
        print(f"  {name} moved, over 52 weeks: moved parts right{_share(flags)}")
    everything = [pair for j in found for pair in j.parts]
    plain, weighted = (calibration_error(everything, share) for share in (None, EXPECTED_LATER))
    print(
        f"  all {len(found)} boards: calibration error of parts {plain:.1%}, "
        f"weighted to {EXPECTED_LATER:.0%} later {weighted:.1%}"
    )


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__.partition("\n")[0])
    parser.add_argument("folder", type=Path)
    parser.add_argument("--kind", help="only boards of this kind")
    arguments = parser.parse_args()
    began = time.perf_counter()
    boards = field_boards(arguments.folder)
    learned = cross_validated(boards)
    found = hosts([b for b in boards if arguments.kind in (None, b.kind)])
    made = list(cases(found))
    stamped = sum(h.board.assembled is not None for h in found)
    print(
        f"{len(found)} boards of {len({h.board.family for h in found})} families, {stamped} dated "
        f"by their stamp, the rest by their newest chip for pairing; {len(made)} boards made"
    )
    for bare, trade in ((False, TRADE), (False, None), (True, TRADE)):
        print(f"{'with the bare board' if bare else 'chips alone'}, trade {trade or 'unset'}")
        by_rates = [
            [
                judged(
                    case,
                    with_profile(learned[fold_of(case.host.board.code)][0]),
                    bare=bare,
                    trade=trade,
                    defaults=replace(DEFAULTS, work_rate=1 / work, replacement_rate=1 / alone),
                )
                for case in made
            ]
            for work, alone in (RATES if trade else RATES[:1])
        ]
        table(by_rates[0])
        if trade:
            print(" the same, rates of later work learned from the hosts of the other folds")
            table(with_learned_rates(by_rates))
    print(f"{time.perf_counter() - began:.0f} s")


if __name__ == "__main__":
    main()
