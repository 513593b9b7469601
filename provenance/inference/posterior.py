"""From cells of picking to weeks of fitting: the inference's marginals on the calendar.

Knows how the delay from picking to fitting is put back. Leaves the sums to ``episodes``.
"""

from __future__ import annotations

from functools import cached_property

import numpy as np

from provenance.inference.delays import onwards, transit
from provenance.inference.evidence import BoardEvidence
from provenance.inference.grid import Array
from provenance.inference.many_groups import solve
from provenance.inference.stock import LATER, Profile


class Posterior:
    """Everything known of one board after the sum over its histories. Arrays are by week."""

    def __init__(self, evidence: BoardEvidence) -> None:
        self.evidence = evidence
        self.histories = solve(evidence.problem)

    @cached_property
    def _profiles(self) -> dict[str, Profile]:
        return {h.profile.name: h.profile for h in self.evidence.kernels.hypotheses}

    def built(self, picked: Array) -> Array:
        """(W): when the board was built, from the mass of its picking by hypothesis (H, C)."""
        return self._dated(picked, self.evidence.dating)

    @cached_property
    def parts(self) -> Array:
        """(W): what the parts alone say of the build, from a flat prior; not normalised."""
        flat = dict.fromkeys(self._profiles, np.ones_like(self.evidence.prior))
        return self._dated(self.histories.build, flat)

    def _dated(self, picked: Array, dating: dict[str, Array]) -> Array:
        grid = self.evidence.grid
        total = np.zeros(grid.stop - grid.start)
        for name, profile in self._profiles.items():
            rows = [
                i for i, h in enumerate(self.evidence.kernels.hypotheses) if h.profile is profile
            ]
            mass = picked[rows].sum(axis=0)
            if mass.sum() < 1e-9:
                continue
            # Given the cell, the week of picking is as likely as what dates the build makes it.
            reach = grid.total(self.evidence.picking[name])
            ratio = np.divide(mass, reach, out=np.zeros_like(mass), where=reach > 0)
            spread = np.repeat(ratio, grid.length)
            total += dating[name] * onwards(spread, transit(profile.transit))
        return total

    def fitted_later(self, picked: Array) -> Array:
        """(W): when a later work was done, from the mass of its picking by cell (C)."""
        return onwards(self.evidence.grid.weekly(picked), transit(LATER.transit))

    @cached_property
    def build(self) -> Array:
        """(W): the build."""
        return self.built(self.histories.build)

    @cached_property
    def weeks_since_build(self) -> int:
        """Weeks from the median of the build to today."""
        running = np.cumsum(self.build)
        return len(running) - 1 - int(np.searchsorted(running, 0.5 * running[-1]))

    @cached_property
    def trades(self) -> dict[str, float]:
        """The probability of each stock profile."""
        weight = dict.fromkeys(self._profiles, 0.0)
        masses = self.histories.build.sum(axis=1)
        for h, mass in zip(self.evidence.kernels.hypotheses, masses, strict=True):
            weight[h.profile.name] += float(mass)
        return weight

    def joints(self, looks: str) -> tuple[float, float]:
        """How often joints look so at the build, by the trades that the board shows, and later."""
        built = sum(p * self._profiles[name].joints(looks) for name, p in self.trades.items())
        return built, self.evidence.defaults.joints[looks][0]

    @cached_property
    def bits(self) -> float:
        """How much the result says beyond the production years: relative entropy, in bits."""
        prior = self.evidence.prior
        build = self.build / self.build.sum()
        held = build > 0
        return float((build[held] * np.log2(build[held] / prior[held])).sum())

    def doubted(self, number: int) -> float | None:
        """The probability that a piece of evidence about the whole board is right, or None."""
        said = self.evidence.said[number]
        if said is None:
            return None
        share = np.divide(
            said.right, said.ratio, out=np.zeros_like(said.right), where=said.ratio > 0
        )
        return float((share * self.build).sum() / self.build.sum())
