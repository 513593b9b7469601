"""The numbers of the model that are not those of a trade, each with its meaning and its source.

Trades and their delays are in ``stock``. Every number here can be overridden by passing another
``Defaults``; docs/defaults.md is written from this table.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from math import inf, isfinite
from typing import Any

COMMON = "common practice"
EVIDENCE = ("bare board code", "inspection stamp", "document", "photograph", "serial number")
"""The kinds of evidence, each with a reliability."""


def _number(value: Any, meaning: str, source: str = COMMON) -> Any:
    """A default with what it means and where it comes from."""
    metadata = {"meaning": meaning, "source": source}
    if isinstance(value, dict):
        return field(default_factory=lambda: dict(value), metadata=metadata)
    return field(default=value, metadata=metadata)


def within(name: str, value: float, *, least: float = 0.0, most: float = inf) -> None:
    """Raise ValueError, naming the number, unless it lies in its range.

    >>> within("misread", -0.1, most=1.0)
    Traceback (most recent call last):
    ValueError: misread is -0.1; it must be between 0 and 1
    """
    if not least <= value <= most or not isfinite(value):
        limits = f"at least {least:g}" if most == inf else f"between {least:g} and {most:g}"
        raise ValueError(f"{name} is {value:g}; it must be {limits}")


LEAST = 1e-6
"""The least of a number that is divided by."""


@dataclass(frozen=True, slots=True)
class Defaults:
    """The numbers of the model that are a choice, but for the delays of the trades.

    Rates are per week; lags, delays and ``approximate`` in weeks; ``socket_factor`` is a ratio, a
    sigma that of a natural logarithm; the rest are probabilities. Raises ValueError where one is
    out of its range, or a table has not just the keys of the one that it replaces.
    """

    work_rate: float = _number(1 / 1300, "r: a later work in a week; one in twenty-five years")
    work_share: float = _number(0.20, "q: a work refits a given fit group")
    replacement_rate: float = _number(
        1 / 40_000, "a part is replaced on its own in a week; one in forty in twenty years"
    )
    socket_factor: float = _number(
        3.0, "how many times more often a part in a socket is replaced than a soldered one"
    )
    misread: float = _number(0.01, "a marking copied down wrongly, so that its date says nothing")
    too_early: float = _number(
        0.02, "a part is older than its family's first-made year, less a year of slack", "memory"
    )
    same_joints: float = _number(
        0.95, "a part fitted with its group has joints that look like the group's"
    )
    looked_at: float = _number(
        0.5,
        "what is said of the joints of a section of several parts was seen on a given part; else "
        "it says nothing of that part by itself",
    )
    joints: Mapping[str, tuple[float, float]] = _number(
        {"factory": (0.35, 0.25), "hand": (0.65, 0.75)},
        "how often joints look so after a later work, and after a replacement; at the build that "
        "depends on the trade",
    )
    socketed: tuple[float, float] = _number(
        (0.30, 0.45),
        "how often a fit group is socketed: at the build, in a later work; weak on purpose, since "
        "some factories socketed",
    )
    adapter: tuple[float, float] = _number(
        (0.01, 0.1),
        "how often a part sits on an adapter: fitted with its group, replaced on its own; where "
        "none is noted, that says nothing",
    )
    inspection_lag: float = _number(2.0, "mean weeks from the build to an inspection stamp")
    old_blanks: tuple[float, float, float] = _number(
        (0.02, 130.0, 0.8),
        "share of bare boards that lay for years as blanks; the median of their delay to the "
        "build, in weeks, and the sigma of its logarithm",
    )
    reliability: Mapping[str, float] = _number(
        {
            "bare board code": 0.98,
            "inspection stamp": 0.97,
            "document": 0.95,
            "photograph": 0.90,
            "serial number": 0.80,
        },
        "how likely evidence of each kind is right, where the survey does not say",
    )
    uncertain: float = _number(
        0.8,
        "what the default reliability is times where the date is uncertain (`?`) and the "
        "survey gives none",
    )
    approximate: Mapping[str, float] = _number(
        {"decade": 522.0, "year": 52.2, "month": 4.35, "day": 1.0},
        "weeks by which an end of an approximate date (`~`) lies off, by how it is written: the "
        "standard deviation of a normal distance",
    )
    production_slack: float = _number(
        26.0, "weeks in which the probability falls by a factor e outside the production years"
    )

    def __post_init__(self) -> None:
        for name in (
            "work_rate",
            "work_share",
            "misread",
            "too_early",
            "same_joints",
            "looked_at",
            "uncertain",
        ):
            within(name, getattr(self, name), most=1.0)
        for name in ("replacement_rate", "socket_factor"):
            within(name, getattr(self, name))
        for name in ("inspection_lag", "production_slack"):
            within(name, getattr(self, name), least=LEAST)
        within("old_blanks: the share", self.old_blanks[0], most=1.0)
        within("old_blanks: the median", self.old_blanks[1], least=LEAST)
        within("old_blanks: the sigma", self.old_blanks[2], least=LEAST)
        pairs = {
            "socketed": self.socketed,
            "adapter": self.adapter,
            **{f"joints: {k}": v for k, v in self.joints.items()},
        }
        for name, pair in pairs.items():
            for value in pair:
                within(name, value, most=1.0)
        for name, keys in (
            ("joints", ("factory", "hand")),
            ("reliability", EVIDENCE),
            ("approximate", ("decade", "year", "month", "day")),
        ):
            if set(getattr(self, name)) != set(keys):
                raise ValueError(f"{name} must have these and no others: {', '.join(keys)}")
        for name, value in self.reliability.items():
            within(f"reliability: {name}", value, most=1.0)
        for name, value in self.approximate.items():
            within(f"approximate: {name}", value)


DEFAULTS = Defaults()
