"""How each part came to be there: original, later work or replacement, and by what evidence.

Knows how the posterior of a fit group falls on its parts. A part is original if its group is and
it was not replaced; it is of a later work if its group was refitted; it is a replacement if it
was replaced on its own after its group was fitted.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property
from math import exp, log10

import numpy as np

from provenance.inference.delays import middle_week
from provenance.inference.finding import Origin, PartFinding, PartReading, Weight, Window
from provenance.inference.grid import Array
from provenance.inference.lots import Lot
from provenance.inference.posterior import NOTHING, Posterior
from provenance.inference.stock import later_stock
from provenance.inference.windows import windows
from provenance.markings.reading import Reading
from provenance.survey.model import SurveyedPart

LEAST = 1e-9
"""The smallest probability that a weight of evidence tells apart: ninety decibans."""


def decibans(yes: float, no: float) -> float:
    """The weight of evidence for yes against no, bounded where one of them is nothing."""
    return 10 * log10(max(yes, LEAST) / max(no, LEAST))


@dataclass(frozen=True)
class LotPosterior:
    """One lot after the sum over histories. Weights are by cell, and by hypothesis at the build.

    Everything follows from ``rest``: the group's posterior divided by the lot's own likelihood,
    which is what the rest of the board says.
    """

    posterior: Posterior
    lot: Lot

    @cached_property
    def rest(self) -> tuple[Array, Array]:
        """(N, H): the build's fitting in each cell near it, if this lot had not been read; (C): a
        later work's. Not normalised."""
        histories, group = self.posterior.histories, self.lot.group
        near = histories.near
        at_build = histories.original[group].T[near] / self.lot.at_build.T[near]
        return at_build, histories.refitted[group] / self.lot.in_work

    @cached_property
    def _built(self) -> Array:
        """(C): the rest of the board for a fitting at the build, by any hypothesis."""
        built = np.zeros_like(self.lot.in_work)
        built[self.posterior.histories.near] = self.rest[0].sum(axis=1)
        return built

    @cached_property
    def rest_of_board(self) -> Array:
        """(C): when the group was picked, if this lot had not been read; not normalised."""
        rest: Array = self._built + self.rest[1]
        return rest

    @property
    def without(self) -> float:
        """The probability that the group is original, if this lot had not been read."""
        return float(self._built.sum() / self.rest_of_board.sum())

    @cached_property
    def origin(self) -> Origin:
        """The three probabilities of the lot's parts."""
        gone = self.lot.apart * self.lot.replaced
        built = float(self.posterior.histories.original[self.lot.group].sum())
        original = max(built - float(self._built @ gone), 0.0)
        replaced = min(float(self.rest_of_board @ gone), 1.0)
        return Origin(
            original=original,
            later_work=max(1.0 - original - replaced, 0.0),
            replacement=replaced,
        )

    @cached_property
    def _since(self) -> Array:
        """(C): the weight of a replacement in each week since the group's fitting in the cell."""
        alone = self.rest_of_board * self.lot.apart * (1 - self.lot.kept)
        since: Array = alone / np.maximum(self.posterior.evidence.delays.left, 1)
        return since

    @cached_property
    def _mixed(self) -> Array:
        """(N, K): what a code on the part weighs if it stayed since the build, by the kernel of its
        delay."""
        mixed: Array = self.rest[0] @ self.posterior.evidence.kernels.mix
        return mixed * self._stays[self.posterior.histories.near, None]

    @cached_property
    def _stays(self) -> Array:
        """(C): how likely the part stayed since the cell, for each of its weeks."""
        stays: Array = self.lot.stays / self.posterior.evidence.grid.length
        return stays

    @cached_property
    def _right(self) -> Array:
        """(R): the probability of each reading, as a ratio to a flat density by week."""
        evidence = self.posterior.evidence
        weeks = evidence.grid.stop - evidence.grid.start
        right = (1 - evidence.defaults.misread) * weeks
        return right * self.lot.probability

    @cached_property
    def readings(self) -> tuple[Array, float]:
        """The probability of each reading of the lot, and of no date at all."""
        lot, delays = self.lot, self.posterior.evidence.delays
        stayed = self.rest_of_board * lot.stays
        # The part stayed, or was replaced in a week since; either way its marking has no date.
        fates = stayed + self._since * delays.left
        none = lot.undated * float(fates.sum())
        if len(lot.readings) == 1:
            # Nothing is to be told apart but date and no date, which make up everything.
            return np.array([max(1.0 - none, 0.0)]), none
        # Most cells hold next to nothing of the posterior; the sum runs over those that do.
        held = np.flatnonzero(stayed > NOTHING * stayed.sum())
        cells = slice(int(held[0]), int(held[-1]) + 1) if len(held) else slice(0, 0)
        codes, near = lot.codes.week, self.posterior.histories.near
        weight = np.tensordot(delays.fitted(codes, near), self._mixed, 2)
        weight += delays.refitted(codes, cells) @ (self.rest[1] * self._stays)[cells]
        weight += delays.served(codes, cells) @ self._since[cells]
        masses = self._right * lot.codes.by_reading(weight, len(lot.readings))
        total = masses.sum() + none
        return masses / total, none / total

    @cached_property
    def replaced_when(self) -> Array:
        """(W): when the part was replaced, by week, if it was."""
        grid = self.posterior.evidence.grid
        weeks = grid.stop - grid.start
        stock = later_stock()
        density = np.full(weeks, self.lot.undated)
        for reading, share in zip(self.lot.readings, self._right, strict=True):
            low = middle_week(reading) - grid.start
            if 0 <= low < weeks:
                length = min(weeks - low, len(stock))
                density[low : low + length] += share * stock[:length]
        # A replacement comes after the week in which the group was fitted.
        before = np.concatenate(([0.0], np.cumsum(grid.weekly(self._since))[:-1]))
        return density * before

    def reading_joint(self) -> tuple[Array, Array]:
        """What a full reading would show, jointly with what is asked, as masses.

        (R + 1, C) with the cell in which an original group was picked, and (R + 1, 3) with the
        origin. The last row is 'no date here'.
        """
        lot, count = self.lot, len(self.lot.readings)
        delays, near = self.posterior.evidence.delays, self.posterior.histories.near
        fitted = (delays.fitted(lot.codes.week, near) * self._mixed).sum(axis=2)
        refitted = delays.refitted(lot.codes.week, slice(0, len(lot.kept)))
        build, work = np.zeros((count + 1, lot.kept.size)), np.zeros(count + 1)
        for number, (reading, share) in enumerate(
            zip(lot.codes.reading, lot.codes.share, strict=True)
        ):
            weight = self._right[reading] * share
            build[reading, near] += weight * fitted[number]
            work[reading] += weight * float(refitted[number] @ (self.rest[1] * self._stays))
        build[count] = lot.undated * self._built * lot.stays
        work[count] = lot.undated * float(self.rest[1] @ lot.stays)
        masses, none = self.readings
        total = np.append(masses, none)
        replaced = np.maximum(total - build.sum(axis=1) - work, 0.0)
        return build, np.column_stack((build.sum(axis=1), work, replaced))


