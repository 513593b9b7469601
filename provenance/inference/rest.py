"""What the rest of the board says of lots: the posterior as if one lot's marking had not been read.

Knows arrays only: L lots are worked out together, by cell. Everything follows from the posterior of
the lot's group divided by the lot's own likelihood, so that no lot needs a run of its own.
"""

from __future__ import annotations

from collections.abc import Sequence
from functools import cached_property

import numpy as np

from provenance.inference.grid import Array
from provenance.inference.lots import Lot
from provenance.inference.posterior import Posterior


class Rest:
    """L lots after the sum over histories. Nothing is normalised but ``original``, ``origins`` and
    ``readings``."""

    def __init__(self, posterior: Posterior, lots: Sequence[Lot]) -> None:
        self.posterior, self.lots = posterior, lots
        self._histories, self._evidence = posterior.histories, posterior.evidence
        self._groups = [lot.group for lot in lots]
        self._length = self._evidence.grid.length

    @cached_property
    def stays(self) -> Array:
        """(L, C): how probable a lot's marking is to be that of the parts the fitting put in."""
        return np.array([lot.stays for lot in self.lots])

    @cached_property
    def gone(self) -> Array:
        """(L, C): that it is a replacement's, times what it then weighs."""
        return np.array([lot.apart * lot.replaced for lot in self.lots])

    @cached_property
    def by_kernel(self) -> Array:
        """(L, N, K): a fitting at the build in each cell near it, by the kernel of the delay."""
        near, mix = self._histories.near, self._evidence.kernels.mix
        found = np.empty((len(self.lots), near.stop - near.start, mix.shape[1]))
        for lot, out in zip(self.lots, found, strict=True):
            rest = self._histories.original[lot.group].T[near] / lot.at_build.T[near]
            np.matmul(rest, mix, out=out)
        return found

    @cached_property
    def built(self) -> Array:
        """(L, C): a fitting at the build."""
        built: Array = np.zeros_like(self.stays)
        # The shares of the kernels sum to one in every hypothesis.
        built[:, self._histories.near] = self.by_kernel @ np.ones(self.by_kernel.shape[2])
        return built

    @cached_property
    def worked(self) -> Array:
        """(L, C): a fitting in a later work."""
        in_work = np.array([lot.in_work for lot in self.lots])
        worked: Array = self._histories.refitted[self._groups] / in_work
        return worked

    @cached_property
    def fitted(self) -> Array:
        """(L, C): either."""
        fitted: Array = self.built + self.worked
        return fitted

    @cached_property
    def original(self) -> Array:
        """(L): the probability that the group is original."""
        original: Array = self.built.sum(axis=1) / self.fitted.sum(axis=1)
        return original

    @cached_property
    def origins(self) -> Array:
        """(L, 3): original, later work, replacement, with the lot's own marking."""
        group = self._histories.original.sum(axis=(1, 2))[self._groups]
        original = np.maximum(group - (self.built * self.gone).sum(axis=1), 0.0)
        replaced = np.minimum((self.fitted * self.gone).sum(axis=1), 1.0)
        return np.column_stack((original, np.maximum(1.0 - original - replaced, 0.0), replaced))

    @cached_property
    def since(self) -> Array:
        """(L, C): a replacement in any one week since the group's fitting in the cell."""
        alone = np.array([lot.apart * (1 - lot.kept) for lot in self.lots])
        since: Array = self.fitted * alone / np.maximum(self._evidence.delays.left, 1)
        return since

    def right(self, lot: Lot) -> Array:
        """(R): the probability of each reading, as a ratio to a flat density by week."""
        weeks, misread = self._length.sum(), self._evidence.defaults.misread
        right: Array = (1 - misread) * weeks * lot.probability
        return right

    @cached_property
    def stayed_by_kernel(self) -> Array:
        """(L, N, K): what a code on parts weighs that stayed since the build, by the kernel."""
        near = self._histories.near
        stayed: Array = self.by_kernel * (self.stays / self._length)[:, near, None]
        return stayed

    @cached_property
    def stayed_since_work(self) -> Array:
        """(L, C): the same since a later work."""
        stayed: Array = self.worked * self.stays / self._length
        return stayed

    @cached_property
    def readings(self) -> list[tuple[Array, float]]:
        """The probability of each reading of each lot (R), and of no date at all."""
        codes, place = np.unique(
            np.concatenate([lot.codes.week for lot in self.lots]), return_inverse=True
        )
        delays, every = self._evidence.delays, slice(0, len(self._length))
        fitted, stayed = delays.fitted(codes, self._histories.near), self.stayed_by_kernel
        each = stayed[0].size
        # (D, L): each code on the parts of each lot.
        weight = fitted.reshape(len(codes), each) @ stayed.reshape(len(self.lots), each).T
        weight += delays.refitted(codes, every) @ self.stayed_since_work.T
        weight += delays.served(codes, every) @ self.since.T
        # The part stayed, or was replaced in a week since; either way its marking has no date.
        fates = (self.fitted * self.stays + self.since * delays.left).sum(axis=1)
        found, low = [], 0
        for n, lot in enumerate(self.lots):
            own = place[low : low + len(lot.codes.week)]
            low += len(own)
            by_reading = lot.codes.by_reading(weight[own, n], len(lot.readings))
            masses = self.right(lot) * by_reading
            none = lot.undated * float(fates[n])
            total = masses.sum() + none
            found.append((masses / total, none / total))
        return found
