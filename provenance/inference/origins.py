"""How each part came to be there: original, later work or replacement, and by what evidence.

Knows how the posterior of a fit group falls on its parts. A part is original if its group is and
it was not replaced; it is of a later work if its group was refitted; it is a replacement if it
was replaced on its own after its group was fitted.
"""

from __future__ import annotations

from collections.abc import Iterator
from functools import cached_property
from math import exp, log10

import numpy as np

from provenance.inference.finding import Origin, PartFinding, PartReading, Weight, Window
from provenance.inference.grid import Array
from provenance.inference.lots import TOGETHER, dated
from provenance.inference.posterior import Posterior
from provenance.inference.rest import Rest
from provenance.inference.stock import later_stock
from provenance.inference.windows import by_week, windows
from provenance.markings.reading import Reading
from provenance.survey.model import KnownWork, SurveyedPart
from provenance.weeks import week_of

LEAST = 1e-9
"""The smallest probability that a weight of evidence tells apart: ninety decibans."""

MISREAD = -10.0
"""Decibans for 'original' from which on a date that does not fit is told as misread; of less, the
marking may as well hold none."""


def decibans(yes: float, no: float) -> float:
    """The weight of evidence for yes against no, bounded where one of them is nothing."""
    return 10 * log10(max(yes, LEAST) / max(no, LEAST))


class LotPosterior:
    """One lot after the sum over histories: the one at a place of those worked out together."""

    def __init__(self, rest: Rest, place: int) -> None:
        self.posterior, self.lot = rest.posterior, rest.lots[place]
        self._rest, self._place = rest, place

    @property
    def rest_of_board(self) -> Array:
        """(C): when the group was picked, if this lot had not been read; not normalised."""
        rest: Array = self._rest.fitted[self._place]
        return rest

    @property
    def without(self) -> float:
        """The probability that the group is original, if this lot had not been read."""
        return float(self._rest.original[self._place])

    @cached_property
    def origin(self) -> Origin:
        """The three probabilities of the lot's parts."""
        original, later, replaced = self._rest.origins[self._place].tolist()
        return Origin(original=original, later_work=later, replacement=replaced)

    @property
    def readings(self) -> tuple[Array, float]:
        """The probability of each reading of the lot, and of no date at all."""
        return self._rest.readings[self._place]

    @cached_property
    def replaced_when(self) -> Array:
        """(W): when the part was replaced, by week, if it was."""
        grid = self.posterior.evidence.grid
        weeks = grid.stop - grid.start
        stock = later_stock()
        density = np.full(weeks, self.lot.undated)
        codes = self.lot.codes
        told = self._rest.right(self.lot)[codes.reading] * codes.share
        for week, share in zip((codes.week - grid.start).tolist(), told.tolist(), strict=True):
            low, skipped = max(week, 0), max(-week, 0)
            length = max(min(weeks - low, len(stock) - skipped), 0)
            density[low : low + length] += share * stock[skipped : skipped + length]
        # A replacement comes after the week in which the group was fitted.
        before = np.concatenate(([0.0], np.cumsum(grid.weekly(self._rest.since[self._place]))[:-1]))
        return density * before

    @property
    def later_when(self) -> Array:
        """(W): when the lot's parts were fitted if they are not original, by week: in a work on
        their group, if they have stayed since, or on their own."""
        rest, n = self._rest, self._place
        stayed = rest.worked[n] * (self.lot.in_work - rest.gone[n])
        when, alone = self.posterior.fitted_later(stayed), self.replaced_when
        return when + self.origin.replacement * alone / alone.sum() if alone.sum() > 0 else when

    def reading_joint(self) -> tuple[Array, Array]:
        """What a full reading would show, jointly with what is asked, as masses.

        (R + 1, C) with the cell in which the parts of the build were picked, and (R + 1, 3) with
        the origin. The last row is 'no date here'. Of a part that is not original the marking says
        nothing of the build.
        """
        lot, rest, n, count = self.lot, self._rest, self._place, len(self.lot.readings)
        delays, near = self.posterior.evidence.delays, self.posterior.histories.near
        fitted = (delays.fitted(lot.codes.week, near) * rest.stayed_by_kernel[n]).sum(axis=2)
        refitted = delays.refitted(lot.codes.week, slice(0, len(lot.kept)))
        told = rest.right(lot)[lot.codes.reading] * lot.codes.share
        build = np.zeros((count + 1, len(lot.kept)))
        np.add.at(build[:, near], lot.codes.reading, told[:, None] * fitted)
        work = np.bincount(
            lot.codes.reading, told * (refitted @ rest.stayed_since_work[n]), count + 1
        ).astype(np.float64)  # Of nothing at all it makes whole numbers.
        build[count] = lot.undated * rest.built[n] * lot.stays
        work[count] = lot.undated * float(rest.worked[n] @ lot.stays)
        masses, none = self.readings
        total = np.append(masses, none)
        original = build.sum(axis=1)
        replaced = np.maximum(total - original - work, 0.0)
        others = np.maximum(self.posterior.histories.build.sum(axis=0) - build.sum(axis=0), 0.0)
        if others.any():
            build += np.outer(work + replaced, others / others.sum())
        return build, np.column_stack((original, work, replaced))