def _weights(part: SurveyedPart, found: LotPosterior) -> tuple[Weight, ...]:
    """What speaks for 'original' against 'later', by source; the weights add up to the odds."""
    posterior, lot = found.posterior, found.lot
    evidence = posterior.evidence
    defaults = evidence.defaults
    years = posterior.weeks_since_build
    spared = exp(-defaults.work_rate * defaults.work_share * years)
    kept = float(np.interp(evidence.grid.stop - 1 - years, evidence.grid.centre, lot.kept))
    prior = decibans(spared * kept, 1 - spared * kept)
    rest = found.without * kept
    without_own = decibans(rest, 1 - rest)
    total = decibans(found.origin.original, 1 - found.origin.original)
    weights = [
        Weight(
            source="prior",
            decibans=prior,
            why="how rarely a part is replaced in the years since the build",
        )
    ]
    mount = joint = own = 0.0
    if evidence.groups.groups[lot.group].mount == "socketed":
        mount = decibans(*defaults.socketed)
        weights.append(
            Weight(
                source="mount",
                decibans=mount,
                why="a socketed group is a little more often later work",
            )
        )
    if (looks := evidence.usual[lot.group]) is not None:
        joint = decibans(*posterior.joints(looks))
        own = decibans(lot.follow, lot.apart) if part.joints else 0.0
        apart = "" if part.joints in (None, looks, "unclear") else f", its own like {part.joints}"
        weights.append(
            Weight(
                source="joints",
                decibans=joint + own,
                why=f"the group's joints look like {looks} work{apart}",
            )
        )
    weights.append(
        Weight(
            source="group",
            decibans=without_own - prior - mount - joint,
            why="the other parts of the board and the order of its groups",
        )
    )
    date = total - without_own - own
    weights.append(Weight(source="date", decibans=date, why=_date_why(found, date)))
    return tuple(weights)


