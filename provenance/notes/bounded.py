"""Probabilities as they may be told: none claims more than its error bound bears.

Knows the parts of a finding that hold a probability. On a board of too many fit groups to weigh
every history, ``method.error_bound`` says how far each may be off. The JSON keeps them as they are.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any, TypeVar

from provenance.inference.windows import STATED

if TYPE_CHECKING:
    from pydantic import BaseModel

    from provenance.inference.finding import Finding, PartFinding, Window

T = TypeVar("T", bound="BaseModel")

NOTICED = 1e-3
"""An error bound up to this changes no figure that is printed."""
LOOSE = 0.5
"""An error bound from which on it tells nothing: on boards of many later groups it is far above
what is left out in truth."""


def most(finding: Finding) -> float:
    """The most that a probability of the finding may be told as, over 0.5 and up to 1.

    A bound of a half or more is too loose to tell anything by: figures stay, and the warning says
    how loose it is.
    """
    bound = finding.method.error_bound
    return 1 - bound if NOTICED < bound < LOOSE else 1.0


def bounded(finding: Finding) -> Finding:
    """The finding with no probability above one minus its error bound, nor under the bound.

    What the survey records stays certain.
    """
    top = most(finding)
    if top == 1.0:
        return finding

    def held(probability: float) -> float:
        return min(max(probability, 1 - top), top)

    def windows(found: tuple[Window, ...]) -> tuple[Window, ...]:
        # A narrower window must not take the figure of the one that is put in words.
        kept = [w for w in found if w.probability >= STATED or w.probability < top]
        return tuple(_with(w, probability=min(w.probability, top)) for w in kept)

    def part(found: PartFinding) -> PartFinding:
        if any(weight.source == "known work" for weight in found.weights):
            return found
        origin, reading = found.origin, found.reading
        original = held(origin.original)
        rest = origin.later_work + origin.replacement
        share = origin.later_work / rest if rest > 0 else 0.5
        return _with(
            found,
            origin=_with(
                origin,
                original=original,
                later_work=share * (1 - original),
                replacement=(1 - share) * (1 - original),
            ),
            reading=reading and _with(reading, probability=held(reading.probability)),
            no_date=held(found.no_date),
            fitted=windows(found.fitted),
        )

    return _with(
        finding,
        build=_with(finding.build, windows=windows(finding.build.windows)),
        later_works=tuple(
            work
            if work.known
            else _with(work, probability=held(work.probability), windows=windows(work.windows))
            for work in finding.later_works
        ),
        parts=tuple(map(part, finding.parts)),
        groups=tuple(
            _with(g, original=held(g.original), later_work=held(g.later_work))
            for g in finding.groups
        ),
        accounts=tuple(_with(a, probability=min(a.probability, top)) for a in finding.accounts),
        method=_with(
            finding.method, trade={name: held(p) for name, p in finding.method.trade.items()}
        ),
    )


def _with(thing: T, **changed: Any) -> T:
    """A copy of a part of a finding with some fields changed."""
    return thing.model_copy(update=changed)
