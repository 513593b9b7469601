"""A whole board by brute force: every history, every replacement, every reading, week by week.

Written from the model's words, not from its code: plain loops over weeks, scipy's lognormal, no
cells, no scan. Only for boards whose grid is a handful of weeks.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from functools import cache
from itertools import product
from math import exp

import numpy as np
from scipy.stats import lognorm, norm

from provenance.graph import fit_groups
from provenance.inference.defaults import DEFAULTS, Defaults
from provenance.inference.stock import LATER, LONGEST, PROFILES, Lognormal, Profile, Stock
from provenance.survey.model import Evidence, Survey, SurveyedPart
from provenance.weeks import Span, week_of
from tests.inference.fixed_readings import Dated
from tests.inference.near import Array

Fates = defaultdict[tuple[str, object], float]
"""Weights by what became of a lot (kept, later, replaced) and the days that its marking means."""
FIRST_YEAR = 1960
"""The grid begins here, if the production years do not begin earlier."""
TAIL = 1e-5
"""Probability of the longest delays of an occasion that is left out."""
REACH = 200
"""Longest delay in weeks that a check of a few weeks can meet."""


@cache
def delay(shape: Lognormal, weeks: int) -> float:
    """Probability of a delay of some whole weeks."""
    if weeks < 0:
        return 0.0
    law = lognorm(shape.sigma, scale=shape.median)
    return float((law.cdf(weeks + 1) - law.cdf(weeks)) / law.cdf(LONGEST))


@cache
def _longest(shape: Lognormal) -> tuple[int, float]:
    total, weeks = 0.0, 0
    while total < 1 - TAIL:
        total += delay(shape, weeks)
        weeks += 1
    return weeks, total


def unsure(shape: Lognormal) -> Lognormal:
    """The same delay where its median is not known either: the variances add up."""
    return Lognormal(shape.median, (shape.sigma**2 + shape.spread**2) ** 0.5)


def common(known: Lognormal, weeks: int) -> float:
    """The delay of a whole occasion, of which the longest TAIL is left out."""
    shape = unsure(known)
    longest, total = _longest(shape)
    return delay(shape, weeks) / total if 0 <= weeks < longest else 0.0


def fresh_stocks(profile: Profile) -> list[Lognormal]:
    """Fresh stock with its median a spread under and over the profile's, equally probable."""
    shape = profile.fresh
    return [Lognormal(shape.median * exp(z * shape.spread), shape.sigma) for z in (-1, 1)]


def stocked(profile: Profile, stock: Stock, fresh: Lognormal, weeks: int) -> float:
    """A lot's time in stock: fresh, or old with probability rho."""
    return (1 - stock.rho) * delay(fresh, weeks) + stock.rho * delay(profile.old(stock), weeks)


@cache
def service(weeks: int) -> float:
    """The same for a later work or a replacement."""
    total = sum(s.weight for s in LATER.settings)
    fresh = unsure(LATER.fresh)
    return sum(s.weight / total * stocked(LATER, s, fresh, weeks) for s in LATER.settings)


def code_weeks(span: Span) -> Iterator[int]:
    """The week of every day that a marking may mean."""
    for number in range(span.days):
        yield week_of(span.first + timedelta(days=number))


@dataclass(frozen=True)
class SlowBoard:
    """``build`` by week; for each group the probability that it is original; for each part the
    three origins; ``readings`` for each part the probability of each span (None: no date)."""

    build: Array
    original: tuple[float, ...]
    origins: dict[str, tuple[float, float, float]]
    readings: dict[str, dict[object, float]]


@dataclass(frozen=True)
class _Lot:
    group: int
    refs: tuple[str, ...]
    dated: tuple[Dated, ...]
    mount: str | None
    stays: float
    alone: float


