"""Fit the stock profile of mass production to boards whose assembly stamp is known.

``python -m tests.benchmarks.fit_stock ../shared/field-boards`` prints the fitted profile with its
uncertainty, and the quantiles of delay that the boards show beside those that profiles state. Run
from the project's top folder.

What is fitted: the delays of one profile. What is maximised: the mean log predictive score, that
is the log of the probability per week that the codes put on the days of the stamp, from the chips
alone and with the bare board's date in equal parts, with weak normal priors about round starting
values. The sum over weeks is written out here for boards of one fit group, where no later work can
be told; ``field_boards`` scores the result through the public call.

Folds are by board, from a hash of its code, so that a board is never scored by what it taught.
"""

from __future__ import annotations

import argparse
import hashlib
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from functools import cache
from math import exp, hypot, log
from pathlib import Path

import numpy as np
import numpy.typing as npt
from scipy.optimize import minimize

from provenance.inference.defaults import DEFAULTS
from provenance.inference.delays import onwards, transit
from provenance.inference.evidence import gather
from provenance.inference.stock import (
    LONGEST,
    PROFILES,
    Lognormal,
    Profile,
    Stock,
    hypotheses,
    pmf,
)
from provenance.inference.testimony import said
from provenance.markings.reader import read_marking
from provenance.survey.model import Evidence
from provenance.weeks import Span, week_of
from tests.benchmarks.field_data import FieldBoard, field_boards, survey_of

Array = npt.NDArray[np.float64]

TRADE = "mass production"
FOLDS = 5
SHIPPED = next(p for p in PROFILES if p.name == TRADE)
"""What ships of the trade; a fitted profile keeps its prior probability."""
MARGIN = 156
"""Weeks before and after the stamp that the fit looks at: the decade is not a matter of stock."""
QUANTILES = (0.05, 0.25, 0.5, 0.75, 0.9, 0.95)
"""What is printed of the delays that boards show and profiles state."""
OLDER = 3.0
"""Very old stock is so many times as old as old stock."""
OLDER_SHARE = 0.2
"""The share of boards whose old stock is very old."""


@dataclass(frozen=True)
class Parameter:
    """One number that is fitted, on a scale without bounds: log of a delay, logit of a share."""

    name: str
    start: float
    spread: float
    """Standard deviation of its prior, on that scale."""
    share: bool = False

    def shown(self, value: float) -> float:
        return 1 / (1 + exp(-value)) if self.share else exp(value)


def _delay(name: str, value: float, spread: float = 0.5) -> Parameter:
    return Parameter(name, log(value), spread)


def _share(name: str, value: float, spread: float = 1.0) -> Parameter:
    return Parameter(name, log(value / (1 - value)), spread, share=True)


PARAMETERS = (
    _delay("median of D", 2.0),
    _delay("sigma of D", 0.7, 0.3),
    _delay("median of fresh stock", 4.0),
    _delay("sigma of fresh stock", 0.7, 0.3),
    _delay("median of old stock", 26.0),
    _delay("sigma of old stock", 0.8, 0.3),
    _share("share of old lots on most boards", 0.05),
    _share("share of old lots on some boards", 0.4),
    _share("boards with many old lots", 0.4),
    _delay("median of the bare board", 5.0),
    _delay("sigma of the bare board", 0.5, 0.3),
)
"""Starting values are round numbers: common practice, and the quantiles of chip to assembly."""


MEDIANS = tuple(n for n, p in enumerate(PARAMETERS) if p.name.startswith("median of"))
"""The places of the medians of D, fresh stock, old stock and the bare board."""
FRESH = 1
"""The place of fresh stock among them."""


def _spreads(covariance: Array) -> list[float]:
    """How well each of MEDIANS is known: fresh stock by itself, the others once it is given.

    The boards tell the sum of delays better than its parts, so the medians' errors go against one
    another; independent spreads would count what the parts have in common twice.
    """
    own = covariance[np.ix_(MEDIANS, MEDIANS)]
    shared = own[FRESH] ** 2 / own[FRESH, FRESH]
    shared[FRESH] = 0.0
    spreads: list[float] = np.sqrt(np.diag(own) - shared).tolist()
    return spreads


