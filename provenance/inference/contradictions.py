"""Observations that hardly agree or cannot hold together: the least set of them, in words.

Knows how to compare what pieces of evidence say of the build's week. Two or three observations
hardly agree if, taken as right, they are together at least a hundred times less probable than
apart; they cannot all be right if no week is left in which the board can have been built. A set is
least if none of its subsets does.
"""

from __future__ import annotations

from collections.abc import Sequence
from itertools import combinations
from typing import NamedTuple

import numpy as np
import numpy.typing as npt

from provenance.inference.grid import Array
from provenance.inference.posterior import Posterior
from provenance.inference.testimony import named
from provenance.survey.prose import begun, listed

TOGETHER = 0.01
"""Observations this much less probable together than apart hardly agree."""
LARGEST = 3
MOST = 12
"""Observations that are compared, in the survey's order."""
LEAST = 1e-3
"""A week that an observation makes so much less probable than its likeliest counts as ruled out: a
reading of a code so improbable counts nowhere."""
MAY_BE = {
    ("bare board code", "earlier"): "the board may be an old blank, or its code the layout's",
    ("bare board code", "later"): "the code may be misread, or older parts put on a newer board",
    ("inspection stamp", "earlier"): "the stamp may be misread, or newer parts fitted since",
    ("inspection stamp", "later"): "the stamp may be one of a service, or the finish late",
}
"""What a piece of evidence may be that speaks of an earlier or a later build than another: common
practice."""


class _Observation(NamedTuple):
    """One thing that was observed: what it says of the build's week if it is right and nothing is
    out of the ordinary, as a ratio (W), and the weeks (W) that it leaves possible."""

    name: str
    kind: str
    right: Array
    possible: npt.NDArray[np.bool_]

    @property
    def middle(self) -> float:
        """The mean of the weeks that it speaks of."""
        return float(np.average(np.arange(len(self.right)), weights=self.right))


def contradictions(posterior: Posterior) -> tuple[str, ...]:
    """The least sets of observations that do not go together, each in one sentence."""
    said = _said(posterior)
    flat = 1 / len(posterior.evidence.prior)
    found: list[frozenset[int]] = []
    for size in range(2, LARGEST + 1):
        for members in combinations(range(min(len(said), MOST)), size):
            if any(smaller <= set(members) for smaller in found):
                continue
            apart = np.prod([flat * said[i].right.sum() for i in members])
            together = flat * np.prod([said[i].right for i in members], axis=0).sum()
            if together < TOGETHER * apart:
                found.append(frozenset(members))
    return tuple(_told([said[i] for i in sorted(members)]) for members in found)


def _told(members: Sequence[_Observation]) -> str:
    """A set of observations in a sentence."""
    names = begun(listed(member.name for member in members))
    if not np.all([member.possible for member in members], axis=0).any():
        wrong = "cannot both be right" if len(members) == 2 else "cannot all be right"
        return f"{names} {wrong}; look at them again."
    order = sorted(members, key=lambda member: member.middle)
    ends = ((order[0], "earlier"), (order[-1], "later"))
    hints = [MAY_BE[end.kind, side] for end, side in ends if (end.kind, side) in MAY_BE]
    return f"{names} hardly agree: {'; '.join(hints) or 'look at them again'}."


def _said(posterior: Posterior) -> list[_Observation]:
    """What each observation says of the build's week."""
    evidence = posterior.evidence
    said = []
    everywhere = np.ones(len(evidence.prior), bool)
    if evidence.survey.production:
        years = f"the production years {evidence.survey.production}"
        flat = evidence.prior / evidence.prior.max()
        said.append(_Observation(years, "production", flat, everywhere))
    for number, piece in enumerate(evidence.survey.evidence):
        right = posterior.said(number)
        # A section was fitted no earlier than the board was built, so its use bounds both.
        bounds = piece.says == "in use by" and evidence.touched[number]
        if (piece.section is None or bounds) and right.any():
            possible = right > LEAST * right.max()
            # A delay may be longer than any that is weighed; it is never less than nothing.
            if piece.kind == "bare board code":
                possible = np.logical_or.accumulate(possible)
            elif piece.kind == "inspection stamp":
                possible = np.logical_or.accumulate(possible[::-1])[::-1]
            said.append(_Observation(named(piece), piece.kind, right, possible))
    # The parts alone contradict nobody, and any of them may have been read or kept wrongly.
    if said and evidence.lots and posterior.parts.any():
        dates = "the dates of the original parts"
        said.insert(0, _Observation(dates, "parts", posterior.parts, everywhere))
    return said
