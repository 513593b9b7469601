"""From a survey to the curves that the exact inference works on.

Knows what each observation says of a week: markings through their readings, mounts and joints,
documents, the bare board. Leaves the sum over histories to ``episodes`` and what is reported to
``board``.

All likelihoods are ratios to knowing nothing: a reading of probability p on a span of days
becomes p times the stock's density there, over a density that is flat on the years considered.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from datetime import date, timedelta
from functools import cache, lru_cache

import numpy as np

from provenance.graph import FitGroups, fit_groups
from provenance.inference.defaults import DEFAULTS, Defaults
from provenance.inference.episodes import Array, Problem
from provenance.inference.stock import (
    LATER,
    LONGEST,
    PROFILES,
    Hypothesis,
    Lognormal,
    Profile,
    cumulative,
    hypotheses,
    later_stock,
    pmf,
)
from provenance.markings.reader import read_marking
from provenance.markings.reading import MarkingReading, Reading
from provenance.survey.model import Evidence, Survey, SurveyedPart
from provenance.weeks import Span, monday, sunday, week_of

FIRST_YEAR = 1960
"""Before this no marking is read, unless the production years say so."""
FINE, MIDDLE, COARSE = 1, 4, 26
"""Weeks in a cell: where many parts speak, where some do, where none does."""
REACH = 52
"""Weeks after a code in which cells are kept fine; three times as long they are kept middling."""
WARM, HOT = 0.03, 0.25
"""Parts that must speak for a week, counted by probability, for middling and for fine cells."""
FINE_WEEKS, MIDDLE_WEEKS = 200, 720
"""Most weeks in fine cells, and in fine and middling cells together."""
MOST_WEEKS = 13
"""Most weeks that stand for the span of one reading."""
NEGLIGIBLE = 1e-3
"""A reading less probable than this counts as 'no date here'."""
TAIL = 1e-5
"""Probability of the longest delays from picking to fitting that is left out."""


@dataclass(frozen=True)
class Grid:
    """Cells of whole weeks, oldest first, without gaps. Arrays have one entry a cell."""

    first: np.ndarray
    length: np.ndarray

    @property
    def centre(self) -> np.ndarray:
        """The middle week of each cell."""
        return self.first + (self.length - 1) // 2

    @property
    def start(self) -> int:
        return int(self.first[0])

    @property
    def stop(self) -> int:
        """The week after the last."""
        return int(self.first[-1] + self.length[-1])

    def weekly(self, mass: Array) -> Array:
        """Mass by cell (..., C) spread evenly over the cells' weeks (..., W)."""
        return np.repeat(mass / self.length, self.length, axis=-1)

    def gather(self, density: Array) -> Array:
        """Mean over each cell's weeks (..., C) of a density by week (..., W)."""
        return np.add.reduceat(density, self.first - self.start, axis=-1) / self.length


def grid_of(start: int, stop: int, spans: Iterable[tuple[int, int, float]]) -> Grid:
    """Cells for the weeks from ``start`` up to ``stop``, fine where the codes are.

    ``spans`` are first week, last week and probability of each dated reading.
    """
    weeks = stop - start
    near, far = np.zeros(weeks + 1), np.zeros(weeks + 1)
    for first, last, probability in spans:
        for heat, reach in ((near, REACH), (far, 3 * REACH)):
            low, high = max(first - 1 - start, 0), min(last + reach - start, weeks)
            if low < high:
                heat[low] += probability
                heat[high] -= probability
    near, far = np.cumsum(near)[:weeks], np.cumsum(far)[:weeks]
    level = np.full(weeks, COARSE)
    for heat, least, most, size in (
        (far, WARM, MIDDLE_WEEKS, MIDDLE),
        (near, HOT, FINE_WEEKS, FINE),
    ):
        hottest = np.argsort(-heat, kind="stable")[:most]
        level[hottest[heat[hottest] > least]] = size
    lengths: list[int] = []
    at = 0
    while at < weeks:
        size = int(level[at])
        ahead = level[at : at + size]
        finer = np.flatnonzero(ahead < size)
        size = int(finer[0]) if len(finer) else len(ahead)
        lengths.append(size)
        at += size
    length = np.array(lengths)
    return Grid(start + np.cumsum(length) - length, length)


@dataclass(frozen=True)
class Kernels:
    """The delays that the hypotheses are mixed from.

    ``running`` (K, LONGEST + 2) are cumulative distributions; the last kernel is the later
    stock's. ``mix`` (H, K - 1) are the shares of each hypothesis.
    """

    hypotheses: tuple[Hypothesis, ...]
    running: Array
    mix: Array