def profile_of(values: Sequence[float], covariance: Array | None = None) -> Profile:
    """The stock profile that some values of PARAMETERS describe.

    ``covariance`` says how well they are known; what it says of the medians becomes their spread,
    to be integrated over. The settings have no place for that of old stock: it widens the sigma.
    """
    t, ts, f, fs, age, old, low, high, many, b, bs = (
        p.shown(v) for p, v in zip(PARAMETERS, values, strict=True)
    )
    of_t, of_f, of_old, of_b = [0.0] * 4 if covariance is None else _spreads(covariance)
    return Profile(
        name=TRADE,
        prior=SHIPPED.prior,
        transit=Lognormal(t, ts, of_t),
        fresh=Lognormal(f, fs, of_f),
        old_sigma=hypot(old, of_old),
        settings=tuple(
            Stock(board * lots, rho, years)
            for lots, years in ((1 - OLDER_SHARE, age), (OLDER_SHARE, OLDER * age))
            for board, rho in ((1 - many, low), (many, high))
        ),
        board=Lognormal(b, bs, of_b),
        source="fitted to stamped boards by tests/benchmarks/fit_stock.py",
    )


START = tuple(p.start for p in PARAMETERS)


def fold_of(code: str) -> int:
    """The fold of a board: the same on every machine."""
    return int.from_bytes(hashlib.sha256(code.encode()).digest()[:4], "big") % FOLDS


@dataclass(frozen=True)
class Stamped:
    """What the fit needs of one board. W weeks about the stamp, L lots."""

    code: str
    grid: npt.NDArray[np.int64]
    """Every week that the inference considers."""
    weeks: npt.NDArray[np.int64]
    """(W)"""
    codes: tuple[tuple[npt.NDArray[np.int64], Array], ...]
    """For each lot its code weeks and, a ratio to knowing nothing, how probable each is."""
    undated: Array
    """(L)"""
    kept: Array
    """(L, W)"""
    gone: Array
    """(L, W)"""
    stamp: Array
    """(W): the share of each week's days that the stamp allows."""
    days: int
    fabricated: Evidence | None


def stamped(board: FieldBoard) -> Stamped:
    """Read one board. Raises ValueError for a board without a stamp."""
    if board.assembled is None:
        raise ValueError(f"{board.code} has no stamp")
    evidence = gather(survey_of(board, bare_board=True, trade=TRADE))
    first, last = board.assembled
    grid = evidence.grid
    low = max(week_of(first) - MARGIN, grid.start)
    weeks = np.arange(low, min(week_of(last) + MARGIN, grid.stop))
    place = weeks - grid.start
    right = (1 - DEFAULTS.misread) * (grid.stop - grid.start)
    codes, kept, gone = [], [], []
    for lot in evidence.lots:
        mass: dict[int, float] = {}
        for reading in lot.readings:
            for week, share in _shares(reading.span).items():
                mass[week] = mass.get(week, 0.0) + right * reading.probability * share
        near = [w for w in mass if -LONGEST < w - low <= len(weeks)]
        codes.append((np.array(near, np.int64), np.array([mass[w] for w in near])))
        kept.append(np.repeat(lot.follow * lot.kept, grid.length)[place])
        gone.append(np.repeat(lot.apart * lot.replaced, grid.length)[place])
    stamp = np.zeros(len(weeks))
    for number in range((last - first).days + 1):
        stamp[week_of(first + timedelta(days=number)) - low] += 1 / 7
    return Stamped(
        board.code,
        grid.weeks,
        weeks,
        tuple(codes),
        np.array([lot.undated for lot in evidence.lots]),
        np.array(kept),
        np.array(gone),
        stamp,
        (last - first).days + 1,
        evidence.survey.evidence[0] if evidence.survey.evidence else None,
    )


@cache
def _shares(span: Span) -> dict[int, float]:
    found: dict[int, float] = {}
    for number in range(span.days):
        week = week_of(span.first + timedelta(days=number))
        found[week] = found.get(week, 0.0) + 1 / span.days
    return found


def scores(profile: Profile, board: Stamped) -> tuple[float, float | None]:
    """Log predictive score from the chips alone, and with the bare board's date if there is one."""
    mixed = hypotheses(profiles=(profile,))
    fresh, old = (
        np.array([np.append(pmf(shape), 0.0) for shape in shapes])
        for shapes in ([h.fresh for h in mixed], [profile.old(h.stock) for h in mixed])
    )
    rho = np.array([h.stock.rho for h in mixed])[:, None]
    delays = (1 - rho) * fresh + rho * old
    product = np.repeat(np.array([[h.weight] for h in mixed]), len(board.weeks), axis=1)
    for (codes, mass), undated, kept, gone in zip(
        board.codes, board.undated, board.kept, board.gone, strict=True
    ):
        # No delay is negative: the entry past the longest holds nothing.
        delay = board.weeks - codes[:, None]
        dated = mass @ delays[:, np.where(delay < 0, LONGEST, delay)]
        product = product * (kept * (dated + undated) + gone)
        product /= product.max()
    total = onwards(product.sum(axis=0), transit(profile.transit))
    chips = _score(total, board)
    if board.fabricated is None:
        return chips, None
    ratio = said(board.fabricated, None, board.grid, profile.board, DEFAULTS).ratio
    return chips, _score(total * ratio[board.weeks - board.grid[0]], board)


