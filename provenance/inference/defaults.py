"""The numbers of the model that are not delays, each with its meaning and its source.

Delays are in ``stock``. Every number here can be overridden by passing another ``Defaults``.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field


@dataclass(frozen=True, slots=True)
class Defaults:
    """Rates are per week; the rest are probabilities. All common practice unless said."""

    work_rate: float = 1 / 1560
    """r: one later work in thirty years."""
    work_share: float = 0.15
    """q: the probability that a work refits a given fit group."""
    replacement_rate: float = 1 / 40_000
    """A part replaced on its own: one in forty in twenty years."""
    socket_factor: float = 3.0
    """How many times more often a part in a socket is replaced than a soldered one."""
    misread: float = 0.01
    """A marking copied down wrongly, so that its date says nothing."""
    same_joints: float = 0.95
    """A part's joints look like those of its group, if it was fitted with the group."""
    joints: Mapping[str, tuple[float, float, float]] = field(
        default_factory=lambda: {
            "factory": (0.90, 0.35, 0.25),
            "hand": (0.10, 0.65, 0.75),
        }
    )
    """How often joints look so: at the build, after a later work, after a replacement."""
    socketed: tuple[float, float] = (0.3, 0.45)
    """How often a fit group is socketed: at the build, in a later work. Weak on purpose."""
    inspection_lag: float = 2.0
    """Mean weeks from the build to an inspection stamp."""
    reliability: Mapping[str, float] = field(
        default_factory=lambda: {
            "bare board code": 0.98,
            "inspection stamp": 0.97,
            "document": 0.95,
            "photograph": 0.90,
            "serial number": 0.80,
        }
    )
    """How likely evidence of each kind is right, where the survey does not say."""
    production_slack: float = 26.0
    """Weeks in which the probability falls by e outside the stated production years."""


DEFAULTS = Defaults()
