"""From a survey to the curves that the exact inference works on.

Knows what markings, mounts and joints say of each cell, and gathers what everything else says
from ``testimony``. Leaves the sum over histories to ``episodes``.

All likelihoods are ratios to knowing nothing: a reading of probability p on a span of days
becomes p times the stock's density there, over a density that is flat on the weeks considered.
A lot's curve at the build, under one hypothesis::

    f(c) = follow kept(c) [ sum over readings of p N fitted(c) + undated ] + apart replaced(c)
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import date
from functools import cached_property

import numpy as np

from provenance.graph import FitGroups, fit_groups
from provenance.inference.defaults import DEFAULTS, Defaults
from provenance.inference.delays import (
    Kernels,
    Slab,
    backwards,
    kernels,
    span_weeks,
    transit,
)
from provenance.inference.episodes import Problem
from provenance.inference.grid import Array, Grid, grid_of
from provenance.inference.stock import LATER, PROFILES, Profile
from provenance.inference.testimony import Said, prior, said
from provenance.markings.families import family_of
from provenance.markings.reader import FAMILY_SLACK, read_marking
from provenance.markings.reading import MarkingReading, Reading
from provenance.survey.model import Survey, SurveyedPart
from provenance.weeks import week_of

FIRST_YEAR = 1960
"""Before this no marking is read, unless the production years say so."""
FITTING = ("replac", "swap", "chang", "fit", "install", "add", "upgrad", "new", "substitut")
"""Stems that say of a known work that it fitted the parts it names: common usage."""
NEGLIGIBLE = 1e-3
"""A reading less probable than this counts as 'no date here'."""


@dataclass(frozen=True)
class Lot:
    """Parts of one fit group with the same marking, mount and joints: one delivery, one delay.

    ``at_build`` (H, C) and ``in_work`` (C) are f at the build and in a later work. ``undated`` is
    the probability of no date, or a misread one. ``replaced`` (C) is the likelihood of the marking
    if the part was replaced after the cell, ``kept`` (C) the probability that it was not;
    ``follow`` and ``apart`` are what the joints say for the two.
    """

    group: int
    parts: tuple[SurveyedPart, ...]
    readings: tuple[Reading, ...]
    at_build: Array
    in_work: Array
    undated: float
    kept: Array
    replaced: Array
    follow: float
    apart: float


@dataclass(frozen=True)
class BoardEvidence:
    """Everything that one survey says, as curves. See ``Problem`` for the letters."""

    survey: Survey
    today: date
    defaults: Defaults
    profiles: tuple[Profile, ...]
    grid: Grid
    kernels: Kernels
    groups: FitGroups
    usual: tuple[str | None, ...]
    """How the joints of most parts of each group look."""
    slab: Slab
    lots: tuple[Lot, ...]
    known: dict[str, int]
    """Parts that a known work fitted, with the number of the work."""
    known_readings: dict[str, MarkingReading]
    prior: Array
    """(W): the build before anything is said but the production years."""
    said: tuple[Said | None, ...]
    """What each piece of evidence about the whole board says, by the last profile's board."""
    sections: tuple[tuple[str, Said], ...]
    """What evidence about one section says."""
    dating: dict[str, Array]
    """(W) for each profile: prior times likelihood of the build's week t."""
    picking: dict[str, Array]
    """(W) for each profile: the same for the week u in which its parts were picked."""

    def without_lot(self, number: int) -> BoardEvidence:
        """The same board without one lot's markings."""
        return replace(self, lots=self.lots[:number] + self.lots[number + 1 :])

    def without_evidence(self, number: int) -> BoardEvidence:
        """The same board without one piece of evidence."""
        pieces = self.survey.evidence
        survey = self.survey.model_copy(update={"evidence": pieces[:number] + pieces[number + 1 :]})
        return gather(survey, today=self.today, defaults=self.defaults, profiles=self.profiles)

    @cached_property
    def problem(self) -> Problem:
        """The problem that lots, sections' evidence and the build's dating make."""
        groups, grid = self.groups.groups, self.grid
        build = np.ones((len(groups), len(self.kernels.hypotheses), len(grid.first)))
        later = np.ones((len(groups), len(grid.first)))
        for number, group in enumerate(groups):
            if group.mount == "socketed":
                build[number] *= self.defaults.socketed[0]
                later[number] *= self.defaults.socketed[1]
            if (looks := self.usual[number]) is not None:
                habits = [h.profile.joints(looks) for h in self.kernels.hypotheses]
                build[number] *= np.array(habits)[:, None]
                later[number] *= self.defaults.joints[looks][0]
            if all(ref in self.known for ref in group.refs):
                # A known work fitted all of it; nothing is left to be inferred.
                later[number] = 0.0
        for lot in self.lots:
            build[lot.group] *= lot.at_build
            later[lot.group] *= lot.in_work
            # Only ratios between cells and origins matter; the scale would run out of range.
            scale = 1.0 / max(build[lot.group].max(), later[lot.group].max())
            build[lot.group] *= scale
            later[lot.group] *= scale
        for section, piece in self.sections:
            for number, group in enumerate(groups):
                if section in group.sections:
                    for i, h in enumerate(self.kernels.hypotheses):
                        picked = backwards(piece.ratio, transit(h.profile.transit))
                        build[number, i] *= grid.mean(picked)
                    later[number] *= grid.mean(backwards(piece.ratio, transit(LATER.transit)))
        start = [
            h.weight * grid.total(self.picking[h.profile.name]) for h in self.kernels.hypotheses
        ]
        return Problem(
            start=np.array(start),
            build=np.ascontiguousarray(build.transpose(1, 0, 2)),
            later=later,
            rate=1 - np.power(1 - self.defaults.work_rate, grid.length.astype(np.float64)),
            share=self.defaults.work_share,
            order=self.groups.order,
        )


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
    groups = fit_groups(survey)
    known = _known_parts(survey)
    first, last = survey.production_span()
    years = min(FIRST_YEAR, first.year - 1) if first else FIRST_YEAR, now.year
    near = (first.year + last.year) // 2 if first and last else None

    def read(marking: str) -> MarkingReading:
        return read_marking(marking, near=near, years=years, today=now, houses=survey.houses)

    found = _deliveries(survey, groups, known)
    markings = [read(parts[0].marking) for _, parts in found]
    kept = [tuple(r for r in m.readings if r.probability >= NEGLIGIBLE) for m in markings]
    grid = grid_of(
        week_of(date(years[0], 1, 1)),
        week_of(now) + 1,
        ((week_of(r.first), week_of(r.last), r.probability) for rs in kept for r in rs),
    )
    bank = kernels(survey.trade, tuple(profiles))
    codes = (week for rs in kept for r in rs for week in span_weeks(r.span))
    slab = Slab.of(codes, bank.running, grid)
    usual = _usual_joints(survey, groups)
    written = [
        read(e.marking) if e.marking is not None and e.date is None else None
        for e in survey.evidence
    ]
    flat = prior(survey, grid.weeks, defaults)
    dating: dict[str, Array] = {}
    picking: dict[str, Array] = {}
    told: list[Said] = []
    for profile in bank.profiles:
        told = [
            said(e, reading, grid.weeks, profile.board, defaults)
            for e, reading in zip(survey.evidence, written, strict=True)
        ]
        t = flat.copy()
        for piece, e in zip(told, survey.evidence, strict=True):
            if e.section is None:
                t *= piece.ratio
        dating[profile.name] = t
        picking[profile.name] = backwards(t, transit(profile.transit))
    return BoardEvidence(
        survey=survey,
        today=now,
        defaults=defaults,
        profiles=tuple(profiles),
        grid=grid,
        kernels=bank,
        groups=groups,
        usual=usual,
        slab=slab,
        lots=_lots(
            found,
            kept,
            slab,
            grid,
            usual,
            made_since=[_made_since(m) for m in markings],
            mix=bank.mix,
            defaults=defaults,
        ),
        known=known,
        known_readings={p.ref: read(p.marking) for p in survey.parts() if p.ref in known},
        prior=flat,
        said=tuple(
            piece if e.section is None else None
            for piece, e in zip(told, survey.evidence, strict=True)
        ),
        sections=tuple(
            (e.section, piece)
            for piece, e in zip(told, survey.evidence, strict=True)
            if e.section is not None
        ),
        dating=dating,
        picking=picking,
    )