class Slow:
    """One survey; the steps are methods so that each says what it sums over."""

    def __init__(
        self,
        survey: Survey,
        readings: Mapping[str, Sequence[Dated]],
        defaults: Defaults = DEFAULTS,
    ) -> None:
        self.survey, self.known, self.defaults = survey, readings, defaults
        first, last = survey.production_span()
        year = min(FIRST_YEAR, first.year - 1) if first else FIRST_YEAR
        self.start = week_of(date(year, 1, 1))
        self.stop = week_of(survey.day()) + 1
        self.production = (first, last)
        self.fit = fit_groups(survey)
        self.lots = list(self._lots())

    def _members(self, group: int) -> list[SurveyedPart]:
        refs = self.fit.groups[group].refs
        return [p for p in self.survey.parts() if p.ref in refs]

    def looks(self, group: int) -> str | None:
        """How most joints of a group look; factory where as many look one way as the other."""
        noted = [p.joints for p in self._members(group)]
        factory, hand = noted.count("factory"), noted.count("hand")
        if not factory and not hand:
            return None
        return "factory" if factory >= hand else "hand"

    def _own_joints(self, part: SurveyedPart) -> bool:
        """Whether the joints of a part are said of it, and not of its section."""
        return self.survey.sections[part.section].parts[part.ref].joints is not None

    def _lots(self) -> Iterator[_Lot]:
        for group in range(len(self.fit.groups)):
            looks = self.looks(group)
            together: defaultdict[tuple[object, ...], list[SurveyedPart]] = defaultdict(list)
            sharing = sum(not self._own_joints(part) for part in self._members(group))
            for part in self._members(group):
                own = self._own_joints(part) or sharing == 1
                together[part.marking, part.mount, part.joints, own, part.adapter].append(part)
            for parts in together.values():
                joints, adapter = parts[0].joints, parts[0].adapter
                own = self._own_joints(parts[0]) or sharing == 1
                stays = alone = 1.0
                socketed = parts[0].mount == "socketed"
                if looks and joints in ("factory", "hand") and not socketed:
                    same = self.defaults.same_joints
                    stays = (same if joints == looks else 1 - same) ** len(parts)
                    one = self.defaults.joints[joints][1]
                    if not own:
                        # Either the part was looked at, or the note is of its section alone.
                        seen = self.defaults.looked_at
                        one = seen * one + (1 - seen) * stays ** (1 / len(parts))
                    alone = one ** len(parts)
                if adapter:
                    stays *= self.defaults.adapter[0] ** len(parts)
                    alone *= self.defaults.adapter[1] ** len(parts)
                yield _Lot(
                    group,
                    tuple(p.ref for p in parts),
                    tuple(self.known[parts[0].marking]),
                    parts[0].mount,
                    stays,
                    alone,
                )

    def prior(self, week: int) -> float:
        """Flat over the production years, falling off outside."""
        first, last = self.production
        weight = 1.0
        if first and week < week_of(first):
            weight *= exp((week - week_of(first)) / self.defaults.production_slack)
        if last and week > week_of(last):
            weight *= exp((week_of(last) - week) / self.defaults.production_slack)
        return weight

    def said(self, piece: Evidence, week: int, board: Lognormal) -> float:
        """The likelihood ratio of one piece of evidence if the fitting was in the week."""
        reliability = piece.reliability
        if reliability is None:
            reliability = self.defaults.reliability[piece.kind]
        first, last = piece.span()
        low = max(week_of(first), self.start) if first else self.start
        high = min(week_of(last), self.stop - 1) if last else self.stop - 1
        everything, span = self.stop - self.start, high - low + 1
        if piece.date and "~" in piece.date:
            return reliability * self.about(piece, week, board) + (1 - reliability)
        if piece.says == "in use by":
            right = float(week <= high)
        elif piece.says == "not before":
            right = float(week >= low)
        elif piece.kind == "bare board code":
            right = sum(self.boarded(board, week - w) for w in range(low, high + 1))
            right *= everything / span
        elif piece.kind == "inspection stamp":
            mean = self.defaults.inspection_lag
            lags = [exp(-k / mean) for k in range(int(12 * mean))]
            right = sum(
                lags[w - week] / sum(lags)
                for w in range(low, high + 1)
                if 0 <= w - week < len(lags)
            )
            right *= everything / span
        else:
            right = float(low <= week <= high) * everything / span
        return reliability * right + (1 - reliability)

    def boarded(self, board: Lognormal, weeks: int) -> float:
        """From the bare board to the build: as the trade has it, or as an old blank."""
        share, median, sigma = self.defaults.old_blanks
        return (1 - share) * common(board, weeks) + share * common(Lognormal(median, sigma), weeks)

    def about(self, piece: Evidence, week: int, board: Lognormal) -> float:
        """The same of an approximate day: each end of it a normal distance off, of a week."""
        (day, _) = piece.span()
        assert day
        assert piece.date == f"{day.isoformat()}~"
        off = norm(scale=self.defaults.approximate["day"])
        ahead = {w: w - week_of(day) for w in range(self.start, self.stop)}
        if piece.says == "in use by":
            return float(off.sf(ahead[week] - 0.5))
        if piece.says == "not before":
            return float(off.cdf(ahead[week] + 0.5))
        lies = {w: float(off.cdf(k + 0.5) * off.sf(k - 0.5)) for w, k in ahead.items()}
        lies = {w: p * len(lies) / max(sum(lies.values()), 1.0) for w, p in lies.items()}
        if piece.kind == "bare board code":
            return sum(p * self.boarded(board, week - w) for w, p in lies.items())
        return lies[week]

    def lot(self, lot: _Lot, week: int, stock: Sequence[float]) -> Fates:
        """What a lot's marking weighs if its group was fitted in the week: (fate, span) each."""
        everything = self.stop - self.start
        right = 1 - self.defaults.misread
        rate = self.defaults.replacement_rate
        if lot.mount == "socketed":
            rate *= self.defaults.socket_factor
        since = range(week + 1, self.stop)
        kept = exp(-rate * len(since))
        undated = 1 - right * sum(p for _, p in lot.dated)
        found: Fates = defaultdict(float)
        found["kept", None] += lot.stays * kept * undated
        for when in since:
            each = lot.alone * (1 - kept) / len(since)
            found["replaced", None] += each * undated
            for span, p in lot.dated:
                for code in code_weeks(span):
                    found["replaced", span] += (
                        each * right * p * everything * service(when - code) / span.days
                    )
        for span, p in lot.dated:
            for code in code_weeks(span):
                fits = stock[week - code] if week >= code else 0.0
                found["kept", span] += lot.stays * kept * right * p * everything * fits / span.days
        return found

    def histories(self) -> Iterator[tuple[int, tuple[int, ...], float]]:
        """Week of picking, week of each group's last fitting, probability of the works."""
        groups, q, r = len(self.fit.groups), self.defaults.work_share, self.defaults.work_rate
        for u in range(self.start, self.stop):
            after = range(u + 1, self.stop)
            for works in product([None, *range(1 << groups)], repeat=len(after)):
                p, last = 1.0, [u] * groups
                for week, refitted in zip(after, works, strict=True):
                    p *= 1 - r if refitted is None else r
                    for s in range(groups):
                        if refitted is not None:
                            p *= q if refitted >> s & 1 else 1 - q
                            if refitted >> s & 1:
                                last[s] = week
                if u in last and all(last[i] <= last[j] for i, j in self.fit.order):
                    yield u, tuple(last), p

    def group_says(self, group: int, week: int, later: bool, profile: Profile) -> float:
        """Mount and joints of one group, and documents if it is later: of a work that was done by
        today. Those of an original group date the build."""
        weight = 1.0
        if self.fit.groups[group].mount == "socketed":
            weight *= self.defaults.socketed[later]
        if (looks := self.looks(group)) is not None:
            habit = self.defaults.joints[looks][0] if later else profile.joints(looks)
            weight *= habit
        for piece in self.survey.evidence:
            if later and piece.section in self.fit.groups[group].sections:
                by_now = [common(LATER.transit, t - week) for t in range(week, self.stop)]
                weight *= sum(
                    delay / sum(by_now) * self.said(piece, week + weeks, LATER.board)
                    for weeks, delay in enumerate(by_now)
                )
        return weight

    def sum(self) -> SlowBoard:
        """Everything, normalised."""
        chosen = [p for p in PROFILES if self.survey.trade in (None, p.name)]
        histories: defaultdict[tuple[int, tuple[int, ...]], float] = defaultdict(float)
        for u, last, p in self.histories():
            histories[u, last] += p
        sums = _Sums(self)
        in_work = self.fates([service(k) for k in range(REACH)])
        for profile in chosen:
            dating = {
                original: self.dating(profile, original)
                for original in {tuple(week == u for week in last) for u, last in histories}
            }
            says = {
                (s, week, later): self.group_says(s, week, later, profile)
                for s in range(len(self.fit.groups))
                for week in range(self.start, self.stop)
                for later in (False, True)
            }
            for stock, fresh in product(profile.settings, fresh_stocks(profile)):
                share = stock.weight / sum(s.weight for s in profile.settings) / 2
                share *= profile.prior / sum(p.prior for p in chosen)
                first = self.fates([stocked(profile, stock, fresh, k) for k in range(REACH)])
                for (u, last), p in histories.items():
                    ahead = np.array(
                        [
                            common(profile.transit, t - u)
                            * dating[tuple(week == u for week in last)][t - self.start]
                            for t in range(self.start, self.stop)
                        ]
                    )
                    weight = share * p
                    for s, week in enumerate(last):
                        weight *= says[s, week, week != u]
                    seen = [
                        (first if last[lot.group] == u else in_work)[i, last[lot.group]]
                        for i, lot in enumerate(self.lots)
                    ]
                    sums.add(u, last, weight * ahead, seen)
        return sums.normalised()

    def dating(self, profile: Profile, original: Sequence[bool]) -> list[float]:
        """Prior times what the evidence on the whole board says, and on sections of which a group
        is original, by week of the build."""
        groups = [g for g, built in zip(self.fit.groups, original, strict=True) if built]
        general = [
            e
            for e in self.survey.evidence
            if e.section is None or any(e.section in g.sections for g in groups)
        ]
        return [
            self.prior(t) * float(np.prod([self.said(e, t, profile.board) for e in general]))
            for t in range(self.start, self.stop)
        ]

    def fates(self, stock: Sequence[float]) -> dict[tuple[int, int], Fates]:
        """For every lot and week of fitting, what its marking weighs."""
        return {
            (i, week): self.lot(lot, week, stock)
            for i, lot in enumerate(self.lots)
            for week in range(self.start, self.stop)
        }


