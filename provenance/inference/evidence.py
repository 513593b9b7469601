"""From a survey to the curves that the exact inference works on.

Knows what mounts and joints say of the groups, and gathers what markings say from ``lots``, what
works fitted from ``recorded`` and what everything else says from ``testimony``. Leaves the sum
over histories to ``episodes``.

All likelihoods are ratios to knowing nothing: a reading of probability p on a span of days
becomes p times the stock's density there, over a density that is flat on the weeks considered.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import date
from functools import cache, cached_property, lru_cache
from math import log, prod

import numpy as np

from provenance.graph import FitGroup, FitGroups, fit_groups, fitted_with
from provenance.inference.defaults import DEFAULTS, Defaults
from provenance.inference.delays import Delays, Kernels, backwards, kernels, transit
from provenance.inference.episodes import Problem, Spoken
from provenance.inference.grid import Array, Grid, grid_of, over
from provenance.inference.lots import Lot, deliveries, lots, usual_joints
from provenance.inference.recorded import by_date, fitted_by
from provenance.inference.stock import LATER, PROFILES, Lognormal, Profile
from provenance.inference.testimony import Said, prior, said
from provenance.markings.reader import read_date_code, read_marking
from provenance.markings.reading import MarkingReading
from provenance.survey.model import Survey, SurveyedPart
from provenance.weeks import week_of

DATE_CODES = ("bare board code", "inspection stamp")
"""Evidence whose marking is read as a date where it gives none; a running number is no date."""
FIRST_YEAR = 1960
"""Before this no marking is read, unless the production years say so."""
SURELY_LATER = 40.0
"""Natural logarithm of the most by which a later work may fit a group better than any build that is
possible: so that a dozen groups stay within what a double holds."""
MOST_SPOKEN = 4
"""Most groups of which what is said is weighed in the week of the build itself; what is said of
more is weighed over a delay from picking to fitting of their own."""
OUT_OF_RANGE = 200.0
"""Natural logarithm of what dates the build, beyond which it is scaled to at most one."""


@dataclass(frozen=True)
class BoardEvidence:
    """Everything that one survey says, as curves. See ``Problem`` for the letters."""

    survey: Survey
    today: date
    defaults: Defaults
    grid: Grid
    kernels: Kernels
    groups: FitGroups
    """Those of which something is to be inferred: without those that a known work fitted whole."""
    every_group: tuple[FitGroup, ...]
    """All, in file order."""
    usual: tuple[str | None, ...]
    """How the joints of most parts of each group look."""
    delays: Delays
    lots: tuple[Lot, ...]
    known: dict[str, int]
    """Parts that a known work fitted, with the number of the work."""
    alone: dict[str, MarkingReading]
    """What each part's marking says by itself."""
    prior: Array
    """(W): the build before anything is said but the production years."""
    said: dict[str, tuple[Said, ...]]
    """For each profile what each piece of evidence says of the week of the fitting."""
    said_later: tuple[Said, ...]
    """What each says of a later work."""
    dating: dict[str, Array]
    """(W) for each profile: prior times likelihood of the build's week t."""

    def without_lot(self, number: int) -> BoardEvidence:
        """The same board without one lot's markings."""
        return replace(self, lots=self.lots[:number] + self.lots[number + 1 :])

    def without_evidence(self, number: int) -> BoardEvidence:
        """The same board without one piece of evidence."""
        pieces = self.survey.evidence
        survey = self.survey.model_copy(update={"evidence": pieces[:number] + pieces[number + 1 :]})
        found = {name: told[:number] + told[number + 1 :] for name, told in self.said.items()}
        return replace(
            self,
            survey=survey,
            said=found,
            said_later=self.said_later[:number] + self.said_later[number + 1 :],
            dating=_dating(survey, self.prior, found),
        )

    def without_any_evidence(self) -> BoardEvidence:
        """The same board with its parts alone."""
        none: dict[str, tuple[Said, ...]] = dict.fromkeys(self.said, ())
        survey = self.survey.model_copy(update={"evidence": ()})
        dating = _dating(survey, self.prior, none)
        return replace(self, survey=survey, said=none, said_later=(), dating=dating)

    @property
    def rules_out(self) -> bool:
        """Whether a piece of evidence is certain that some week is not the build's."""
        return any(not piece.ratio.all() for told in self.said.values() for piece in told)

    @cached_property
    def picking(self) -> dict[str, Array]:
        """(C) for each profile: prior times likelihood of the week u in which the parts of the
        build were picked, summed over the cell's weeks."""
        return self._picking(self.dating)

    def _picking(self, dating: dict[str, Array]) -> dict[str, Array]:
        return {
            p.name: self.grid.total(_picked(dating[p.name].tobytes(), p.transit))
            for p in self.kernels.profiles
        }

    @cached_property
    def touched(self) -> tuple[tuple[int, ...], ...]:
        """The groups that each piece of evidence speaks of; none if of the whole board. What is
        said of a section without parts is said of those that it went in with."""
        found = []
        for evidence in self.survey.evidence:
            sections: frozenset[str] = frozenset()
            if evidence.section is not None:
                sections = fitted_with(self.survey, evidence.section)
            groups = enumerate(self.groups.groups)
            found.append(tuple(n for n, g in groups if not sections.isdisjoint(g.sections)))
        return tuple(found)

    @cached_property
    def spoken(self) -> tuple[int, ...]:
        """The groups that evidence speaks of, the first so many."""
        return tuple(sorted({n for groups in self.touched for n in groups})[:MOST_SPOKEN])

    @cached_property
    def cases(self) -> tuple[tuple[dict[str, Array], dict[str, Array]], ...]:
        """``dating`` and ``picking`` for each set of the groups in ``spoken`` that are original
        (bit n for the n-th): what is said of those dates the build as well, each piece once."""
        found = [(self.dating, self.picking)]
        for case in range(1, 1 << len(self.spoken)):
            original = {s for n, s in enumerate(self.spoken) if case >> n & 1}
            dating = {
                name: self.dating[name]
                * prod(
                    piece.ratio
                    for piece, groups in zip(told, self.touched, strict=True)
                    if not original.isdisjoint(groups)
                )
                for name, told in self.said.items()
            }
            found.append((dating, self._picking(dating)))
        return tuple(found)

    @cached_property
    def problem(self) -> Problem:
        """The problem that lots, sections' evidence and the build's dating make."""
        groups, grid, found = self.groups.groups, self.grid, self.kernels.hypotheses
        start = np.array([self.picking[h.profile.name] for h in found])
        start *= np.array([[h.weight] for h in found])
        # Where no build can be, nothing is to be said of one.
        build = np.repeat((start > 0).T[None].astype(float), len(groups), axis=0)
        later = np.ones((len(groups), len(grid.first)))
        gain = np.zeros(len(groups))
        for number, group in enumerate(groups):
            if group.mount == "socketed":
                build[number] *= self.defaults.socketed[0]
                later[number] *= self.defaults.socketed[1]
            if (looks := self.usual[number]) is not None:
                habits = [h.profile.joints(looks) for h in found]
                build[number] *= np.array(habits)
                later[number] *= self.defaults.joints[looks][0]
        for lot in self.lots:
            build[lot.group] *= lot.at_build.T
            later[lot.group] *= lot.in_work
            gain[lot.group] += _rescaled(later[lot.group]) - _rescaled(build[lot.group])
        for piece, touched in enumerate(map(list, self.touched)):
            others = [n for n in touched if n not in self.spoken]
            if touched:
                later[touched] *= self.fitted_by_now(self.said_later[piece].ratio, LATER)
            if others:
                picked = {
                    p.name: self.fitted_by_now(self.said[p.name][piece].ratio, p)
                    for p in self.kernels.profiles
                }
                build[others] *= np.array([picked[h.profile.name] for h in found]).T
            for n in touched:
                gain[n] += _rescaled(later[n]) - _rescaled(build[n])
        # Neither is more than one, which bounds every sum of them.
        gain = np.minimum(gain, SURELY_LATER)
        build *= np.exp(-np.maximum(gain, 0))[:, None, None]
        later *= np.exp(np.minimum(gain, 0))[:, None]
        return Problem(
            start=start,
            build=build.transpose(2, 0, 1),
            later=later,
            rate=1 - np.power(1 - self.defaults.work_rate, grid.length.astype(np.float64)),
            share=self.defaults.work_share,
            order=self.groups.order,
            spoken=self._ratios(),
        )

    def _ratios(self) -> Spoken | None:
        """What evidence on sections makes of the week in which the build was picked."""
        if not self.spoken:
            return None
        ratios = {
            p.name: [over(picking[p.name], self.picking[p.name]) for _, picking in self.cases]
            for p in self.kernels.profiles
        }
        by_hypothesis = np.array([ratios[h.profile.name] for h in self.kernels.hypotheses])
        return Spoken(self.spoken, by_hypothesis.transpose(1, 0, 2))

    def fitted_by_now(self, ratio: Array, by: Profile) -> Array:
        """(C): the mean of what is said of the week of fitting, given the cell of picking and that
        the fitting came before today."""
        delay = transit(by.transit)
        told, possible = backwards(ratio, delay), backwards(np.ones_like(ratio), delay)
        return self.grid.total(told) / self.grid.total(possible)


