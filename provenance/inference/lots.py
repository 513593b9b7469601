"""Lots: parts of one fit group with the same marking, and what their markings say of each cell.

Knows what a marking, its joints and its mount say of one lot. What is said of groups and of the
board as a whole is in ``evidence``.

A lot's curve at the build, under one hypothesis::

    f(c) = stays(c) [ sum over readings of p N fitted(c) + undated ] + apart replaced(c)

where ``stays`` is follow times kept, and less in weeks in which nothing of the kind was made.
"""

from __future__ import annotations

from collections.abc import Callable, Container, Sequence
from dataclasses import dataclass
from datetime import date
from functools import cached_property

import numpy as np

from provenance.graph import FitGroups
from provenance.inference.defaults import Defaults
from provenance.inference.delays import Codes, Delays
from provenance.inference.grid import Array
from provenance.markings.families import family_of
from provenance.markings.reader import FAMILY_SLACK
from provenance.markings.reading import MarkingReading, Reading
from provenance.survey.model import Survey, SurveyedPart
from provenance.survey.typed import on_one_line
from provenance.weeks import week_of

NEGLIGIBLE = 1e-3
"""A reading less probable than this counts as 'no date here'."""


@dataclass(frozen=True)
class Lot:
    """Parts of one fit group with the same marking, mount and joints: one delivery, one delay.

    ``at_build`` (H, C) and ``in_work`` (C) are f at the build and in a later work. ``undated`` is
    the probability of no date, or a misread one. ``kept`` (C) is the probability that the part
    was not replaced after the cell; ``replaced`` (C) that it was, times what its marking then
    weighs. ``follow`` and ``apart`` are what the joints say for the two.
    """

    group: int
    parts: tuple[SurveyedPart, ...]
    readings: tuple[Reading, ...]
    codes: Codes
    at_build: Array
    in_work: Array
    undated: float
    kept: Array
    stays: Array
    replaced: Array
    follow: float
    apart: float

    @property
    def name(self) -> str:
        """The lot in a sentence: its references and, in brackets, its marking."""
        refs = ", ".join(part.ref for part in self.parts)
        return f"{refs} ({on_one_line(self.parts[0].marking)})"


@dataclass(frozen=True)
class Delivery:
    """A lot before its curves are known: its group, its parts and what its marking was read as."""

    group: int
    parts: tuple[SurveyedPart, ...]
    marking: MarkingReading

    @cached_property
    def readings(self) -> tuple[Reading, ...]:
        """The readings that are probable enough to count."""
        return tuple(r for r in self.marking.readings if r.probability >= NEGLIGIBLE)

    @property
    def made_since(self) -> int | None:
        """The year in which the latest of the families on the marking was first made."""
        matches = [family_of(t.text) for t in self.marking.tokens if t.taken_for == "part number"]
        years = [m.family.first_made for m in matches if m and m.family.first_made]
        return max(years, default=None)


def deliveries(
    survey: Survey,
    groups: FitGroups,
    known: Container[str],
    read: Callable[[str], MarkingReading],
) -> tuple[Delivery, ...]:
    """Parts by fit group, marking, mount and joints, in file order; without the ``known`` ones."""
    of_ref = {ref: number for number, group in enumerate(groups.groups) for ref in group.refs}
    found: dict[tuple[int, str, str | None, str | None], list[SurveyedPart]] = {}
    for part in survey.parts():
        if part.ref not in known:
            key = (of_ref[part.ref], " ".join(part.marking.split()), part.mount, part.joints)
            found.setdefault(key, []).append(part)
    return tuple(
        Delivery(group, tuple(parts), read(parts[0].marking))
        for (group, *_), parts in found.items()
    )


def usual_joints(survey: Survey, groups: FitGroups) -> tuple[str | None, ...]:
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


def lots(
    found: Sequence[Delivery],
    delays: Delays,
    usual: Sequence[str | None],
    *,
    mix: Array,
    defaults: Defaults,
) -> tuple[Lot, ...]:
    """The lots with their curves; ``usual`` are the groups' joints, ``mix`` as in ``Kernels``."""
    grid, left = delays.grid, delays.left
    weeks, right = grid.stop - grid.start, 1 - defaults.misread
    codes = [Codes.of(delivery.readings) for delivery in found]
    probability = [np.array([r.probability for r in d.readings]) for d in found]
    met = delays.met(
        [
            (c, right * weeks * p[c.reading] * c.share)
            for c, p in zip(codes, probability, strict=True)
        ]
    )
    kept = {
        mount: np.exp(-defaults.replacement_rate * factor * left)
        for mount, factor in (("socketed", defaults.socket_factor), ("soldered", 1.0), (None, 1.0))
    }
    made = []
    for number, (delivery, (fitted, served)) in enumerate(zip(found, met, strict=True)):
        follow = apart = 1.0
        for part in delivery.parts:
            same, alone = _joint_factors(part, usual[delivery.group], defaults)
            follow, apart = follow * same, apart * alone
        undated = 1 - right * float(probability[number].sum())
        unreplaced = kept[delivery.parts[0].mount]
        replaced = (1 - unreplaced) * (undated + served / np.maximum(left, 1))
        stays = follow * unreplaced
        if (year := delivery.made_since) is not None:
            # Nothing of this kind was there to be fitted before; its date says so already.
            early = grid.centre < week_of(date(year - FAMILY_SLACK, 1, 1))
            stays = np.where(early, defaults.too_early * stays, stays)
        made.append(
            Lot(
                group=delivery.group,
                parts=delivery.parts,
                readings=delivery.readings,
                codes=codes[number],
                at_build=stays * (mix @ fitted[:-1] + undated) + apart * replaced,
                in_work=stays * (fitted[-1] + undated) + apart * replaced,
                undated=undated,
                kept=unreplaced,
                stays=stays,
                replaced=replaced,
                follow=follow,
                apart=apart,
            )
        )
    return tuple(made)
