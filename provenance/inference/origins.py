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
from provenance.inference.evidence import Lot
from provenance.inference.finding import Origin, PartFinding, PartReading, Weight, Window
from provenance.inference.grid import Array
from provenance.inference.posterior import Posterior
from provenance.inference.stock import later_stock
from provenance.inference.windows import windows
from provenance.survey.model import SurveyedPart

NOTHING = 1e-12
"""The share of a posterior below which a cell is passed over."""
LEAST = 1e-9
"""The smallest probability that a weight of evidence tells apart: ninety decibans."""


def decibans(yes: float, no: float) -> float:
    """The weight of evidence for yes against no, bounded where one of them is nothing."""
    return 10 * log10(max(yes, LEAST) / max(no, LEAST))


@dataclass(frozen=True)
class LotPosterior:
    """One lot after the sum over histories. Weights are by cell, and by hypothesis at the build.

    ``at_build`` (H, C) and ``in_work`` (C) are the group's posterior divided by the lot's own
    likelihood: what the rest of the board says.
    """

    posterior: Posterior
    lot: Lot

    @cached_property
    def _rest(self) -> tuple[Array, Array]:
        histories, group = self.posterior.histories, self.lot.group
        at_build = histories.original[group] / self.lot.at_build
        return at_build, histories.refitted[group] / self.lot.in_work

    @cached_property
    def _gone(self) -> Array:
        """(C): the posterior of the group's fitting in the cell and the part replaced since."""
        at_build, in_work = self._rest
        gone: Array = (at_build.sum(axis=0) + in_work) * self.lot.apart * self.lot.replaced
        return gone

    @cached_property
    def _stayed(self) -> tuple[Array, Array]:
        """(K, C) over the delays' kernels, and (C): what a dated and an undated marking weigh."""
        at_build, in_work = self._rest
        kept = self.lot.follow * self.lot.kept
        mixed = self.posterior.evidence.kernels.mix.T @ at_build
        return np.vstack((mixed, in_work)) * kept, (at_build.sum(axis=0) + in_work) * kept

    @cached_property
    def origin(self) -> Origin:
        """The three probabilities of the lot's parts."""
        group = self.lot.group
        histories = self.posterior.histories
        gone = float(self._gone.sum())
        at_build, _ = self._rest
        built = float(histories.original[group].sum())
        gone_build = float((at_build.sum(axis=0) * self.lot.apart * self.lot.replaced).sum())
        original = max(built - gone_build, 0.0)
        replaced = min(gone, 1.0)
        return Origin(
            original=original,
            later_work=max(1.0 - original - replaced, 0.0),
            replacement=replaced,
        )

    @cached_property
    def readings(self) -> tuple[Array, float]:
        """The probability of each reading of the lot, and of no date at all."""
        slab = self.posterior.evidence.slab
        defaults = self.posterior.evidence.defaults
        kernel, undated = self._stayed
        grid = self.posterior.evidence.grid
        left = np.maximum(grid.stop - 1 - grid.centre, 0)
        right = (1 - defaults.misread) * (grid.stop - grid.start)
        # What a replacement brings: the group's weight, spread over the weeks since.
        since = self._gone / np.maximum(self.lot.replaced, 1e-300)
        since = since * (1 - self.lot.kept)
        row, number, share = slab.entries(self.lot.readings)
        # Most cells hold next to nothing of the posterior; the sum runs over those that do.
        held = np.flatnonzero(kernel.sum(axis=0) > NOTHING * kernel.sum())
        cells = slice(int(held[0]), int(held[-1]) + 1) if len(held) else slice(0)
        mean = np.einsum("rkc,kc->r", slab.fitted[row, :, cells], kernel[:, cells])
        weight = np.bincount(number, share * mean, len(self.lot.readings)).astype(float)
        served = slab.served[row] @ (since / np.maximum(left, 1))
        weight += np.bincount(number, share * served, len(self.lot.readings))
        masses = right * np.array([r.probability for r in self.lot.readings]) * weight
        none = self.lot.undated * float((undated + since).sum())
        total = masses.sum() + none
        return masses / total, none / total

    @cached_property
    def replaced_when(self) -> Array:
        """(W): when the part was replaced, by week, if it was."""
        grid = self.posterior.evidence.grid
        defaults = self.posterior.evidence.defaults
        weeks = grid.stop - grid.start
        stock = later_stock()
        density = np.full(weeks, self.lot.undated)
        for r in self.lot.readings:
            low = middle_week(r) - grid.start
            if 0 <= low < weeks:
                share = (1 - defaults.misread) * r.probability * weeks
                length = min(weeks - low, len(stock))
                density[low : low + length] += share * stock[:length]
        left = np.maximum(grid.stop - 1 - grid.centre, 1)
        each = self._gone / np.maximum(self.lot.replaced, 1e-300) * (1 - self.lot.kept) / left
        # A replacement comes after the week in which the group was fitted.
        before = np.concatenate(([0.0], np.cumsum(grid.weekly(each))[:-1]))
        return density * before

    @cached_property
    def rest_of_board(self) -> Array:
        """(C): when the group was picked, if this lot had not been read; not normalised."""
        at_build, in_work = self._rest
        rest: Array = at_build.sum(axis=0) + in_work
        return rest

    def reading_joint(self) -> tuple[Array, Array]:
        """What a full reading would show, jointly with what is asked, as masses.

        (R + 1, C) with the cell in which an original group was picked, and (R + 1, 3) with the
        origin. The last row is 'no date here'.
        """
        evidence = self.posterior.evidence
        at_build, in_work = self._rest
        kept = self.lot.follow * self.lot.kept
        mixed = (evidence.kernels.mix.T @ at_build) * kept
        later = in_work * kept
        right = (1 - evidence.defaults.misread) * (evidence.grid.stop - evidence.grid.start)
        row, number, share = evidence.slab.entries(self.lot.readings)
        count = len(self.lot.readings)
        build, work = np.zeros((count + 1, kept.size)), np.zeros(count + 1)
        for place, reading, part in zip(row, number, share, strict=True):
            curve = evidence.slab.fitted[place]
            scale = right * part * self.lot.readings[reading].probability
            build[reading] += scale * (mixed * curve[:-1]).sum(axis=0)
            work[reading] += scale * float((later * curve[-1]).sum())
        build[count] = self.lot.undated * (at_build.sum(axis=0) * kept)
        work[count] = self.lot.undated * float(later.sum())
        masses, none = self.readings
        total = np.append(masses, none)
        replaced = np.maximum(total - build.sum(axis=1) - work, 0.0)
        return build, np.column_stack((build.sum(axis=1), work, replaced))

    def without(self) -> float:
        """The probability that the group is original, if this lot had not been read."""
        at_build, in_work = self._rest
        built, later = float(at_build.sum()), float(in_work.sum())
        return built / (built + later)