@cache
def kernels(trade: str | None, profiles: tuple[Profile, ...] = PROFILES) -> Kernels:
    """The kernels of one trade, or of all."""
    found = hypotheses(trade, profiles)
    shapes: dict[Lognormal, int] = {}
    shares: list[list[tuple[int, float]]] = []
    for h in found:
        old = Lognormal(h.stock.age, h.profile.old_sigma)
        shares.append(
            [
                (shapes.setdefault(h.profile.fresh, len(shapes)), 1 - h.stock.rho),
                (shapes.setdefault(old, len(shapes)), h.stock.rho),
            ]
        )
    mix = np.zeros((len(found), len(shapes)))
    for row, parts in zip(mix, shares, strict=True):
        for column, share in parts:
            row[column] += share
    running = [cumulative(pmf(shape)) for shape in shapes] + [cumulative(later_stock())]
    padded = np.pad(np.array(running), ((0, 0), (0, 1)), mode="edge")
    return Kernels(found, padded, mix)


@lru_cache(maxsize=4096)
def span_weeks(span: Span) -> dict[int, float]:
    """The weeks that a span touches, with the share of its days in each.

    A long span is stood for by at most ``MOST_WEEKS`` of its weeks, evenly spaced.
    """
    first, last = week_of(span.first), week_of(span.last)
    if last - first >= MOST_WEEKS:
        return dict.fromkeys(
            np.linspace(first, last, MOST_WEEKS).round().astype(int).tolist(), 1 / MOST_WEEKS
        )
    return {
        week: (min(span.last, sunday(week)) - max(span.first, monday(week))).days / span.days
        + 1 / span.days
        for week in range(first, last + 1)
    }


