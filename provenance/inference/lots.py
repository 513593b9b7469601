"""Lots: parts of one fit group with the same marking, and what their markings say of each cell.

Knows what a marking, its joints and its mount say of one lot. What is said of groups and of the
board as a whole is in ``evidence``.

A lot's curve at the build, under one hypothesis::

    f(c) = stays(c) [ sum over readings of m p N fitted(c) + undated ] + apart replaced(c)

where ``m`` is the probability that the marking was copied down rightly, and ``stays`` is follow
times kept, and less in weeks in which nothing of the kind was made.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Container, Sequence
from dataclasses import dataclass
from datetime import date
from functools import cached_property, lru_cache
from typing import NamedTuple

import numpy as np

from provenance.graph import FitGroups
from provenance.inference.defaults import Defaults
from provenance.inference.delays import Codes, Delays
from provenance.inference.grid import Array
from provenance.markings.families import family_of
from provenance.markings.reader import FAMILY_SLACK
from provenance.markings.reading import MarkingReading, Reading
from provenance.survey.model import SurveyedPart
from provenance.survey.prose import listed
from provenance.survey.typed import on_one_line
from provenance.weeks import week_of

NEGLIGIBLE = 1e-3
"""A reading less probable than this counts as 'no date here'."""
TOGETHER = 256
"""Lots that are worked out at once; more would cost memory and save no time."""


class Lot(NamedTuple):
    """Parts of one fit group with the same marking, mount, joints and adapter: one delivery, one
    delay.

    ``at_build`` (H, C) and ``in_work`` (C) are f at the build and in a later work. ``undated`` is
    the probability of no date, or a misread one. ``kept`` (C) is the probability that the part
    was not replaced after the cell; ``replaced`` (C) that it was, times what its marking then
    weighs. ``follow`` and ``apart`` are what joints and adapter say for the two.
    """

    group: int
    parts: tuple[SurveyedPart, ...]
    readings: tuple[Reading, ...]
    probability: Array
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
        refs = listed(part.ref for part in self.parts)
        return f"{refs} ({on_one_line(self.parts[0].marking)})"


@dataclass(frozen=True)
class Dated:
    """What one marking says of dates: the R readings that are probable enough to count, their
    ``probability`` (R) and code weeks, and the week before which the latest of the families on it
    was not made."""

    readings: tuple[Reading, ...]
    probability: Array
    codes: Codes
    since: int

    @cached_property
    def mass(self) -> Array:
        """(E): the probability of each code week."""
        return self.probability[self.codes.reading] * self.codes.share

    @cached_property
    def spans(self) -> Array:
        """(R, 3): first week, last week and probability of each reading."""
        weeks = [(week_of(r.first), week_of(r.last)) for r in self.readings]
        return np.column_stack((np.array(weeks, float).reshape(-1, 2), self.probability))


@lru_cache(maxsize=4096)
def dated(marking: MarkingReading) -> Dated:
    """What a marking says of dates; the reader gives the same marking's reading again."""
    readings = tuple(r for r in marking.readings if r.probability >= NEGLIGIBLE)
    matches = [family_of(t.text) for t in marking.tokens if t.taken_for == "part number"]
    years = [m.family.first_made for m in matches if m and m.family.first_made]
    first = date(max(years) - FAMILY_SLACK, 1, 1) if years else date.min
    return Dated(
        readings=readings,
        probability=np.array([r.probability for r in readings]),
        codes=Codes.of(readings),
        since=week_of(first),
    )


class Delivery(NamedTuple):
    """A lot before its curves are known: its group, its parts and what its marking says; whether
    its joints are said of its section in general."""

    group: int
    parts: tuple[SurveyedPart, ...]
    marking: Dated
    in_general: bool