class _Sums:
    """The running sums over histories."""

    def __init__(self, slow: Slow) -> None:
        self.slow = slow
        self.build = np.zeros(slow.stop - slow.start)
        self.original = np.zeros(len(slow.fit.groups))
        self.fates: list[Fates] = [defaultdict(float) for _ in slow.lots]

    def add(self, u: int, last: tuple[int, ...], ahead: Array, seen: list[Fates]) -> None:
        """One history under one setting; ``ahead`` is its weight by week of the build."""
        each = [sum(f.values()) for f in seen]
        self.build += ahead * np.prod(each)
        weight = float(ahead.sum())
        self.original += weight * np.prod(each) * (np.array(last) == u)
        for i, lot in enumerate(self.slow.lots):
            rest = weight * float(np.prod(each[:i] + each[i + 1 :]))
            for (fate, span), value in seen[i].items():
                told = "later" if fate == "kept" and last[lot.group] != u else fate
                self.fates[i][told, span] += rest * value

    def normalised(self) -> SlowBoard:
        total = self.build.sum()
        origins, read = {}, {}
        for lot, found in zip(self.slow.lots, self.fates, strict=True):
            by_fate: defaultdict[str, float] = defaultdict(float)
            by_span: defaultdict[object, float] = defaultdict(float)
            for (fate, span), value in found.items():
                by_fate[fate] += value / total
                by_span[span] += value / total
            for ref in lot.refs:
                origins[ref] = (by_fate["kept"], by_fate["later"], by_fate["replaced"])
                read[ref] = dict(by_span)
        return SlowBoard(self.build / total, tuple(self.original / total), origins, read)