def _weights(part: SurveyedPart, found: LotPosterior) -> tuple[Weight, ...]:
    """What speaks for 'original' against 'later', by source; the weights add up to the odds."""
    posterior, lot = found.posterior, found.lot
    evidence = posterior.evidence
    defaults = evidence.defaults
    group = evidence.groups.groups[lot.group]
    years = posterior.weeks_since_build
    spared = exp(-defaults.work_rate * defaults.work_share * years)
    kept = float(np.interp(evidence.grid.stop - 1 - years, evidence.grid.centre, lot.kept))
    prior = decibans(spared * kept, 1 - spared * kept)
    total = decibans(found.origin.original, 1 - found.origin.original)
    rest = found.without()
    weights = [
        Weight(
            source="prior",
            decibans=prior,
            why="how rarely a part is replaced in the years since the build",
        )
    ]
    others = decibans(rest * kept, 1 - rest * kept) - prior
    if group.mount == "socketed":
        mount = decibans(*defaults.socketed)
        others -= mount
        weights.append(
            Weight(
                source="mount",
                decibans=mount,
                why="a socketed group is a little more often later work",
            )
        )
    looks = evidence.usual[lot.group]
    if looks is not None:
        joint = decibans(*posterior.joints(looks))
        others -= joint
        own = decibans(lot.follow, lot.apart) if part.joints else 0.0
        weights.append(
            Weight(
                source="joints",
                decibans=joint + own,
                why=f"the group's joints look like {looks} work"
                + (
                    ""
                    if part.joints in (None, looks, "unclear")
                    else f", its own like {part.joints}"
                ),
            )
        )
    else:
        own = 0.0
    weights.append(
        Weight(
            source="group",
            decibans=others,
            why="the other parts of the board and the order of its groups",
        )
    )
    date = total - decibans(rest * kept, 1 - rest * kept) - own
    weights.append(
        Weight(
            source="date",
            decibans=date,
            why=_date_why(found, date),
        ),
    )
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
    of_ref: dict[str, LotPosterior] = {}
    for lot in evidence.lots:
        found = LotPosterior(posterior, lot)
        of_ref.update((part.ref, found) for part in lot.parts)
    return tuple(
        _known_part(posterior, part)
        if part.ref in evidence.known
        else _part(posterior, part, of_ref[part.ref], fitted)
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
    if len(masses) and (best := int(masses.argmax())) is not None and masses[best] > none:
        r = found.lot.readings[best]
        reading = PartReading(
            scheme=r.scheme,
            text=r.text,
            first=r.first,
            last=r.last,
            probability=float(masses[best]),
        )
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
        reading=None
        if best is None
        else PartReading(
            scheme=best.scheme,
            text=best.text,
            first=best.first,
            last=best.last,
            probability=best.probability,
        ),
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