def _score(mass: Array, board: Stamped) -> float:
    return log(max(float(mass @ board.stamp) / float(mass.sum()), 1e-12) / (board.days / 7))


def lost(values: Sequence[float], boards: Sequence[Stamped]) -> float:
    """What is minimised: minus the scores and the log prior."""
    profile = profile_of(values)
    total = 0.0
    for board in boards:
        chips, both = scores(profile, board)
        total -= chips if both is None else (chips + both) / 2
    pull = [(v - p.start) / p.spread for p, v in zip(PARAMETERS, values, strict=True)]
    return total + float(np.square(pull).sum()) / 2


def fit(boards: Sequence[Stamped]) -> tuple[float, ...]:
    """The values of PARAMETERS that score best on the boards."""
    found = minimize(lost, START, args=(boards,), method="L-BFGS-B", options={"maxiter": 40})
    pmf.cache_clear()
    return tuple(float(v) for v in found.x)


def uncertainty(values: Sequence[float], boards: Sequence[Stamped], step: float = 0.05) -> Array:
    """Covariance of the values: inverse of the numerical Hessian of what is minimised (Laplace)."""
    size = len(values)
    hessian = np.zeros((size, size))
    centre = np.array(values)
    unit = np.eye(size) * step
    for i in range(size):
        for j in range(i + 1):
            corners = [
                a * b * lost(tuple(centre + a * unit[i] + b * unit[j]), boards)
                for a in (1, -1)
                for b in (1, -1)
            ]
            hessian[i, j] = hessian[j, i] = sum(corners) / (4 * step**2)
    held, axes = np.linalg.eigh(hessian)
    pmf.cache_clear()
    # A direction in which the boards say nothing keeps its prior's spread.
    least = min(1 / p.spread**2 for p in PARAMETERS)
    covariance: Array = (axes / np.maximum(held, least)) @ axes.T
    return covariance


@dataclass(frozen=True)
class Seen:
    """Weeks to the middle of a board's stamp from each of its dated chips, and from its bare
    board's month if that is known."""

    chips: tuple[float, ...]
    bare: float | None


def seen(board: FieldBoard) -> Seen:
    """The delays of one board. Raises ValueError for a board without a stamp."""
    if board.assembled is None:
        raise ValueError(f"{board.code} has no stamp")
    first, last = board.assembled
    middle = first.toordinal() + (last - first).days / 2
    chips, bare = [], None
    for marking in {m for _, m in board.parts}:
        best = read_marking(marking, near=first.year).best
        if best is not None:
            code = best.first.toordinal() + (best.last - best.first).days / 2
            chips.append((middle - code) / 7)
    if board.fabricated and "-" in board.fabricated:
        year, month = map(int, board.fabricated.split("-"))
        bare = (middle - date(year, month, 15).toordinal()) / 7
    return Seen(tuple(chips), bare)


def independent(training: Sequence[FieldBoard]) -> Profile:
    """The obvious model: every lot an independent lognormal delay, nothing shared.

    Median and sigma are those of maximum likelihood from each training board's dated chips to the
    middle of its stamp. The misreading floor and the rate of replacements stay those of DEFAULTS.
    """
    found = [seen(board) for board in training if board.assembled]
    # A code after the stamp, or years before it, is another date or another fitting.
    return Profile(
        name=TRADE,
        prior=SHIPPED.prior,
        transit=Lognormal(0.3, 0.1),
        fresh=_lognormal([d for board in found for d in board.chips if 0 < d < 156]),
        old_sigma=0.8,
        settings=(Stock(1.0, 0.0, 20.0),),
        board=_lognormal([b.bare for b in found if b.bare is not None and 0 < b.bare < 156]),
        source="maximum likelihood, delays independent",
    )


def told(profile: Profile, lots: Sequence[int]) -> tuple[Array, Array, Array]:
    """Running distributions by week of the three delays of ``seen`` as a profile has them: from a
    chip, from the newest of so many ``lots``, and from the bare board, to the build."""
    length = 2 * LONGEST
    chip, newest = np.zeros(length), np.zeros(length)
    for h in hypotheses(profiles=(profile,)):
        lot = (1 - h.stock.rho) * pmf(h.fresh) + h.stock.rho * pmf(profile.old(h.stock))
        beyond = np.maximum(1 - np.cumsum(lot), 0.0)
        least = -np.diff(np.mean([beyond**n for n in lots], axis=0), prepend=1.0)
        for total, one in ((chip, lot), (newest, least)):
            moved = np.convolve(one, transit(profile.transit))
            total[: len(moved)] += h.weight * moved
    return np.cumsum(chip), np.cumsum(newest), np.cumsum(pmf(profile.board.once))


