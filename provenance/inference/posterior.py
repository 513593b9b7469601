"""From cells of picking to weeks of fitting: the inference's marginals on the calendar.

Knows how the delay from picking to fitting is put back. Leaves the sums to ``episodes``.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from functools import cached_property

import numpy as np

from provenance.errors import ProvenanceError
from provenance.inference.delays import onwards, transit
from provenance.inference.evidence import BoardEvidence
from provenance.inference.grid import Array, over
from provenance.inference.many_groups import solve
from provenance.inference.stock import LATER, Profile

NOTHING = 1e-13
"""The share of a posterior below which a cell is passed over."""


class Posterior:
    """Everything known of one board after the sum over its histories. Arrays are by week.

    Raises ProvenanceError where what is certain leaves no history.
    """

    def __init__(self, evidence: BoardEvidence) -> None:
        self.evidence = evidence
        possible = evidence.problem.start.any()
        if possible:
            self.histories = solve(evidence.problem)
        if not possible or not self.histories.evidence > 0:
            raise ProvenanceError(
                "no history of the board agrees with everything that is recorded as certain. "
                "Fix: give the evidence that may be wrong a reliability below 1"
            )

    @cached_property
    def _rows(self) -> dict[str, tuple[Profile, list[int]]]:
        """Each profile and the numbers of its hypotheses."""
        rows: dict[str, tuple[Profile, list[int]]] = {}
        for number, h in enumerate(self.evidence.kernels.hypotheses):
            rows.setdefault(h.profile.name, (h.profile, []))[1].append(number)
        return rows

    @cached_property
    def _members(self) -> Array:
        """(P, H): one for the hypotheses of each profile."""
        members = np.zeros((len(self._rows), len(self.evidence.kernels.hypotheses)))
        for row, (_, rows) in zip(members, self._rows.values(), strict=True):
            row[rows] = 1.0
        return members

    def built(self, cases: Sequence[Array]) -> Array:
        """(W): when the board was built, from the mass of its picking by hypothesis (H, C), for
        each case of what is said of single groups."""
        return self._summed(self._dated(cases))

    def built_in(self, picked: Array, case: int) -> Array:
        """(W): the same from the mass in one case."""
        cases = [np.zeros_like(picked) for _ in self.evidence.cases]
        cases[case] = picked
        return self.built(cases)

    @cached_property
    def parts(self) -> Array:
        """(W): what the parts alone say of the build, from a flat prior; not normalised."""
        if self.evidence.rules_out:
            # Weeks that are ruled out are not summed over; the parts may speak of just those.
            return Posterior(self.evidence.without_any_evidence()).parts
        flat = dict.fromkeys(self._rows, np.ones_like(self.evidence.prior))
        return self._summed(self._dated(self.histories.build_by, flat))

    def _summed(self, dated: Mapping[str, Array]) -> Array:
        total = np.zeros(self.evidence.grid.stop - self.evidence.grid.start)
        for share in dated.values():
            total += share
        return total

    def _dated(
        self, cases: Sequence[Array], flat: Mapping[str, Array] | None = None
    ) -> dict[str, Array]:
        """(W) for each profile: its share in the week of the build; ``flat`` instead of all that
        dates it."""
        grid, nothing = self.evidence.grid, NOTHING * sum(float(case.sum()) for case in cases)
        found = dict.fromkeys(self._rows, np.zeros(grid.stop - grid.start))
        for picked, (dating, picking) in zip(cases, self.evidence.cases, strict=True):
            masses = self._members @ picked
            for mass, (name, (profile, _)) in zip(masses, self._rows.items(), strict=True):
                reach = picking[name]
                # Given the cell, the week of picking is as likely as what dates the build makes it.
                held = (mass > nothing) & (reach > 0)
                if held.any():
                    density = np.divide(mass, reach, out=np.zeros_like(mass), where=held)
                    moved = onwards(np.repeat(density, grid.length), transit(profile.transit))
                    found[name] = found[name] + (flat or dating)[name] * moved
        return found

    def fitted_later(self, picked: Array) -> Array:
        """(W): when a later work was done, from the mass of its picking by cell (C)."""
        return onwards(self.evidence.grid.weekly(picked), transit(LATER.transit))

    @cached_property
    def build(self) -> Array:
        """(W): the build."""
        return self.built(self.histories.build_by)

    @cached_property
    def built_by(self) -> dict[str, Array]:
        """(W) for each profile: its share in the week of the build; together they sum to one."""
        dated = self._dated(self.histories.build_by)
        total = sum(float(share.sum()) for share in dated.values())
        return {name: share / total for name, share in dated.items()}

    @cached_property
    def weeks_since_build(self) -> int:
        """Weeks from the median of the build to today."""
        running = np.cumsum(self.build)
        return len(running) - 1 - int(np.searchsorted(running, 0.5 * running[-1]))

    @cached_property
    def trades(self) -> dict[str, float]:
        """The probability of each stock profile."""
        masses = self._members @ self.histories.build.sum(axis=1)
        return dict(zip(self._rows, masses.tolist(), strict=True))

    def joints(self, looks: str) -> tuple[float, float]:
        """How often joints look so at the build, by the trades that the board shows, and later."""
        built = sum(self.trades[name] * p.joints(looks) for name, (p, _) in self._rows.items())
        return built, self.evidence.defaults.joints[looks][0]

    @cached_property
    def bits(self) -> float:
        """How much the result says beyond the production years: relative entropy, in bits."""
        prior = self.evidence.prior
        build = self.build / self.build.sum()
        held = build > 0
        return float((build[held] * np.log2(build[held] / prior[held])).sum())

    def reliance(self, number: int) -> float | None:
        """The probability that a piece of evidence is right, given that it states a date; None
        where it states none, or speaks of a section of which nothing is inferred, or of groups
        that are none of ``spoken``."""
        evidence, cases = self.evidence, self.histories.build_by
        section = evidence.survey.evidence[number].section
        touched = [s for s in evidence.touched[number] if s in evidence.spoken]
        if section is not None and not touched:
            return None
        of_build = [
            section is None or any(case >> evidence.spoken.index(s) & 1 for s in touched)
            for case in range(len(cases))
        ]
        right = wrong = 0.0
        # Of the board, or of a section of which a group is original, it says it of the build.
        dated = self._dated(
            [case if so else np.zeros_like(case) for case, so in zip(cases, of_build, strict=True)]
        )
        for name, told in evidence.said.items():
            piece = told[number]
            held = float((over(piece.right, piece.ratio) * dated[name]).sum())
            right += held
            wrong += (float(dated[name].sum()) - held) * piece.mistaken
        if touched:
            piece = evidence.said_later[number]
            mass = sum(
                float(case.sum()) for case, so in zip(cases, of_build, strict=True) if not so
            )
            when = self.histories.refitted[touched].sum(axis=0)
            share = over(
                evidence.fitted_by_now(piece.right, LATER),
                evidence.fitted_by_now(piece.ratio, LATER),
            )
            if when.sum() > 0:
                held = mass * float(share @ when) / float(when.sum())
                right += held
                wrong += (mass - held) * piece.mistaken
        return right / (right + wrong) if right + wrong > 0 else None

    def said(self, number: int) -> Array:
        """(W): what a piece of evidence says of the build if it is right and no bare board lay for
        years as a blank, by the trades that the board shows; a ratio to knowing nothing."""
        shares = [
            self.trades[name] * told[number].usual for name, told in self.evidence.said.items()
        ]
        total: Array = np.sum(shares, axis=0)
        return total