def _rescaled(curve: Array) -> float:
    """Scale a curve in place to a largest value of one; returns the logarithm of what it was.

    Only ratios between cells and origins matter; with many lots the scale would run out of range.
    """
    largest = float(curve.max())
    if largest <= 0:
        return 0.0
    curve /= largest
    return log(largest)


def gather(
    survey: Survey,
    *,
    today: date | None = None,
    defaults: Defaults = DEFAULTS,
    profiles: Sequence[Profile] = PROFILES,
) -> BoardEvidence:
    """Read every marking of a survey and set up the problem.

    Raises GraphError where the relations contradict each other, ProvenanceError where a house
    scheme is no scheme.
    """
    now = today or survey.day()
    parts = survey.parts()
    known = _known_parts(survey, parts)
    every = fit_groups(survey)
    groups = _without_known(every, known)
    first, _ = survey.production_span()
    years = min(FIRST_YEAR, now.year, first.year - 1 if first else FIRST_YEAR), now.year

    @cache
    def read(marking: str) -> MarkingReading:
        # Of the production years the build's prior speaks, once and not again with every part.
        return read_marking(marking, years=years, today=now, houses=survey.houses)

    found = deliveries(parts, groups, known, read, _inherited(survey))
    grid = grid_of(
        week_of(date(years[0], 1, 1)),
        week_of(now) + 1,
        np.concatenate([np.empty((0, 3)), *(d.marking.spans for d in found)]),
    )
    bank = kernels(survey.trade, tuple(profiles))
    delays = Delays(grid, bank)
    usual = usual_joints(parts, groups, known)
    written = [
        read_date_code(e.marking, years=years, today=now, houses=survey.houses)
        if e.marking and not e.date and e.kind in DATE_CODES
        else None
        for e in survey.evidence
    ]

    def told(by: Profile) -> tuple[Said, ...]:
        return tuple(
            said(e, reading, grid.weeks, by.board, defaults)
            for e, reading in zip(survey.evidence, written, strict=True)
        )

    flat = prior(survey, grid.weeks, defaults)
    by_profile = {profile.name: told(profile) for profile in bank.profiles}
    return BoardEvidence(
        survey=survey,
        today=now,
        defaults=defaults,
        grid=grid,
        kernels=bank,
        groups=groups,
        every_group=every.groups,
        usual=usual,
        delays=delays,
        lots=lots(found, delays, usual, mix=bank.mix, defaults=defaults),
        known=known,
        alone={p.ref: read(p.marking) for p in parts},
        prior=flat,
        said=by_profile,
        said_later=told(LATER),
        dating=_dating(survey, flat, by_profile),
    )


