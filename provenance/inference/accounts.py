"""The distinct histories that matter, their odds, and what speaks for each.

An account says which fit groups the build left and which later works refitted the others, in
which order. Its probability is exact; only which accounts are looked at is a choice. Which parts
were replaced on their own is open in an account; it tells those of which, given it, that is likely.
"""

from __future__ import annotations

from collections.abc import Iterator
from itertools import combinations
from typing import NamedTuple

import numpy as np

from provenance.inference.episodes import Chain
from provenance.inference.finding import (
    Account,
    AccountWork,
    Comparison,
    ObservationWeight,
    Window,
)
from provenance.inference.grid import Array
from provenance.inference.origins import decibans
from provenance.inference.posterior import Posterior
from provenance.inference.windows import stated, window

ENOUGH = 0.95
"""The accounts given hold this much between them, if MOST of them do."""
MOST = 8
SETS = 24
"""Sets of refitted groups that are looked at, most probable first."""
FREE_ORDER = 3
"""Up to so many refitted groups, every grouping and order is looked at; beyond, those that
keep the order of the groups' most probable refits."""
RARE = 1e-3
"""An account less probable than this is not told."""
CERTAIN = 1 - 1e-12
"""An account at least so probable is the board's only one: its build is the board's."""
SPEAKING = 1.0
"""Decibans under which an observation is not said to speak for an account."""
LIKELY = 0.66
"""Parts that in an account were replaced with this probability are told with it; IPCC 2010."""

Blocks = tuple[frozenset[int], ...]


class Rated(NamedTuple):
    """An account before it is put on the calendar."""

    blocks: Blocks
    chain: Chain


def ordered_partitions(groups: frozenset[int]) -> Iterator[Blocks]:
    """Every way to refit the groups in one or more works, in every order."""
    if not groups:
        yield ()
        return
    members = sorted(groups)
    for size in range(1, len(members) + 1):
        for block in combinations(members, size):
            for rest in ordered_partitions(groups - set(block)):
                yield (frozenset(block), *rest)


def _in_order(groups: list[int]) -> Iterator[Blocks]:
    """Every way to cut an ordered list of groups into works."""
    count = len(groups)
    for cuts in range(1 << max(count - 1, 0)):
        blocks: list[frozenset[int]] = []
        run: set[int] = set()
        for place, group in enumerate(groups):
            run.add(group)
            if place == count - 1 or cuts >> place & 1:
                blocks.append(frozenset(run))
                run = set()
        yield tuple(blocks)


def rated(posterior: Posterior) -> list[Rated]:
    """Accounts, most probable first, until they hold enough."""
    histories = posterior.histories
    found: list[Rated] = []
    for members, most in histories.likely_sets(RARE / 10)[:SETS]:
        # No account is more probable than its set: what is told already cannot change any more.
        told = _told(found)
        settled = sum(r.chain.probability for r in told) >= ENOUGH or len(told) == MOST
        if told and (most < RARE or (settled and told[-1].chain.probability >= most)):
            break
        if len(members) <= FREE_ORDER:
            candidates = ordered_partitions(members)
        else:
            when = {s: int(histories.refitted[s].argmax()) for s in members}
            candidates = _in_order(sorted(members, key=lambda s: (when[s], s)))
        found += [Rated(blocks, histories.chain(blocks)) for blocks in candidates]
    return _told(found)


def _told(found: list[Rated]) -> list[Rated]:
    """The accounts that are told, of those found so far."""
    told: list[Rated] = []
    for r in sorted(found, key=lambda r: -round(r.chain.probability, 9))[:MOST]:
        held = sum(k.chain.probability for k in told)
        if told and (held >= ENOUGH or r.chain.probability < RARE):
            break
        told.append(r)
    return told