def middle_week(reading: Reading) -> int:
    """The week of the middle day of a reading."""
    return week_of(reading.first + timedelta(days=(reading.span.days - 1) // 2))


@dataclass(frozen=True)
class Slab:
    """The delays' probabilities from every week with a code: ``curves`` (D, K, C), per week."""

    row: dict[int, int]
    curves: Array

    @classmethod
    def of(cls, weeks: Iterable[int], running: Array, grid: Grid) -> Slab:
        """One row for each week: how probable a fitting in each cell is to meet its code."""
        codes = np.array(sorted(set(weeks)), dtype=int)
        since = np.clip(grid.first - codes[:, None], 0, LONGEST)
        until = np.clip(grid.first + grid.length - codes[:, None], 0, LONGEST)
        curves = (running[:, until] - running[:, since]) / grid.length
        return cls({int(week): row for row, week in enumerate(codes)}, curves.transpose(1, 0, 2))

    def rows(self, readings: Sequence[Reading]) -> tuple[np.ndarray, np.ndarray, Array]:
        """For every code week of every reading: its row, its reading's number, its share."""
        entries = [
            (self.row[week], number, share)
            for number, reading in enumerate(readings)
            for week, share in span_weeks(reading.span).items()
        ]
        row, number, share = zip(*entries, strict=True) if entries else ((), (), ())
        return np.array(row, dtype=int), np.array(number, dtype=int), np.array(share, dtype=float)

    def mass(self, readings: Iterable[Reading]) -> Array:
        """(D): the probability of each code week under some readings of one marking."""
        mass = np.zeros(len(self.row))
        for reading in readings:
            for week, share in span_weeks(reading.span).items():
                mass[self.row[week]] += reading.probability * share
        return mass


@dataclass(frozen=True)
class Lot:
    """Parts of one fit group with the same marking and joints: one delivery, one delay.

    ``dated`` (K, C) is how probable its readings are, as a ratio to knowing nothing; ``undated``
    the rest: no date here, or misread. ``replaced`` (C) is the likelihood of the marking if the
    part was replaced after the cell, ``kept`` (C) the probability that it was not; ``follow`` and
    ``apart`` are what the joints say for the two.
    """

    group: int
    parts: tuple[SurveyedPart, ...]
    reading: MarkingReading
    readings: tuple[Reading, ...]
    dated: Array
    undated: float
    kept: Array
    replaced: Array
    follow: float
    apart: float

    def curves(self, mix: Array) -> tuple[Array, Array]:
        """F of this lot at the build (H, C) and in a later work (C)."""
        stay = self.follow * self.kept
        gone = self.apart * self.replaced
        build = stay * (mix @ self.dated[:-1] + self.undated) + gone
        return build, stay * (self.dated[-1] + self.undated) + gone


@dataclass(frozen=True)
class BoardEvidence:
    """Everything that one survey says, as curves. See ``Problem`` for the letters.

    ``dating`` (P, W) is prior times likelihood of the build's week t for each profile;
    ``picking`` (P, W) the same for the week u in which its parts were picked.
    """

    survey: Survey
    today: date
    grid: Grid
    kernels: Kernels
    groups: FitGroups
    slab: Slab
    lots: tuple[Lot, ...]
    usual: tuple[str | None, ...]
    """How the joints of most parts of each group look."""
    known: dict[str, int]
    """Parts that a known work fitted, with the number of the work."""
    known_readings: dict[str, MarkingReading]
    prior: Array
    """(W): the build before anything is said but the production years."""
    written: tuple[MarkingReading | None, ...]
    """The reading of each piece of evidence that has a marking and no date."""
    said: tuple[Said | None, ...]
    """What each piece of evidence about the whole board says."""
    dating: dict[str, Array]
    picking: dict[str, Array]
    problem: Problem
    defaults: Defaults


def transit(delay: Lognormal) -> Array:
    """D by week, without the longest delays."""
    mass = pmf(delay)
    length = int(np.searchsorted(np.cumsum(mass), 1 - TAIL)) + 1
    return mass[:length] / mass[:length].sum()


def onwards(mass: Array, delay: Array) -> Array:
    """The distribution of u + D by week, from that of u."""
    return np.convolve(mass, delay)[: len(mass)]


def backwards(likelihood: Array, delay: Array) -> Array:
    """The likelihood of u, from that of t = u + D, by week."""
    return np.convolve(likelihood[::-1], delay)[: len(likelihood)][::-1]


def _known_parts(survey: Survey) -> dict[str, int]:
    """Surveyed parts that a known work names, by reference or by section."""
    known: dict[str, int] = {}
    for number, work in enumerate(survey.works):
        named = set(work.parts)
        for part in survey.parts():
            if part.ref in named or part.section in named:
                known[part.ref] = number
    return known


def _years(survey: Survey, today: date) -> tuple[int, int]:
    first, _ = survey.production_span()
    return min(FIRST_YEAR, first.year - 1) if first else FIRST_YEAR, today.year


def _near(survey: Survey) -> int | None:
    first, last = survey.production_span()
    return (first.year + last.year) // 2 if first and last else None


def _lots(
    survey: Survey, groups: FitGroups, known: dict[str, int]
) -> list[tuple[int, tuple[SurveyedPart, ...]]]:
    """Parts by fit group, marking and joints, in file order."""
    of_ref = {ref: number for number, group in enumerate(groups.groups) for ref in group.refs}
    found: dict[tuple[int, str, str | None], list[SurveyedPart]] = {}
    for part in survey.parts():
        if part.ref not in known:
            key = (of_ref[part.ref], " ".join(part.marking.split()), part.joints)
            found.setdefault(key, []).append(part)
    return [(group, tuple(parts)) for (group, _, _), parts in found.items()]


def _usual_joints(parts: Sequence[SurveyedPart]) -> str | None:
    """How most of a group's joints look, or None where none is noted."""
    noted = [p.joints for p in parts if p.joints in ("factory", "hand")]
    return max(sorted(set(noted)), key=noted.count) if noted else None


def _joint_factors(
    part: SurveyedPart, usual: str | None, defaults: Defaults
) -> tuple[float, float]:
    """What a part's joints say if it went in with its group, and if it was replaced alone."""
    if part.joints not in defaults.joints or usual is None:
        return 1.0, 1.0
    same = defaults.same_joints if part.joints == usual else 1 - defaults.same_joints
    return same, defaults.joints[part.joints][2]


def _prior(survey: Survey, weeks: np.ndarray, defaults: Defaults) -> Array:
    """(W): flat over the production years, or over all years; sums to one."""
    first, last = survey.production_span()
    prior = np.ones(len(weeks))
    for bound, side in ((first, -1), (last, 1)):
        if bound is not None:
            outside = np.maximum(side * (weeks - week_of(bound)), 0)
            prior *= np.exp(-outside / defaults.production_slack)
    return prior / prior.sum()


@dataclass(frozen=True)
class Said:
    """One piece of evidence: ``right`` (W) is the part of its likelihood ratio that holds if it is
    right, ``wrong`` the part that holds if not."""

    right: Array
    wrong: float

    @property
    def ratio(self) -> Array:
        """(W): the likelihood ratio of each week of the build."""
        return self.right + self.wrong


def _said(
    evidence: Evidence,
    reading: MarkingReading | None,
    weeks: np.ndarray,
    board: Array,
    defaults: Defaults,
) -> Said:
    """What one piece of evidence says of each week; ``board`` is the bare board's delay."""
    reliability = evidence.reliability
    if reliability is None:
        reliability = defaults.reliability[evidence.kind]
    count, start = len(weeks), int(weeks[0])
    spans = _evidence_spans(evidence, reading)
    right = np.zeros(count)
    for (first, last), share in spans:
        low = max(week_of(first) - start, 0) if first else 0
        high = min(week_of(last) - start, count - 1) if last else count - 1
        said = np.zeros(count)
        if evidence.says == "in use by":
            said[: max(high + 1, 0)] = 1.0
        elif evidence.says == "not before":
            said[low:] = 1.0
        else:
            said[low : high + 1] = count / max(high - low + 1, 1)
            if evidence.kind == "bare board code":
                said = np.convolve(said, board)[:count]
            elif evidence.kind == "inspection stamp":
                lag = np.exp(
                    -np.arange(int(12 * defaults.inspection_lag)) / defaults.inspection_lag
                )
                said = backwards(said, lag / lag.sum())
        right += reliability * share * said
    return Said(right, 1.0 - reliability * sum(share for _, share in spans))


def _evidence_spans(
    evidence: Evidence, reading: MarkingReading | None
) -> list[tuple[tuple[date | None, date | None], float]]:
    """The spans of days that a piece of evidence may speak of, with their probabilities."""
    if evidence.date is not None:
        return [(evidence.span(), 1.0)]
    if reading is None:
        return []
    return [((r.first, r.last), r.probability) for r in reading.readings]


def gather(
    survey: Survey,
    *,
    today: date | None = None,
    defaults: Defaults = DEFAULTS,
    profiles: Sequence[Profile] = PROFILES,
) -> BoardEvidence:
    """Read every marking of a survey and set up the problem. Raises GraphError."""
    now = today or survey.day()
    groups = fit_groups(survey)
    known = _known_parts(survey)
    years = _years(survey, now)
    near = _near(survey)

    def read(marking: str) -> MarkingReading:
        return read_marking(marking, near=near, years=years, today=now, houses=survey.houses)

    found = _lots(survey, groups, known)
    markings = [read(parts[0].marking) for _, parts in found]
    kept = [tuple(r for r in m.readings if r.probability >= NEGLIGIBLE) for m in markings]
    start, stop = week_of(date(years[0], 1, 1)), week_of(now) + 1
    grid = grid_of(
        start,
        stop,
        ((week_of(r.first), week_of(r.last), r.probability) for rs in kept for r in rs),
    )
    bank = kernels(survey.trade, tuple(profiles))
    slab = Slab.of(
        (week for rs in kept for r in rs for week in span_weeks(r.span)),
        bank.running,
        grid,
    )
    mass = np.array([slab.mass(readings) for readings in kept]).reshape(len(found), len(slab.row))
    dated = np.tensordot(mass, slab.curves, 1) * (1 - defaults.misread) * (stop - start)
    members = [
        tuple(p for p in survey.parts() if p.ref in set(group.refs)) for group in groups.groups
    ]
    usual = tuple(_usual_joints(parts) for parts in members)
    lots = tuple(
        _lot(group, parts, reading, readings, curve, grid, bank, usual[group], defaults)
        for (group, parts), reading, readings, curve in zip(
            found, markings, kept, dated, strict=True
        )
    )
    written = [
        read(e.marking) if e.marking is not None and e.date is None else None
        for e in survey.evidence
    ]
    weeks = np.arange(start, stop)
    prior = _prior(survey, weeks, defaults)
    dating: dict[str, Array] = {}
    picking: dict[str, Array] = {}
    said: tuple[Said | None, ...] = ()
    for profile in {h.profile.name: h.profile for h in bank.hypotheses}.values():
        said = tuple(
            _said(e, reading, weeks, transit(profile.board), defaults)
            if e.section is None
            else None
            for e, reading in zip(survey.evidence, written, strict=True)
        )
        ratios = [s.ratio for s in said if s is not None]
        dating[profile.name] = prior * np.prod(ratios, axis=0) if ratios else prior
        picking[profile.name] = backwards(dating[profile.name], transit(profile.transit))
    problem = _problem(survey, groups, lots, usual, grid, bank, picking, defaults, written)
    return BoardEvidence(
        survey=survey,
        today=now,
        grid=grid,
        kernels=bank,
        groups=groups,
        slab=slab,
        lots=lots,
        usual=usual,
        known=known,
        known_readings={p.ref: read(p.marking) for p in survey.parts() if p.ref in known},
        prior=prior,
        written=tuple(written),
        said=said,
        dating=dating,
        picking=picking,
        problem=problem,
        defaults=defaults,
    )


def without_lot(evidence: BoardEvidence, number: int) -> BoardEvidence:
    """The same board without one lot's markings."""
    lots = tuple(lot for i, lot in enumerate(evidence.lots) if i != number)
    problem = _problem(
        evidence.survey,
        evidence.groups,
        lots,
        evidence.usual,
        evidence.grid,
        evidence.kernels,
        evidence.picking,
        evidence.defaults,
        evidence.written,
    )
    return replace(evidence, lots=lots, problem=problem)


def without_evidence(evidence: BoardEvidence, number: int) -> BoardEvidence:
    """The same board without one piece of evidence about the whole of it."""
    pieces = evidence.survey.evidence
    survey = evidence.survey.model_copy(
        update={"evidence": tuple(e for i, e in enumerate(pieces) if i != number)}
    )
    return gather(
        survey,
        today=evidence.today,
        defaults=evidence.defaults,
        profiles=tuple({h.profile.name: h.profile for h in evidence.kernels.hypotheses}.values()),
    )


def _lot(
    group: int,
    parts: tuple[SurveyedPart, ...],
    reading: MarkingReading,
    readings: tuple[Reading, ...],
    dated: Array,
    grid: Grid,
    bank: Kernels,
    usual: str | None,
    defaults: Defaults,
) -> Lot:
    centre = grid.centre
    right = 1 - defaults.misread
    left = np.maximum(grid.stop - 1 - centre, 0)
    rate = defaults.replacement_rate
    if parts[0].mount == "socketed":
        rate *= defaults.socket_factor
    kept = np.exp(-rate * left)
    undated = 1 - right * sum(r.probability for r in readings)
    running = bank.running[-1]
    service = np.zeros(len(centre))
    for r in readings:
        middle = middle_week(r)
        # A replacement in any week after the cell, up to today, from service stock.
        newest = running[min(max(grid.stop - middle, 0), LONGEST + 1)]
        oldest = running[np.clip(centre + 1 - middle, 0, LONGEST + 1)]
        service += right * r.probability * (grid.stop - grid.start) * (newest - oldest)
    replaced = (1 - kept) * (undated + service / np.maximum(left, 1))
    follow = apart = 1.0
    for part in parts:
        same, alone = _joint_factors(part, usual, defaults)
        follow, apart = follow * same, apart * alone
    return Lot(group, parts, reading, readings, dated, undated, kept, replaced, follow, apart)


def _problem(
    survey: Survey,
    groups: FitGroups,
    lots: Sequence[Lot],
    usual: Sequence[str | None],
    grid: Grid,
    bank: Kernels,
    picking: dict[str, Array],
    defaults: Defaults,
    written: Sequence[MarkingReading | None],
) -> Problem:
    count, cells = len(groups.groups), len(grid.first)
    build = np.ones((count, len(bank.hypotheses), cells))
    later = np.ones((count, cells))
    for number, group in enumerate(groups.groups):
        if group.mount == "socketed":
            build[number] *= defaults.socketed[0]
            later[number] *= defaults.socketed[1]
        if (looks := usual[number]) is not None:
            build[number] *= defaults.joints[looks][0]
            later[number] *= defaults.joints[looks][1]
    for lot in lots:
        at_build, in_work = lot.curves(bank.mix)
        build[lot.group] *= at_build
        later[lot.group] *= in_work
        # Only ratios between cells and origins matter; the scale would run out of range.
        scale = 1.0 / max(build[lot.group].max(), later[lot.group].max())
        build[lot.group] *= scale
        later[lot.group] *= scale
    weeks = np.arange(grid.start, grid.stop)
    for evidence, reading in zip(survey.evidence, written, strict=True):
        if evidence.section is None:
            continue
        for number, group in enumerate(groups.groups):
            if evidence.section in group.sections:
                said = _said(evidence, reading, weeks, transit(LATER.board), defaults).ratio
                for h, hypothesis in enumerate(bank.hypotheses):
                    delay = transit(hypothesis.profile.transit)
                    build[number, h] *= grid.gather(backwards(said, delay))
                later[number] *= grid.gather(backwards(said, transit(LATER.transit)))
    start = np.array(
        [h.weight * grid.gather(picking[h.profile.name]) * grid.length for h in bank.hypotheses]
    )
    rate = 1 - (1 - defaults.work_rate) ** grid.length
    return Problem(
        start, build.transpose(1, 0, 2).copy(), later, rate, defaults.work_share, groups.order
    )