@lru_cache(maxsize=64)
def _picked(dating: bytes, delay: Lognormal) -> Array:
    """(W): what dates the build, of the week of picking; the boards of a batch often share it, and
    a board shares it with itself without one of its lots."""
    return backwards(np.frombuffer(dating), transit(delay))


def _dating(survey: Survey, flat: Array, found: dict[str, tuple[Said, ...]]) -> dict[str, Array]:
    """(W) for each profile: what evidence about the whole board makes of the prior."""
    # Hundreds of documents would run out of range; only ratios of weeks and profiles matter.
    with np.errstate(divide="ignore"):
        logs = {
            name: np.log(flat)
            + sum(
                np.log(piece.ratio)
                for piece, evidence in zip(told, survey.evidence, strict=True)
                if evidence.section is None
            )
            for name, told in found.items()
        }
    largest = max(float(log.max()) for log in logs.values())
    scale = largest if OUT_OF_RANGE < abs(largest) < np.inf else 0.0
    return {name: np.exp(log - scale) for name, log in logs.items()}


def _inherited(survey: Survey) -> frozenset[str]:
    """The parts whose joints are said with their section alone."""
    return frozenset(
        ref
        for section in survey.sections.values()
        for ref, part in section.parts.items()
        if part.joints is None
    )


def _without_known(groups: FitGroups, known: dict[str, int]) -> FitGroups:
    """The groups of which a part is left that no known work fitted, and their order.

    A group that a known work fitted is not original, so it must not stand for what the build left.
    """
    left = [n for n, g in enumerate(groups.groups) if any(ref not in known for ref in g.refs)]
    place = {number: new for new, number in enumerate(left)}
    return FitGroups(
        tuple(groups.groups[number] for number in left),
        frozenset((place[i], place[j]) for i, j in groups.order if i in place and j in place),
    )


def _known_parts(survey: Survey, parts: Sequence[SurveyedPart]) -> dict[str, int]:
    """The parts that a known work fitted, with the number of the last that says so."""
    return {
        ref: number
        for number in by_date(survey.works)
        for work in (survey.works[number],)
        for ref in fitted_by(work.done, work.parts, parts)
    }