def accounts(
    posterior: Posterior, found: list[Rated], build: tuple[Window, ...]
) -> tuple[Account, ...]:
    """The accounts on the calendar, with the parts that in each were likely replaced on their own;
    ``build`` are the board's windows."""
    evidence = posterior.evidence
    start, today = evidence.grid.start, evidence.today
    names = [g.name for g in evidence.groups.groups]
    return tuple(
        Account(
            probability=r.chain.probability,
            build=stated(build)
            if r.chain.probability >= CERTAIN
            else window(posterior.built_in(r.chain.built, r.chain.case), start, today),
            works=tuple(
                AccountWork(
                    groups=tuple(names[s] for s in sorted(block)),
                    fitted=window(posterior.fitted_later(when), start, today),
                )
                for block, when in zip(r.blocks, r.chain.works, strict=True)
            ),
            replaced=_replaced(posterior, r),
        )
        for r in found
    )


def _replaced(posterior: Posterior, account: Rated) -> tuple[str, ...]:
    """The parts that, given the account, were likely replaced after their group was fitted."""
    told: set[str] = set()
    for lot, inverse in zip(
        posterior.evidence.lots, _without_each(posterior, account), strict=True
    ):
        if lot.apart * float(inverse @ lot.replaced) >= LIKELY:
            told.update(part.ref for part in lot.parts)
    return tuple(part.ref for part in posterior.evidence.survey.parts() if part.ref in told)


def comparisons(posterior: Posterior, found: list[Rated]) -> tuple[Comparison, ...]:
    """For the best account against each other, what each marking says for it, in decibans."""
    if len(found) < 2:
        return ()
    first = _leave_one_out(posterior, found[0])
    compared = []
    for number, other in enumerate(found[1:], start=1):
        second = _leave_one_out(posterior, other)
        weights = [
            ObservationWeight(observation=lot.name, decibans=a - b)
            for lot, a, b in zip(posterior.evidence.lots, first, second, strict=True)
            if abs(a - b) >= SPEAKING
        ]
        weights += _works(posterior, found[0], other)
        weights.sort(key=lambda w: -abs(w.decibans))
        compared.append(Comparison(first=0, second=number, observations=tuple(weights)))
    return tuple(compared)


def _leave_one_out(posterior: Posterior, account: Rated) -> list[float]:
    """Decibans of each lot's marking under an account, given everything else."""
    return [-decibans(float(inverse.sum()), 1.0) for inverse in _without_each(posterior, account)]


def _without_each(posterior: Posterior, account: Rated) -> list[Array]:
    """(L, C): when each lot's group was fitted under an account, over the lot's own likelihood."""
    cells, near = len(posterior.evidence.grid.length), posterior.histories.near
    place = {s: i for i, block in enumerate(account.blocks) for s in block}
    built = account.chain.built.T[near]
    found = []
    for lot in posterior.evidence.lots:
        if lot.group in place:
            inverse = account.chain.works[place[lot.group]] / lot.in_work
        else:
            inverse = np.zeros(cells)
            inverse[near] = (built / lot.at_build.T[near]).sum(axis=1)
        found.append(inverse)
    return found


def _works(posterior: Posterior, first: Rated, second: Rated) -> list[ObservationWeight]:
    """What mounts and joints say for the first account against the second."""
    evidence = posterior.evidence
    defaults = evidence.defaults
    later = [{s for block in r.blocks for s in block} for r in (first, second)]
    weights = []
    for number, group in enumerate(evidence.groups.groups):
        sign = (number in later[1]) - (number in later[0])
        if not sign:
            continue
        if group.mount == "socketed":
            weights.append(
                ObservationWeight(
                    observation=f"{group.name}: socketed",
                    decibans=sign * decibans(*defaults.socketed),
                )
            )
        if (looks := evidence.usual[number]) is not None:
            weights.append(
                ObservationWeight(
                    observation=f"{group.name}: {looks} joints",
                    decibans=sign * decibans(*posterior.joints(looks)),
                )
            )
    return weights
