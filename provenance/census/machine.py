"""Several boards of one machine: each dated on its own, then asked whether they belong together.

Knows that the boards of one machine were built not long before the machine was. Leaves each
board to ``provenance.inference``.

The model: the machine was put together in week M, of W that are equally probable. A board that
belongs to it was built a shelf of some weeks before M; a board that does not belong (a swap, a
spare, a marriage of two machines) was built in any of the weeks. Each board belongs with the same
prior probability pi, and the sum over M and over who belongs is exact, for the boards are
independent given M::

    P(M) ~ prior(M) * prod_b [ pi g_b(M) + (1 - pi) f_b ]
    g_b(M) = sum_t L_b(t) p_b(t | M)        p_b(t | M) ~ prior_b(t) shelf(M - t)
    f_b    = sum_t L_b(t) prior_b(t)

with L_b(t) the likelihood of the board's build in week t, and prior_b flat over its production
years. Those date the machine as well: prior(M) ~ prod sum_t prior_b(t) shelf(M - t), over the years
that are stated, those of several boards once. So one board alone says nothing of whether it
belongs.
"""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date
from typing import NamedTuple

import numpy as np
from pydantic import BaseModel, ConfigDict

from provenance.inference.board import dated
from provenance.inference.defaults import DEFAULTS, Defaults
from provenance.inference.delays import onwards
from provenance.inference.finding import Finding, Window
from provenance.inference.grid import Array, over
from provenance.inference.posterior import Posterior
from provenance.inference.stock import Lognormal, pmf
from provenance.inference.windows import edtf, share, windows
from provenance.survey.model import Machine

SHELF = Lognormal(8.0, 1.0)
"""Weeks from a board's build to the machine's: common practice, wide."""
BELONGS = 0.9
"""Prior probability that a board found in a machine was built for it: common practice."""


class Belonging(BaseModel):
    """How one board stands to the others of its machine."""

    model_config = ConfigDict(frozen=True, extra="forbid")

    title: str
    probability: float
    """That it was built for this machine, given the others."""


class MachineFinding(BaseModel):
    """What the boards of one machine say, each alone and together."""

    model_config = ConfigDict(frozen=True, extra="forbid")

    title: str
    boards: tuple[Finding, ...]
    belonging: tuple[Belonging, ...]
    """One for each board, in the order of ``boards``."""
    together: float
    """The probability that all of them were built for one machine."""
    windows: tuple[Window, ...]
    """When the machine was put together, from the boards that belong."""
    edtf: str
    warnings: tuple[str, ...]


class _Board(NamedTuple):
    """What the sum needs of one board: its build by week from ``start``, and the same before
    anything but the production years is known; each sums to one."""

    start: int
    build: Array
    prior: Array

    @classmethod
    def of(cls, posterior: Posterior) -> _Board:
        build, evidence = posterior.build, posterior.evidence
        return cls(evidence.grid.start, build / build.sum(), evidence.prior)

    def within(self, curve: Array, start: int, stop: int) -> Array:
        """(W): one of its curves in the weeks from ``start`` up to ``stop``, which hold its own."""
        before = self.start - start
        return np.pad(curve, (before, stop - start - before - len(curve)))


def date_machine(
    machine: Machine,
    *,
    today: date | None = None,
    reasons: bool = False,
    defaults: Defaults = DEFAULTS,
) -> MachineFinding:
    """Date every board of a machine, then say which of them belong together.

    ``today``, ``reasons``, ``defaults`` and errors are as with ``date_board``.
    """
    findings, boards = [], []
    for survey in machine.boards:
        finding, posterior = dated(survey, today=today, reasons=reasons, defaults=defaults)
        findings.append(finding)
        boards.append(_Board.of(posterior))
    start = min(board.start for board in boards)
    stop = max(board.start + len(board.build) for board in boards)
    shelf = pmf(SHELF)
    within = [[board.within(curve, start, stop) for curve in board[1:]] for board in boards]
    built, before = (
        np.array([onwards(x, shelf) for x in curves]) for curves in zip(*within, strict=True)
    )
    # As ratios to what the board says where nothing is known but its production years.
    belong = over(built, before)
    mixed = BELONGS * belong + (1 - BELONGS)
    with np.errstate(divide="ignore"):
        weight = np.log(mixed).sum(axis=0) + np.log(np.unique(before, axis=0)).sum(axis=0)
    joint = np.exp(weight - weight.max())
    joint /= joint.sum()
    belongs = BELONGS * belong / mixed
    held = (joint * belongs).sum(axis=1)
    together = float((joint * belongs.prod(axis=0)).sum())
    found = windows(joint, start, max(f.method.today for f in findings))
    titles = _titles(findings)
    return MachineFinding(
        title=machine.machine.title or machine.machine.model or "Untitled machine",
        boards=tuple(findings),
        belonging=tuple(
            Belonging(title=title, probability=float(p))
            for title, p in zip(titles, held, strict=True)
        ),
        together=together,
        windows=found,
        edtf=edtf(found),
        warnings=_warnings(titles, held, together),
    )


def _warnings(titles: Sequence[str], held: Array, together: float) -> tuple[str, ...]:
    """Boards that do not belong together, in sentences."""
    # Of many boards one is likely a stranger before anything is seen: that is nothing to tell.
    if together >= min(0.5, 0.9 * BELONGS ** len(titles)):
        return ()
    strangers = [title for title, p in zip(titles, held, strict=True) if p < 0.5]
    if not strangers:
        return (
            "The boards do not seem to have been built for one machine, and the dates do not say "
            f"which is the stranger: they belong together with probability {share(together)}.",
        )
    return tuple(
        f"{title} does not seem to belong with the other boards: it was built for this "
        f"machine with probability {share(float(p))}."
        for title, p in zip(titles, held, strict=True)
        if title in strangers
    )


def _titles(findings: Sequence[Finding]) -> list[str]:
    """The boards' titles, with a number where two are the same."""
    titles = [f.title for f in findings]
    return [
        f"{title} ({number})" if titles.count(title) > 1 else title
        for number, title in enumerate(titles, start=1)
    ]