def _known_parts(survey: Survey) -> dict[str, int]:
    """Surveyed parts that a known work fitted, named by reference or by section.

    A part that was only cleaned or checked is still the part it was.
    """
    known: dict[str, int] = {}
    for number, work in enumerate(survey.works):
        if not any(stem in work.done.casefold() for stem in FITTING):
            continue
        named = set(work.parts)
        for part in survey.parts():
            if part.ref in named or part.section in named:
                known[part.ref] = number
    return known


def _deliveries(
    survey: Survey, groups: FitGroups, known: dict[str, int]
) -> list[tuple[int, tuple[SurveyedPart, ...]]]:
    """Parts by fit group, marking, mount and joints, in file order."""
    of_ref = {ref: number for number, group in enumerate(groups.groups) for ref in group.refs}
    found: dict[tuple[int, str, str | None, str | None], list[SurveyedPart]] = {}
    for part in survey.parts():
        if part.ref not in known:
            key = (of_ref[part.ref], " ".join(part.marking.split()), part.mount, part.joints)
            found.setdefault(key, []).append(part)
    return [(group, tuple(parts)) for (group, *_), parts in found.items()]


def _usual_joints(survey: Survey, groups: FitGroups) -> tuple[str | None, ...]:
    """How most of each group's joints look, or None where none is noted."""
    joints = {part.ref: part.joints for part in survey.parts()}
    usual = []
    for group in groups.groups:
        noted = [str(joints[ref]) for ref in group.refs if joints[ref] in ("factory", "hand")]
        usual.append(max(sorted(set(noted)), key=noted.count) if noted else None)
    return tuple(usual)