def _date_why(found: LotPosterior, weight: float) -> str:
    """What a part's own date says, in words; ``weight`` in decibans for 'original'."""
    masses, none = found.readings
    if not len(masses) or none > masses.max():
        return "no date on it, as often as on original parts"
    if weight > 0:
        return "its own date fits the build"
    return "its own date fits a later fitting better than the build"


def part_findings(
    posterior: Posterior, fitted: dict[tuple[int, bool], tuple[Window, ...]]
) -> tuple[PartFinding, ...]:
    """Every part of the survey in file order. ``fitted`` are the groups' windows: (group,
    original or not)."""
    evidence = posterior.evidence
    told: dict[str, PartFinding] = {}
    for lot in evidence.lots:
        found = LotPosterior(posterior, lot)
        told.update((part.ref, _part(posterior, part, found, fitted)) for part in lot.parts)
    return tuple(
        _known_part(posterior, part) if part.ref in evidence.known else told[part.ref]
        for part in evidence.survey.parts()
    )


def _part(
    posterior: Posterior,
    part: SurveyedPart,
    found: LotPosterior,
    fitted: dict[tuple[int, bool], tuple[Window, ...]],
) -> PartFinding:
    evidence = posterior.evidence
    origin = found.origin
    masses, none = found.readings
    reading = None
    if len(masses) and masses.max() > none:
        best = int(masses.argmax())
        reading = _told(found.lot.readings[best], float(masses[best]))
    if origin.replacement > max(origin.original, origin.later_work):
        when = windows(found.replaced_when, evidence.grid.start, evidence.today)
    else:
        when = fitted[found.lot.group, origin.original >= origin.later_work]
    return PartFinding(
        ref=part.ref,
        section=part.section,
        group=evidence.groups.groups[found.lot.group].name,
        marking=part.marking,
        origin=origin,
        reading=reading,
        no_date=float(none),
        fitted=when,
        weights=_weights(part, found),
    )


def _told(reading: Reading, probability: float) -> PartReading:
    return PartReading(
        scheme=reading.scheme,
        text=reading.text,
        first=reading.first,
        last=reading.last,
        probability=probability,
    )


def _known_part(posterior: Posterior, part: SurveyedPart) -> PartFinding:
    """A part that a known work fitted: its origin is taken as given."""
    evidence = posterior.evidence
    work = evidence.survey.works[evidence.known[part.ref]]
    whole = part.section in work.parts
    first, last = work.span()
    reading = evidence.known_readings[part.ref]
    best = reading.best
    return PartFinding(
        ref=part.ref,
        section=part.section,
        group=next(g.name for g in evidence.groups.groups if part.ref in g.refs),
        marking=part.marking,
        origin=Origin(
            original=0.0, later_work=1.0 if whole else 0.0, replacement=0.0 if whole else 1.0
        ),
        reading=None if best is None else _told(best, best.probability),
        no_date=reading.no_date,
        fitted=()
        if first is None or last is None
        else (Window(probability=1.0, first=first, last=last),),
        weights=(
            Weight(
                source="known work",
                decibans=decibans(0.0, 1.0),
                why=f"recorded in the survey: {work.done}",
            ),
        ),
    )
