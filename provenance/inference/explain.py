"""Why the result is what it is: what it rests on, and what carries it.

Knows how to run the inference again without one observation. What to look at next is in
``inspections``; how all of it is said at length is in the notes.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from datetime import timedelta
from typing import NamedTuple

import numpy as np

from provenance.inference.evidence import MOST_SPOKEN, BoardEvidence
from provenance.inference.finding import Carrier, Finding, PartFinding
from provenance.inference.grid import Array
from provenance.inference.inspections import inspections
from provenance.inference.origins import lot_posteriors
from provenance.inference.posterior import Posterior
from provenance.inference.testimony import named
from provenance.inference.warnings import UNLIKELY
from provenance.inference.windows import share, window

MOST_RERUN = 24
"""Observations that are left out in turn, those that seem to matter most first."""
MOST_TOLD = 5
DATED = 1.0
"""Bits that the result must say beyond the production years for the board to count as dated."""
LEAST_BITS = 0.01
"""An observation whose absence changes less than this carries nothing."""


def with_reasons(finding: Finding, posterior: Posterior) -> Finding:
    """The finding with its carriers and inspections filled in."""
    return finding.model_copy(
        update={
            "carriers": carriers(posterior),
            "inspections": inspections(posterior),
        }
    )


def rests_on(posterior: Posterior, parts: Sequence[PartFinding]) -> tuple[str, ...]:
    """What the result rests on, in plain sentences, most important first."""
    evidence = posterior.evidence
    dated = [
        (p.reading.first, p.reading.last, p.ref)
        for p in parts
        if p.origin.original >= 0.5 and p.reading is not None and p.reading.probability >= 0.5
    ]
    said = []
    if dated:
        oldest = min(dated, key=lambda code: code[:2])
        first, last, newest = max(dated, key=lambda code: code[:2])
        if len(dated) > 1:
            alike = oldest[:2] == (first, last)
            said.append(
                f"the codes of the {len(dated)} dated parts that are most probably original "
                + (
                    f"are all of {first} to {last}"
                    if alike
                    else f"run from {oldest[0]} ({oldest[2]}) to {last} ({newest})"
                )
            )
            build = window(posterior.build, evidence.grid.start, evidence.today)
            # A window that begins before that code weighs that the part came later, or is misread.
            if first < build.first + timedelta(weeks=1):
                if_so = "they are original" if alike else f"{newest} is original"
                said[-1] += f". If {if_so}, the board was not finished before {first}"
        else:
            said.append(
                f"one dated part is most probably original: {newest}, made between "
                f"{first} and {last}"
            )
    said += _evidence_relied_on(posterior)
    if evidence.survey.production:
        said.append(f"the stated production years {evidence.survey.production}")
    likely = max(posterior.trades, key=lambda name: posterior.trades[name])
    if evidence.survey.trade:
        said.append(f"the stock habits of the trade '{likely}', as the survey states it")
    elif posterior.bits >= DATED and sum(p.bears_date for p in parts) > 1:
        said.append(
            f"how long parts lay in stock: the spread of the codes fits the trade '{likely}' best "
            f"({share(posterior.trades[likely])})"
        )
    return tuple(said)


def _evidence_relied_on(posterior: Posterior) -> Iterator[str]:
    """The pieces of evidence that the result rests on, in sentences."""
    evidence = posterior.evidence
    for number, piece in enumerate(evidence.survey.evidence):
        reliance = posterior.reliance(number)
        states_a_date = evidence.said_later[number].right.any()
        if reliance is not None and reliance >= UNLIKELY:
            yield f"{named(piece)}, right with probability {share(reliance)}"
        elif reliance is None and evidence.touched[number] and states_a_date:
            yield (
                f"{named(piece)}, weighed as well; how probably it is right is told of evidence on "
                f"{MOST_SPOKEN} fit groups at most"
            )


class _Observation(NamedTuple):
    """One thing that was observed, and the board without it."""

    name: str
    without: BoardEvidence


def _observations(posterior: Posterior) -> Iterator[_Observation]:
    """The observations that seem to matter most, by a first look that needs no new run."""
    evidence = posterior.evidence
    for number, piece in enumerate(evidence.survey.evidence):
        if piece.section is None or evidence.touched[number]:
            yield _Observation(named(piece), evidence.without_evidence(number))
    build = posterior.histories.build.sum(axis=0)
    told = [round(_difference(build, lot.rest_of_board), 9) for lot in lot_posteriors(posterior)]
    for i in sorted(range(len(told)), key=lambda i: -told[i])[:MOST_RERUN]:
        yield _Observation(evidence.lots[i].name, evidence.without_lot(i))


def _difference(before: Array, after: Array) -> float:
    """Half the summed difference between two distributions: 0 the same, 1 nothing in common."""
    total = after.sum()
    return float(abs(before / before.sum() - after / total).sum() / 2) if total > 0 else 1.0


def carriers(posterior: Posterior) -> tuple[Carrier, ...]:
    """The observations without which the build would be dated differently, most telling first."""
    evidence = posterior.evidence
    start, today = evidence.grid.start, evidence.today
    build = posterior.build / posterior.build.sum()
    middle = int(np.searchsorted(np.cumsum(build), 0.5))
    found = []
    for observation in _observations(posterior):
        other = Posterior(observation.without).build
        other = other / other.sum()
        held = build > 0
        ratio = build[held] / np.maximum(other[held], 1e-300)
        found.append(
            Carrier(
                observation=observation.name,
                build=window(other, start, today),
                shift_weeks=float(int(np.searchsorted(np.cumsum(other), 0.5)) - middle),
                bits=float((build[held] * np.log2(ratio)).sum()),
            )
        )
    # Observations that say the same stay in their order, whatever their last digits.
    found.sort(key=lambda c: -round(c.bits, 9))
    return tuple(c for c in found[:MOST_TOLD] if c.bits >= LEAST_BITS)
