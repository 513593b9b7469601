"""Observations that cannot hold together: the least set of them, in words.

Knows how to compare what pieces of evidence say of the build's week. Two or three observations
contradict each other if, taken as right, they are together at least a hundred times less probable
than apart; a set is least if none of its subsets does.
"""

from __future__ import annotations

from itertools import combinations

import numpy as np

from provenance.inference.grid import Array
from provenance.inference.posterior import Posterior
from provenance.inference.testimony import named
from provenance.survey.prose import begun, listed

TOGETHER = 0.01
"""Observations this much less probable together than apart contradict each other."""
LARGEST = 3
MOST = 12
"""Observations that are compared, in the survey's order."""


def contradictions(posterior: Posterior) -> tuple[str, ...]:
    """The least sets of observations that cannot hold together, each in one sentence."""
    said = _said(posterior)
    flat = 1 / len(posterior.evidence.prior)
    found: list[frozenset[int]] = []
    for size in range(2, LARGEST + 1):
        for members in combinations(range(min(len(said), MOST)), size):
            if any(smaller <= set(members) for smaller in found):
                continue
            apart = np.prod([flat * said[i][1].sum() for i in members])
            together = flat * np.prod([said[i][1] for i in members], axis=0).sum()
            if together < TOGETHER * apart:
                found.append(frozenset(members))
    return tuple(
        f"{begun(listed(said[i][0] for i in sorted(members)))} cannot "
        f"{'both' if len(members) == 2 else 'all'} be right; look at them again."
        for members in found
    )


def _said(posterior: Posterior) -> list[tuple[str, Array]]:
    """What each observation says of the build's week if it is right, as a ratio (W)."""
    evidence = posterior.evidence
    said = []
    if evidence.survey.production:
        years = f"the production years {evidence.survey.production}"
        said.append((years, evidence.prior / evidence.prior.max()))
    for number, piece in enumerate(evidence.survey.evidence):
        if piece.section is None and (right := posterior.said(number)).any():
            said.append((named(piece), right))
    # The parts alone contradict nobody.
    if said and evidence.lots and posterior.parts.any():
        said.insert(0, ("the dates of the original parts", posterior.parts))
    return said