def lot_posteriors(posterior: Posterior) -> Iterator[LotPosterior]:
    """Every lot of the board, in order; so many are worked out together."""
    lots = posterior.evidence.lots
    for start in range(0, len(lots), TOGETHER):
        rest = Rest(posterior, lots[start : start + TOGETHER])
        yield from (LotPosterior(rest, place) for place in range(len(rest.lots)))


def _weights(part: SurveyedPart, found: LotPosterior) -> tuple[Weight, ...]:
    """What speaks for 'original' against 'later', by source; the weights add up to the odds."""
    posterior, lot = found.posterior, found.lot
    evidence = posterior.evidence
    defaults = evidence.defaults
    weeks = posterior.weeks_since_build
    spared = exp(-defaults.work_rate * defaults.work_share * weeks)
    kept = float(np.interp(evidence.grid.stop - 1 - weeks, evidence.grid.centre, lot.kept))
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
    mount = adapter = joint = own = 0.0
    if evidence.groups.groups[lot.group].mount == "socketed":
        mount = decibans(*defaults.socketed)
        weights.append(
            Weight(
                source="mount",
                decibans=mount,
                why="a socketed group is a little more often later work",
            )
        )
    if part.adapter:
        adapter = len(lot.parts) * decibans(*defaults.adapter)
        weights.append(
            Weight(
                source="mount",
                decibans=adapter,
                why="it sits on an adapter, as replacements do more often",
            )
        )
    if (looks := evidence.usual[lot.group]) is not None:
        joint = decibans(*posterior.joints(looks))
        own = decibans(lot.follow, lot.apart) - adapter if part.joints else 0.0
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
    date = total - without_own - own - adapter
    weights.append(Weight(source="date", decibans=date, why=_date_why(found, date)))
    return tuple(weights)


def _date_why(found: LotPosterior, weight: float) -> str:
    """What a part's own date says, in words; ``weight`` in decibans for 'original'."""
    masses, none = found.readings
    if none > 0.5 or not len(masses):
        part = found.lot.parts[0]
        alone = found.posterior.evidence.alone[part.ref]
        if ("?" not in part.marking or weight < 0) and (best := alone.best) is not None:
            early = week_of(best.last) < dated(alone).since
            if MISREAD < weight < 0 and not early:
                return "what may be its date fits the board badly, and is more likely none"
            why = "lies before its family was made" if early else "fits no fitting of the board"
            return f"its date {why}: the marking would have to be misread"
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
    for found in lot_posteriors(posterior):
        told.update((part.ref, _part(posterior, part, found, fitted)) for part in found.lot.parts)
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
    if len(masses) and (none <= 0.5 or masses.max() > none):
        best = int(masses.argmax())
        reading = _told(found.lot.readings[best], float(masses[best]))
    if origin.original < 0.5:
        when = windows(found.later_when, evidence.grid.start, evidence.today)
    else:
        when = fitted[found.lot.group, True]
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


def done(posterior: Posterior, work: KnownWork) -> Window:
    """The days in which a recorded work was done. An open date ends today; it begins with the
    first week in which the board can have been built."""
    first, last = work.span()
    last = last or posterior.evidence.today
    if first is None:
        built = by_week(posterior.build, posterior.evidence.grid.start)
        first = min(built[0].week, last)
    return Window(probability=1.0, first=first, last=last)


def _known_part(posterior: Posterior, part: SurveyedPart) -> PartFinding:
    """A part that a known work fitted: its origin is taken as given."""
    evidence = posterior.evidence
    work = evidence.survey.works[evidence.known[part.ref]]
    whole = part.section in work.parts
    reading = evidence.alone[part.ref]
    best = reading.best
    return PartFinding(
        ref=part.ref,
        section=part.section,
        group=next(g.name for g in evidence.every_group if part.ref in g.refs),
        marking=part.marking,
        origin=Origin(
            original=0.0, later_work=1.0 if whole else 0.0, replacement=0.0 if whole else 1.0
        ),
        reading=None if best is None else _told(best, best.probability),
        no_date=reading.no_date,
        fitted=(done(posterior, work),),
        weights=(
            Weight(
                source="known work",
                decibans=decibans(0.0, 1.0),
                why=f"recorded in the survey: {work.done}",
            ),
        ),
    )