def _joint_factors(
    part: SurveyedPart, usual: str | None, defaults: Defaults
) -> tuple[float, float]:
    """What a part's joints say if it went in with its group, and if it was replaced alone.

    A part in a socket has none of its own: the socket's joints stay when it is swapped.
    """
    noted = part.joints is not None and part.joints in defaults.joints
    if not noted or usual is None or part.mount == "socketed":
        return 1.0, 1.0
    same = defaults.same_joints if part.joints == usual else 1 - defaults.same_joints
    return same, defaults.joints[part.joints or usual][1]


def _made_since(reading: MarkingReading) -> int | None:
    """The year in which the latest of the families on a marking was first made."""
    matches = [family_of(t.text) for t in reading.tokens if t.taken_for == "part number"]
    years = [m.family.first_made for m in matches if m and m.family.first_made]
    return max(years, default=None)


def _lots(
    found: Sequence[tuple[int, tuple[SurveyedPart, ...]]],
    readings: Sequence[tuple[Reading, ...]],
    slab: Slab,
    grid: Grid,
    usual: Sequence[str | None],
    *,
    made_since: Sequence[int | None],
    mix: Array,
    defaults: Defaults,
) -> tuple[Lot, ...]:
    """The lots with their curves, worked out for all of them at once."""
    right = 1 - defaults.misread
    mass = right * np.array([slab.mass(rs) for rs in readings]).reshape(len(found), len(slab.row))
    ratio = mass * (grid.stop - grid.start)
    dated = np.tensordot(ratio, slab.fitted, 1)
    at_build = mix @ dated[:, :-1]
    in_work = dated[:, -1]
    left = np.maximum(grid.stop - 1 - grid.centre, 0)
    served = (ratio @ slab.served) / np.maximum(left, 1)
    undated = 1 - mass.sum(axis=1)
    kept = {
        mount: np.exp(-defaults.replacement_rate * factor * left)
        for mount, factor in (("socketed", defaults.socket_factor), ("soldered", 1.0), (None, 1.0))
    }
    lots = []
    for number, (group, parts) in enumerate(found):
        follow = apart = 1.0
        for part in parts:
            same, alone = _joint_factors(part, usual[group], defaults)
            follow, apart = follow * same, apart * alone
        stays = kept[parts[0].mount]
        replaced = (1 - stays) * (undated[number] + served[number])
        stay, gone = follow * stays, apart * replaced
        if (year := made_since[number]) is not None:
            # Nothing of this kind was there to be fitted before; its date says so already.
            early = grid.centre < week_of(date(year - FAMILY_SLACK, 1, 1))
            stay = np.where(early, defaults.too_early * stay, stay)
        lots.append(
            Lot(
                group=group,
                parts=parts,
                readings=readings[number],
                at_build=stay * (at_build[number] + undated[number]) + gone,
                in_work=stay * (in_work[number] + undated[number]) + gone,
                undated=float(undated[number]),
                kept=stays,
                replaced=replaced,
                follow=follow,
                apart=apart,
            )
        )
    return tuple(lots)
