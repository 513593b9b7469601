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

What is printed, by kind and gap: area under the curve for 'this group is later'; the share of moved
parts, and of the others, whose most probable origin is right; false alarms on untouched boards;
expected calibration error in ten bins of 'this part is original', as mixed here and weighted to the
share of later parts that the model itself expects; and all of it again with the two rates of later
work learned from the hosts of other folds, since the mix has far more of it than boards at large.
A group's probability of being later is the mean over its parts of 'not original', since refitting a
group of one part and replacing that part are the same thing; for the same reason the two count
together for a part alone in its group.

Errors by kind and gap hold these fixed, which nobody knows who looks at a board. Calibration is a
promise about boards as they come, so the errors are given for populations too. That of a gap has
each host that was worked on at it once: a quarter of it untouched, a quarter with a group moved, a
quarter with one newer part and a quarter with one older, as far as a donor was found, and the made
boards of one kind share its quarter. That of all gaps is these four together.

'By chance' is the error that a table of this size would show if every probability were true: the
truth is drawn from what is stated, for the parts of a group with one number, since they are moved
together; mean and 95th percentile of many draws. The boards made from one host have most parts in
common and are drawn apart, so it is the least that chance does.
"""

from __future__ import annotations

import argparse
import hashlib
import time
from collections import Counter, defaultdict
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from itertools import pairwise, product
from math import log
from pathlib import Path
from typing import Any, NamedTuple

import numpy as np
import numpy.typing as npt
from scipy.stats import rankdata

from provenance.inference import date_board
from provenance.inference.defaults import DEFAULTS, Defaults
from provenance.inference.evidence import gather
from provenance.inference.finding import Origin
from provenance.inference.grid import Array
from provenance.inference.origins import lot_posteriors
from provenance.inference.posterior import Posterior
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
RATES = tuple(product((150, 300, 600, 1300, 2600, 5200), (1000, 2000, 4000, 8000, 40_000)))
"""Weeks between two later works, and between two replacements of one part, that are tried where
the rates are learned from other hosts."""
SHIPPED = (round(1 / DEFAULTS.work_rate), round(1 / DEFAULTS.replacement_rate))
"""Those of the defaults, which are among them."""
KINDS = ("group", "one part, newer", "one part, older")
"""What may be moved."""
BINS = 10
"""Bins of the calibration error."""
DRAWS = 1000
"""How often the truth is drawn to see what chance does to it."""
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

    def _told(self, *, moved: bool) -> list[tuple[dict[str, float], str]]:
        """For the parts that were moved, or that were not: the probabilities of the origins that
        can be told apart, and the true one. A part alone in its group has two."""
        alone = {r for refs in self.case.groups.values() if len(refs) == 1 for r in refs}
        later = "later_work" if self.case.kind == "group" else "replacement"
        return [
            (
                {"original": origin.original, "later": 1 - origin.original}
                if ref in alone
                else origin.model_dump(),
                "original" if not moved else "later" if ref in alone else later,
            )
            for ref, origin in self.origins.items()
            if (ref in self.case.moved) is moved
        ]

    def right(self, *, moved: bool) -> list[bool]:
        """For the parts that were moved, or that were not: is the most probable origin right?"""
        return [max(told, key=lambda o: told[o]) == true for told, true in self._told(moved=moved)]

    @property
    def log_score(self) -> float:
        """The log probability of the true origins, summed over the parts of the board."""
        told = self._told(moved=True) + self._told(moved=False)
        return sum(log(max(probability[true], 1e-9)) for probability, true in told)


def judged(
    case: Case,
    profiles: tuple[Profile, ...],
    *,
    bare: bool,
    trade: str | None,
    defaults: Defaults = DEFAULTS,
) -> Judged:
    return Judged(
        case, origins(survey(case, bare_board=bare, trade=trade), profiles, defaults=defaults)
    )


def origins(
    surveyed: Survey, profiles: tuple[Profile, ...], *, defaults: Defaults = DEFAULTS
) -> dict[str, Origin]:
    """The origin of every part as ``date_board`` states it, without the rest of the finding."""
    posterior = Posterior(gather(surveyed, defaults=defaults, profiles=profiles))
    found = {part.ref: one.origin for one in lot_posteriors(posterior) for part in one.lot.parts}
    return {part.ref: found[part.ref] for part in surveyed.parts()}


def population(made: Sequence[Case], gap: tuple[int, int] | None) -> list[float]:
    """The weight of each case in the population of a gap, or of all gaps together."""
    weights = [0.0] * len(made)
    for here in (gap,) if gap else GAPS:
        hosts_cases: defaultdict[str, defaultdict[str, list[int]]] = defaultdict(
            lambda: defaultdict(list)
        )
        for n, case in enumerate(made):
            if case.gap in (None, here):
                hosts_cases[case.host.board.code][case.kind].append(n)
        for by_kind in hosts_cases.values():
            if len(by_kind) > 1:
                for numbers in by_kind.values():
                    for n in numbers:
                        weights[n] += 1 / len(by_kind) / len(numbers)
    return weights


def with_learned_rates(
    by_rates: Sequence[Sequence[Judged]], weights: Sequence[float]
) -> list[Judged]:
    """For every case what the rates say that score best on the hosts of the other folds.

    ``by_rates`` are the cases judged with each of RATES; the score is the log probability of the
    true origin, summed over the parts of a board and weighted over boards.
    """
    folds = [fold_of(j.case.host.board.code) for j in by_rates[0]]
    scores = np.array([[j.log_score for j in found] for found in by_rates]) * weights
    best = {f: int(scores[:, np.array(folds) != f].sum(axis=1).argmax()) for f in set(folds)}
    chosen = Counter(RATES[n] for n in best.values())
    told = "; ".join(
        f"works 1 / {work} a week, replacements 1 / {alone} in {count} of {len(best)} folds"
        for (work, alone), count in sorted(chosen.items())
    )
    print(f"  {told}")
    return [by_rates[best[fold]][n] for n, fold in enumerate(folds)]


def area(pairs: Sequence[tuple[float, bool]]) -> float:
    """Area under the curve: how often a true case ranks above a false one (Mann and Whitney)."""
    scores = np.array([score for score, _ in pairs])
    true = np.array([truth for _, truth in pairs])
    ranks = rankdata(scores)
    yes, no = int(true.sum()), int((~true).sum())
    if not yes or not no:
        return float("nan")
    return float((ranks[true].sum() - yes * (yes + 1) / 2) / (yes * no))


class Stated(NamedTuple):
    """What is stated of the N parts of some boards."""

    later: Array
    """(N): the probability that it is not original."""
    moved: npt.NDArray[np.bool_] | Array
    """(N): whether it was moved, or what share of it."""
    group: npt.NDArray[np.int64]
    """(N): the number of its group, over all boards."""
    weight: Array
    """(N): that of its board."""

    @property
    def of_groups(self) -> Stated:
        """The means over the parts of each group."""
        count = np.bincount(self.group)
        later, moved, weight = (
            np.bincount(self.group, values) / count
            for values in (self.later, self.moved, self.weight)
        )
        return Stated(later, moved, np.arange(len(count)), weight)

    @property
    def bins(self) -> npt.NDArray[np.bool_]:
        """(N, BINS): the bin of what is stated."""
        found: npt.NDArray[np.bool_] = np.minimum((self.later * BINS).astype(int), BINS - 1)[
            :, None
        ] == np.arange(BINS)
        return found


def stated(found: Sequence[Judged], weights: Sequence[float] | None = None) -> Stated:
    """The parts of some boards; without ``weights`` every board counts as one."""
    group_of_part = [
        {ref: name for name, refs in j.case.groups.items() for ref in refs} for j in found
    ]
    rows = [
        (later, moved, (n, group_of_part[n][ref]), 1.0 if weights is None else weights[n])
        for n, j in enumerate(found)
        for ref, (later, moved) in zip(j.origins, j.parts, strict=True)
        if weights is None or weights[n]
    ]
    later, moved, group, weight = zip(*rows, strict=True)
    numbers = {name: number for number, name in enumerate(dict.fromkeys(group))}
    return Stated(
        np.array(later),
        np.array(moved),
        np.array([numbers[name] for name in group]),
        np.array(weight),
    )


def calibration_error(parts: Stated, later: float | None = None) -> float:
    """Expected calibration error; ``later`` weights moved parts to that share."""
    weight = parts.weight
    share = float(np.average(parts.moved, weights=weight))
    if later is not None and 0 < share < 1:
        weight = weight * np.where(parts.moved, later / share, (1 - later) / (1 - share))
    gaps = (weight * (parts.later - parts.moved)) @ parts.bins
    return float(np.abs(gaps).sum() / weight.sum())


def by_chance(parts: Stated) -> tuple[float, float]:
    """The calibration error if every probability were true: its mean and its 95th percentile.

    The parts of a group are moved together as far as their probabilities allow.
    """
    numbers = np.random.default_rng(1).random((DRAWS, int(parts.group.max()) + 1))
    moved = numbers[:, parts.group] < parts.later
    gaps = (parts.weight * (parts.later - moved)) @ parts.bins
    errors = np.abs(gaps).sum(axis=1) / parts.weight.sum()
    return float(errors.mean()), float(np.quantile(errors, 0.95))


def _error(parts: Stated) -> str:
    mean, most = by_chance(parts)
    return f"{calibration_error(parts):9.1%}  ({mean:4.1%}, {most:4.1%})"


def _weeks(gap: tuple[int, int] | None) -> str:
    return "all" if gap is None else f"{gap[0]} to {gap[1]}" if gap[1] < 999 else "over 104"


def _share(flags: Sequence[bool]) -> str:
    return f"{np.mean(flags):8.1%} ({len(flags)})" if flags else "- (0)"


def table(found: Sequence[Judged]) -> None:
    """Every figure by kind and gap."""
    untouched = [j for j in found if j.case.kind == "untouched"]
    spared = [pair for j in untouched for pair in j.later]
    spared_parts = [pair for j in untouched for pair in j.parts]
    alarms = [score > 0.5 for score, _ in spared]
    part_alarms = [score > 0.5 for score, _ in spared_parts]
    print(
        f"  untouched: {len(untouched)} boards; false alarms at 1/2: groups{_share(alarms)}, "
        f"parts{_share(part_alarms)}; calibration error {_error(stated(untouched)).strip()}"
    )
    print(
        f"  {'moved':18}{'weeks':>12}{'boards':>8}{'AUC':>8}{'moved parts right':>19}"
        f"{'other parts right':>19}{'error':>9}{'(by chance)':>14}{'weighted':>10}"
    )
    for kind in KINDS:
        for gap in (*GAPS, None):
            here = [j for j in found if j.case.kind == kind and (gap is None or j.case.gap == gap)]
            if not here:
                continue
            by_group = kind == "group"
            pairs = (spared if by_group else spared_parts) + [
                pair for j in here for pair in (j.later if by_group else j.parts)
            ]
            parts = stated(untouched + here)
            print(
                f"  {kind:18}{_weeks(gap):>12}{len(here):8}{area(pairs):8.3f}"
                f"{_share([r for j in here for r in j.right(moved=True)]):>19}"
                f"{_share([r for j in here for r in j.right(moved=False)]):>19}"
                f"{_error(parts)}{calibration_error(parts, EXPECTED_LATER):10.1%}"
            )
    for name in sorted({name for j in found for name in j.case.groups}):
        here = [j for j in found if j.case.kind == "group" and j.moved == name and j.case.long]
        flags = [r for j in here for r in j.right(moved=True)]
        print(f"  {name} moved, over 52 weeks: moved parts right{_share(flags)}")
    everything = stated(found)
    print(
        f"  all {len(found)} boards: calibration error of parts {_error(everything).strip()}, "
        f"weighted to {EXPECTED_LATER:.0%} later "
        f"{calibration_error(everything, EXPECTED_LATER):.1%}"
    )


def _row(found: Sequence[Judged], gap: tuple[int, int] | None) -> None:
    """The figures of one population."""
    weights = population([j.case for j in found], gap)
    there = [(j, w) for j, w in zip(found, weights, strict=True) if w]
    right = [(r, w) for j, w in there for moved in (True, False) for r in j.right(moved=moved)]
    share = sum(r * w for r, w in right) / sum(w for _, w in right)
    hosts_here = len({j.case.host.board.code for j, _ in there})
    parts = stated(found, weights)
    print(
        f"  {_weeks(gap):>12}{hosts_here:8}{len(there):8}{share:14.1%}"
        f"{_error(parts)}{calibration_error(parts, EXPECTED_LATER):10.1%}"
    )


def populations(by_rates: Sequence[Sequence[Judged]]) -> None:
    """Calibration of boards as they come, by gap, with rates of three kinds."""
    names = f"{'weeks':>12}{'hosts':>8}{'boards':>8}{'parts right':>14}"
    head = f"  {names}{'error':>9}{'(by chance)':>14}{'weighted':>10}"
    cases_made = [j.case for j in by_rates[0]]
    print(" populations, a quarter each untouched, group, newer and older part; default rates")
    print(head)
    for gap in (*GAPS, None):
        _row(by_rates[RATES.index(SHIPPED)], gap)
    print(" populations, rates learned from the other folds of all gaps together")
    learned = with_learned_rates(by_rates, population(cases_made, None))
    print(head)
    for gap in (*GAPS, None):
        _row(learned, gap)
    print(" populations, rates learned from the other folds of the same gap")
    for gap in GAPS:
        own = with_learned_rates(by_rates, population(cases_made, gap))
        _row(own, gap)
    print(" 'not original' over the population of all gaps, rates learned from it: parts")
    reliability(stated(learned, population(cases_made, None)))
    alarmed = [
        {j.case.host.board.code for j in learned if any(p > level and not m for p, m in j.parts)}
        for level in (0.5, 0.8)
    ]
    print(
        f"  parts stated over 50% that were not moved are of {len(alarmed[0])} hosts, over 80% of "
        f"{len(alarmed[1])}"
    )
    print(" the same for groups, 13 to 52 weeks; 'came true' is the share of their parts")
    near = np.sum([population(cases_made, gap) for gap in GAPS[:2]], axis=0)
    reliability(stated(learned, near.tolist()).of_groups)


def reliability(parts: Stated) -> None:
    """What is stated and what came true, bin by bin."""
    print(f"  {'stated':>12}{'mean':>9}{'came true':>12}{'of all':>9}")
    for number, inside in enumerate(parts.bins.T):
        if inside.any():
            weight = parts.weight[inside]
            mean, true = (
                float(np.average(values[inside], weights=weight))
                for values in (parts.later, parts.moved)
            )
            ends = f"{number / BINS:.0%} to {(number + 1) / BINS:.0%}"
            share = float(weight.sum() / parts.weight.sum())
            print(f"  {ends:>12}{mean:9.1%}{true:12.1%}{share:9.1%}")


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
            for work, alone in (RATES if trade else (SHIPPED,))
        ]
        table(by_rates[RATES.index(SHIPPED) if trade else 0])
        if trade:
            print(" the same, rates of later work learned from the hosts of the other folds")
            table(with_learned_rates(by_rates, [1.0] * len(made)))
            populations(by_rates)
    print(f"{time.perf_counter() - began:.0f} s")


if __name__ == "__main__":
    main()