def deliveries(
    surveyed: Sequence[SurveyedPart],
    groups: FitGroups,
    known: Container[str],
    read: Callable[[str], MarkingReading],
    inherited: Container[str] = (),
) -> tuple[Delivery, ...]:
    """Parts by fit group, marking, mount, joints and adapter, in file order; without the ``known``.

    The joints of the ``inherited`` are their section's. Where one part of a group alone has such,
    they are said of it.
    """
    of_ref = {ref: number for number, group in enumerate(groups.groups) for ref in group.refs}
    left = [part for part in surveyed if part.ref not in known]
    sharing = Counter(of_ref[part.ref] for part in left if part.ref in inherited)

    def in_general(part: SurveyedPart) -> bool:
        return part.ref in inherited and sharing[of_ref[part.ref]] > 1

    found: dict[tuple[object, ...], list[SurveyedPart]] = {}
    for part in left:
        looks = part.mount, part.joints, in_general(part), part.adapter
        key = of_ref[part.ref], " ".join(part.marking.split()), *looks
        found.setdefault(key, []).append(part)
    return tuple(
        Delivery(of_ref[part.ref], (part, *others), dated(read(part.marking)), in_general(part))
        for part, *others in found.values()
    )


def usual_joints(
    surveyed: Sequence[SurveyedPart], groups: FitGroups, known: Container[str]
) -> tuple[str | None, ...]:
    """How most of each group's joints look, the ``known`` parts' left out; None where none is
    noted."""
    joints = {part.ref: None if part.ref in known else part.joints for part in surveyed}
    usual = []
    for group in groups.groups:
        noted = [str(joints[ref]) for ref in group.refs if joints[ref] in ("factory", "hand")]
        usual.append(max(sorted(set(noted)), key=noted.count) if noted else None)
    return tuple(usual)


def _joint_factors(
    part: SurveyedPart, usual: str | None, in_general: bool, defaults: Defaults
) -> tuple[float, float]:
    """What a part's joints say if it went in with its group, and if it was replaced alone.

    A part in a socket has none of its own: the socket's joints stay when it is swapped.
    """
    noted = part.joints is not None and part.joints in defaults.joints
    if not noted or usual is None or part.mount == "socketed":
        return 1.0, 1.0
    same = defaults.same_joints if part.joints == usual else 1 - defaults.same_joints
    alone = defaults.joints[part.joints or usual][1]
    if in_general:
        alone = defaults.looked_at * alone + (1 - defaults.looked_at) * same
    return same, alone


def _lot_factors(delivery: Delivery, usual: str | None, defaults: Defaults) -> tuple[float, float]:
    """What joints and adapter say together of a lot's parts, which are alike in both, for the same
    two."""
    part, count = delivery.parts[0], len(delivery.parts)
    same, alone = _joint_factors(part, usual, delivery.in_general, defaults)
    if part.adapter:
        same *= defaults.adapter[0]
        alone *= defaults.adapter[1]
    return same**count, alone**count


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
    by_mount = {
        mount: np.exp(-defaults.replacement_rate * factor * left)
        for mount, factor in (("socketed", defaults.socket_factor), ("soldered", 1.0), (None, 1.0))
    }
    made = []
    for start in range(0, len(found), TOGETHER):
        some = found[start : start + TOGETHER]
        said = [delivery.marking for delivery in some]
        fitted, refitted, served = delays.met([(d.codes, right * weeks * d.mass) for d in said])
        undated = 1 - right * np.array([[d.probability.sum()] for d in said])
        kept = np.array([by_mount[delivery.parts[0].mount] for delivery in some])
        replaced = (1 - kept) * (undated + served / np.maximum(left, 1))
        factors = [_lot_factors(d, usual[d.group], defaults) for d in some]
        follow, apart = np.array(factors).T[:, :, None]
        stays = follow * kept
        # Nothing of a kind was there to be fitted before it was made; its date says so already.
        stays[grid.centre < np.array([[d.since] for d in said])] *= defaults.too_early
        at_build = fitted @ mix.T
        at_build += undated[:, :, None]
        at_build *= stays[:, :, None]
        at_build += (apart * replaced)[:, :, None]
        in_work = stays * (refitted + undated) + apart * replaced
        made += [
            Lot(
                group=delivery.group,
                parts=delivery.parts,
                readings=delivery.marking.readings,
                probability=delivery.marking.probability,
                codes=delivery.marking.codes,
                at_build=at_build[n].T,
                in_work=in_work[n],
                undated=float(undated[n, 0]),
                kept=kept[n],
                stays=stays[n],
                replaced=replaced[n],
                follow=float(follow[n, 0]),
                apart=float(apart[n, 0]),
            )
            for n, delivery in enumerate(some)
        ]
    return tuple(made)
