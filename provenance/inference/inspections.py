"""What to look at next: observations not yet made, by what each is expected to bring.

The gain is the mutual information between what would be seen and what is asked, in bits
(C. E. Shannon, A mathematical theory of communication, 1948): how much the observation is
expected to narrow the build's date, or to settle an origin.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Literal

import numpy as np

from provenance.inference.finding import Inspection
from provenance.inference.grid import Array
from provenance.inference.origins import lot_posteriors
from provenance.inference.posterior import Posterior
from provenance.inference.testimony import board_delay, inspection_lag
from provenance.survey.prose import listed

MOST = 6
LEAST = 0.02
"""Bits under which an inspection is not worth proposing."""
LEAST_WEEK = 1e-6
"""Weeks of the build so much less probable than the likeliest are passed over."""
ALIKE = 0.05
"""Weeks that give each trade the same probability, to within this, are taken together."""
STAMPED = 0.5
"""The probability that a board bears a stamp at all: even, for want of a source."""
READ, UNDATED = 0.98, 0.9
"""Nobody is sent to a marking of which a reading, or that it has no date, is more probable."""

BENCH = (
    "Switch off, unplug and let stored charge be discharged and measured first; leave mains and "
    "picture-tube sections to qualified people. Local rules come first."
)
SOLDER = (
    "Power off and unplugged, capacitors discharged. Old solder holds lead: look, do not scrape. "
    "Local rules come first."
)
LOUPE = (
    "Power off and unplugged. Discharge yourself against static; clean with a dry soft brush only, "
    "for solvents take markings off. Keep away from leaking batteries. Local rules come first."
)


def entropy(mass: Array) -> float:
    """Entropy in bits of a distribution that need not be normalised."""
    p = mass[mass > 0] / mass.sum()
    return float(-(p * np.log2(p)).sum())


def mutual(joint: Array) -> float:
    """Mutual information in bits of the two axes of a joint distribution."""
    if joint.sum() <= 0:
        return 0.0
    return max(
        entropy(joint.sum(axis=0)) + entropy(joint.sum(axis=1)) - entropy(joint.ravel()), 0.0
    )


def inspections(posterior: Posterior) -> tuple[Inspection, ...]:
    """Inspections worth making, most telling first."""
    found = [*_bare_board(posterior), *_stamp(posterior), *_joints(posterior), *_unread(posterior)]
    found.sort(key=lambda i: -i.expected_bits)
    return tuple(i for i in found if i.expected_bits >= LEAST)[:MOST]


def _recorded(posterior: Posterior) -> set[str]:
    return {e.kind for e in posterior.evidence.survey.evidence if e.section is None}


def _tied(
    built: Array, lags: Sequence[Array], reliability: float, *, before: bool = False
) -> float:
    """What a date tied to the build by a lag is expected to bring, in bits.

    ``built`` (P, W) is the build by week for each trade, ``lags`` are the trades'. ``before``: the
    date lies before the build, not after it. A date that is wrong may be any.
    """
    weeks = built.shape[1]
    lag = np.array([np.pad(one[:weeks], (0, max(weeks - len(one), 0))) for one in lags])
    anywhere = (1 - reliability) / weeks
    # A product of Fourier transforms, for blanks may have lain for decades.
    length = 1 << (2 * weeks - 1).bit_length()
    moved = np.fft.rfft(built[:, :: -1 if before else 1], length) * np.fft.rfft(lag, length)
    seen: Array = reliability * np.maximum(np.fft.irfft(moved.sum(axis=0), length), 0.0)
    seen[:weeks] += anywhere
    # Given the week of the build, what is seen hangs on what that week says of the trade.
    build = built.sum(axis=0)
    held = build > LEAST_WEEK * build.max()
    shares = (built[:, held] / build[held]).T
    trades, place = np.unique((shares / ALIKE).round(), axis=0, return_inverse=True)
    trades /= trades.sum(axis=1, keepdims=True)
    given = reliability * trades @ lag + anywhere
    chance = np.bincount(place.ravel(), build[held])
    left = chance @ [entropy(one) for one in given] / chance.sum()
    return max(entropy(seen) - float(left), 0.0)


def _bare_board(posterior: Posterior) -> list[Inspection]:
    if "bare board code" in _recorded(posterior):
        return []
    evidence = posterior.evidence
    bits = _tied(
        np.array([posterior.built_by[p.name] for p in evidence.kernels.profiles]),
        [board_delay(p.board, evidence.defaults) for p in evidence.kernels.profiles],
        evidence.defaults.reliability["bare board code"],
        before=True,
    )
    return [
        Inspection(
            observation="the fabrication code of the bare board",
            how="look for a week and year in the copper or the print, on both sides, at the edges "
            "and under large parts",
            caution=BENCH,
            expected_bits=bits,
            about="build",
        )
    ]


def _stamp(posterior: Posterior) -> list[Inspection]:
    if "inspection stamp" in _recorded(posterior):
        return []
    defaults = posterior.evidence.defaults
    bits = STAMPED * _tied(
        posterior.build[None] / posterior.build.sum(),
        [inspection_lag(defaults)],
        defaults.reliability["inspection stamp"],
    )
    return [
        Inspection(
            observation="an inspection or assembly stamp",
            how="look for ink stamps and paper labels on the board, the chassis and inside the "
            "case",
            caution=BENCH,
            expected_bits=bits,
            about="build",
        )
    ]


def _joints(posterior: Posterior) -> list[Inspection]:
    """Joints of groups whose origin is open and whose joints were not noted."""
    evidence = posterior.evidence
    found = []
    for number, group in enumerate(evidence.groups.groups):
        if evidence.usual[number] is not None or group.mount == "socketed":
            continue
        original = float(posterior.histories.original[number].sum())
        odds = [posterior.joints(looks) for looks in evidence.defaults.joints]
        joint = np.array([[original * built, (1 - original) * later] for built, later in odds])
        found.append(
            Inspection(
                observation=f"the solder joints of {group.name}",
                how="compare them with the joints of the rest of the board: shape, flux, colour",
                caution=SOLDER,
                expected_bits=mutual(joint),
                about="origin",
            )
        )
    return found


def _unread(posterior: Posterior) -> list[Inspection]:
    """Markings whose date is still open: what a full reading would bring."""
    found = []
    for rated in lot_posteriors(posterior):
        lot = rated.lot
        masses, none = rated.readings
        if not len(masses) or masses.max() > READ or none > UNDATED:
            continue
        is_worn = any("?" in part.marking for part in lot.parts)
        if none > masses.max() and not is_worn:
            continue
        build, origin = rated.reading_joint()
        code = "the full date code of" if is_worn else "a second look at the date code of"
        refs = listed(part.ref for part in lot.parts)
        asked: tuple[tuple[Literal["build", "origin"], Array], ...] = (
            ("build", build),
            ("origin", origin),
        )
        for about, joint in asked:
            found.append(
                Inspection(
                    observation=f"{code} {refs}",
                    how="read it again under a loupe with raking light, or from a photograph with "
                    "the contrast raised",
                    caution=LOUPE,
                    expected_bits=mutual(joint),
                    about=about,
                )
            )
    return found