def print_delays(boards: Sequence[FieldBoard], profiles: Sequence[tuple[str, Profile]]) -> None:
    """Quantiles of the delays that the boards show, and of those that profiles state."""
    found = [one for one in map(seen, boards) if one.chips]
    shown = (
        ("chip to stamp", [d for one in found for d in one.chips]),
        ("newest chip to stamp", [min(one.chips) for one in found]),
        ("bare board to stamp", [one.bare for one in found if one.bare is not None]),
    )
    stated = [(name, told(p, [len(one.chips) for one in found])) for name, p in profiles]
    print(f"{'weeks, quantiles':36}" + "".join(f"{q:>7.0%}" for q in QUANTILES))
    for number, (name, weeks) in enumerate(shown):
        print(f"{name + f' ({len(weeks)})':36}" + _line(np.quantile(weeks, QUANTILES)))
        for who, runs in stated:
            places = np.searchsorted(runs[number], QUANTILES).astype(float)
            print(f"  {who:34}" + _line(places))


def _line(values: Array) -> str:
    return "".join(f"{value:7.1f}" for value in values.tolist())


def _lognormal(delays: Sequence[float]) -> Lognormal:
    """Maximum likelihood: mean and standard deviation of the logarithms."""
    if len(delays) < 2:
        return Lognormal(5.0, 0.7)
    logs = np.log(np.maximum(delays, 0.5))
    return Lognormal(float(np.exp(logs.mean())), float(logs.std()))


def with_profile(profile: Profile) -> tuple[Profile, ...]:
    """All trades, with one profile in the place of its namesake."""
    return tuple(profile if p.name == profile.name else p for p in PROFILES)


def cross_validated(boards: Sequence[FieldBoard]) -> dict[int, tuple[Profile, Profile]]:
    """For each fold the fitted and the independent profile, from the boards of the other folds."""
    read = {b.code: stamped(b) for b in boards if b.assembled}
    found = {}
    for fold in range(FOLDS):
        training = [b for b in boards if b.assembled and fold_of(b.code) != fold]
        boards_read = [read[b.code] for b in training]
        values = fit(boards_read)
        fitted = profile_of(values, uncertainty(values, boards_read))
        found[fold] = (fitted, independent(training))
    return found


def described(profile: Profile) -> str:
    """A profile in one line of figures: median / sigma / spread of each delay."""
    rhos = ", ".join(f"{s.weight:.2f} x (rho {s.rho:.2f}, {s.age:.0f})" for s in profile.settings)
    transit, fresh, board = (
        f"{shape.median:.2f} / {shape.sigma:.2f} / {shape.spread:.2f}"
        for shape in (profile.transit, profile.fresh, profile.board)
    )
    return f"D {transit}, fresh {fresh}, old sigma {profile.old_sigma:.2f}: {rhos}; board {board}"


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("folder", type=Path)
    boards = [b for b in field_boards(parser.parse_args().folder) if b.assembled]
    read = [stamped(b) for b in boards]
    values = fit(read)
    covariance = uncertainty(values, read)
    spread = np.sqrt(np.diag(covariance))
    print(f"{len(read)} stamped boards; penalised loss {lost(values, read):.2f}")
    print(f"{'parameter':36}{'start':>8}{'fitted':>8}{'68% interval':>18}")
    for parameter, value, sd in zip(PARAMETERS, values, spread, strict=True):
        low, high = parameter.shown(value - sd), parameter.shown(value + sd)
        print(
            f"{parameter.name:36}{parameter.shown(parameter.start):8.2f}"
            f"{parameter.shown(value):8.2f}{low:9.2f} to{high:7.2f}"
        )
    profiles = (
        ("as shipped", SHIPPED),
        ("fitted", profile_of(values)),
        ("fitted, uncertainty integrated over", profile_of(values, covariance)),
        ("independent", independent(boards)),
    )
    for name, profile in profiles:
        chips = [scores(profile, board) for board in read]
        both = [b for _, b in chips if b is not None]
        print(
            f"{name}, on the same boards, within {MARGIN} weeks of the stamp: mean log score "
            f"{np.mean([c for c, _ in chips]):.3f} chips alone"
            + (f", {np.mean(both):.3f} with the bare board ({len(both)} boards)" if both else "")
        )
        print("  " + described(profile))
    print_delays(boards, profiles)


if __name__ == "__main__":
    main()
