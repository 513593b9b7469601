"""How long parts lie between their date code and the board: discrete distributions in weeks.

Knows the stock profiles of four trades and the shapes they are built from. Knows nothing of
markings, groups or later work.

A part's code ``d``, the week ``u`` in which the parts of a fitting were picked and the week ``t``
in which they were fitted are tied by two delays::

    u = d + delta        delta: time in stock, one for each lot
    t = u + D            D: time from picking to fitting, one for the whole occasion

``delta`` is fresh stock (a short lognormal) or, with probability ``rho``, old stock (a long
lognormal of median ``age``). ``rho`` and ``age`` belong to the board and are not known: the
inference sums over the settings of a profile, so that several old parts on one board speak for
a board built from old stock, not for that many separate accidents.
"""

from __future__ import annotations

from collections.abc import Sequence
from functools import cache, lru_cache
from math import erf, exp, hypot, log, sqrt
from typing import NamedTuple

import numpy as np

from provenance.inference.defaults import LEAST, within
from provenance.inference.grid import Array

LONGEST = 2600
"""Weeks of delay that are told apart: fifty years."""
_SETTLED = 6.0
"""From here on erf is one to the last bit of a double, as it is minus one before the negative of
it: 1 - erf(6) is 2e-17 (Abramowitz and Stegun, 7.1.23), a fifth of the last bit."""


class Lognormal(NamedTuple):
    """A lognormal delay: ``median`` in weeks, ``sigma`` of its natural logarithm.

    ``spread`` is how well the median itself is known, and how far it differs from one house of
    the trade to another: the standard deviation of the median's logarithm.
    """

    median: float
    sigma: float
    spread: float = 0.0

    @property
    def once(self) -> Lognormal:
        """The delay with its median integrated over, for one that a board has a single time."""
        return Lognormal(self.median, hypot(self.sigma, self.spread))

    @property
    def points(self) -> tuple[Lognormal, ...]:
        """Equally probable delays that stand for the median's spread, for one that recurs.

        The two points of Gauss-Hermite quadrature (M. Abramowitz and I. A. Stegun, Handbook of
        mathematical functions, 1964, table 25.10): mean and variance of the logarithm are kept.
        """
        if not self.spread:
            return (self,)
        return tuple(
            Lognormal(self.median * exp(sign * self.spread), self.sigma) for sign in (-1, 1)
        )


class Stock(NamedTuple):
    """One setting of a board's stock: the share ``rho`` of old lots and their ``age``.

    ``sigma`` is how far old lots of one board lie apart; without it the profile's.
    """

    weight: float
    rho: float
    age: float
    sigma: float | None = None


class Profile(NamedTuple):
    """How one trade buys, keeps and fits parts. Delays are in weeks."""

    name: str
    prior: float
    """Probability of the profile where the survey names none."""
    transit: Lognormal
    """D: from picking the parts to fitting them."""
    fresh: Lognormal
    """delta of fresh stock."""
    old_sigma: float
    """sigma of delta of old stock; its median is the setting's age."""
    settings: tuple[Stock, ...]
    board: Lognormal
    """From the fabrication code of the bare board to the build."""
    source: str
    hand: float = 0.10
    """Probability that the joints of a build look like hand work: common practice."""

    def old(self, stock: Stock) -> Lognormal:
        """delta of old stock under one setting."""
        return Lognormal(stock.age, self.old_sigma if stock.sigma is None else stock.sigma)

    def joints(self, looks: str) -> float:
        """How often the joints of a build look so."""
        return self.hand if looks == "hand" else 1 - self.hand


PROFILES: tuple[Profile, ...] = (
    Profile(
        name="mass production",
        prior=0.55,
        transit=Lognormal(1.8, 0.5, 0.3),
        fresh=Lognormal(3.8, 0.6, 0.25),
        old_sigma=0.8,
        settings=(
            Stock(0.56, 0.05, 20.0),
            Stock(0.14, 0.50, 20.0),
            Stock(0.14, 0.05, 60.0),
            Stock(0.04, 0.50, 60.0),
            Stock(0.04, 0.90, 20.0, 0.4),
            Stock(0.04, 0.90, 35.0, 0.4),
            Stock(0.04, 0.90, 60.0, 0.4),
        ),
        board=Lognormal(5.0, 0.4, 0.2),
        source="rounded by hand from fits to the field boards, towards the quantiles of delay that "
        "their description gives for a larger set; tests/benchmarks/field_boards.py scores it, "
        "beside a profile fitted fold by fold",
        hand=0.03,
    ),
    Profile(
        name="small series",
        prior=0.28,
        transit=Lognormal(6.0, 0.6, 0.5),
        fresh=Lognormal(9.0, 0.75, 0.28),
        old_sigma=0.8,
        settings=(
            Stock(0.35, 0.10, 52.0),
            Stock(0.35, 0.40, 52.0),
            Stock(0.20, 0.40, 130.0),
            Stock(0.10, 0.80, 90.0),
        ),
        board=Lognormal(13.0, 0.5, 0.5),
        source="common practice",
        hand=0.15,
    ),
    Profile(
        name="one-off",
        prior=0.06,
        transit=Lognormal(13.0, 0.8, 0.6),
        fresh=Lognormal(26.0, 0.75, 0.5),
        old_sigma=0.9,
        settings=(
            Stock(0.5, 0.50, 150.0),
            Stock(0.5, 0.90, 150.0),
        ),
        board=Lognormal(26.0, 0.8, 0.6),
        source="common practice",
        hand=0.8,
    ),
    Profile(
        name="workshop",
        prior=0.11,
        transit=Lognormal(4.0, 0.8, 0.6),
        fresh=Lognormal(16.0, 0.75, 0.5),
        old_sigma=1.0,
        settings=(
            Stock(0.5, 0.30, 104.0),
            Stock(0.5, 0.70, 104.0),
        ),
        board=Lognormal(20.0, 0.75, 0.5),
        source="common practice",
        hand=0.5,
    ),
)
"""The trades, each with its source. ``board`` of the three that no data here speak of is wide."""

_LONG_OUT = Stock(0.10, 0.80, 780.0, 0.6)
"""Stock of parts that are long out of production, and of boards that are broken up for theirs:
common practice."""
LATER = PROFILES[-1]._replace(
    settings=(
        *[s._replace(weight=(1 - _LONG_OUT.weight) * s.weight) for s in PROFILES[-1].settings],
        _LONG_OUT,
    )
)
"""The stock of later works and replacements: a workshop's, and a tenth that is far older."""


class Hypothesis(NamedTuple):
    """One profile, one setting, one median of fresh stock: what the inference sums over."""

    profile: Profile
    stock: Stock
    fresh: Lognormal
    weight: float
    """Its prior probability."""


def _refuse(profile: Profile) -> None:
    """Raise ValueError, naming the number, where one of a profile is out of its range."""

    def positive(what: str, delay: Lognormal) -> None:
        within(f"{profile.name}: the median of {what}", delay.median, least=LEAST)
        within(f"{profile.name}: the sigma of {what}", delay.sigma, least=LEAST)
        within(f"{profile.name}: the spread of {what}", delay.spread)

    within(f"{profile.name}: the prior", profile.prior)
    within(f"{profile.name}: hand joints", profile.hand, most=1.0)
    positive("transit", profile.transit)
    positive("fresh stock", profile.fresh)
    positive("the bare board", profile.board)
    for stock in profile.settings:
        within(f"{profile.name}: the weight of a setting", stock.weight)
        within(f"{profile.name}: rho", stock.rho, most=1.0)
        positive("old stock", profile.old(stock))
    if not sum(stock.weight for stock in profile.settings) > 0:
        raise ValueError(f"{profile.name} has no setting of its stock that can be")


def hypotheses(
    trade: str | None = None, profiles: Sequence[Profile] = PROFILES
) -> tuple[Hypothesis, ...]:
    """The settings of one trade, or of all trades with their prior weights; weights sum to one.

    Raises ValueError where no profile has the name, or a number of one is out of its range.
    """
    for profile in profiles:
        _refuse(profile)
    if len({profile.name for profile in profiles}) < len(profiles):
        raise ValueError("two stock profiles have one name; each needs its own")
    chosen = [p for p in profiles if trade is None or p.name == trade]
    if not chosen:
        raise ValueError(f"no stock profile is called {trade!r}")
    total = sum(p.prior for p in chosen)
    if not total > 0:
        raise ValueError("no stock profile has a prior over nothing")
    return tuple(
        Hypothesis(
            p,
            s,
            fresh,
            p.prior / total * s.weight / sum(x.weight for x in p.settings) / len(p.fresh.points),
        )
        for p in chosen
        for s in p.settings
        for fresh in p.fresh.points
    )


@lru_cache(maxsize=1024)
def pmf(delay: Lognormal, longest: int = LONGEST) -> Array:
    """Probability of each whole number of weeks from 0 to ``longest`` - 1; sums to one."""
    logs = np.log(np.arange(1, longest + 1)) - log(delay.median)
    z = logs / (delay.sigma * sqrt(2))
    low, high = np.searchsorted(z, (-_SETTLED, _SETTLED))
    error = np.repeat((-1.0, 0.0, 1.0), (low, high - low, longest - high))
    error[low:high] = list(map(erf, z[low:high].tolist()))
    mass = np.diff(0.5 * (1 + error), prepend=0.0)
    mass /= mass.sum()
    mass.setflags(write=False)
    return mass


def cumulative(mass: Array) -> Array:
    """Running sum with a leading zero: entry k is the probability of fewer than k weeks."""
    return np.concatenate(([0.0], np.cumsum(mass)))


def mixture(parts: Sequence[tuple[float, Array]]) -> Array:
    """The weighted sum of distributions of equal length."""
    total: Array = np.sum([weight * mass for weight, mass in parts], axis=0)
    return total


@cache
def later_stock() -> Array:
    """delta of parts fitted in a later work or as a replacement, all settings summed."""
    total = sum(s.weight for s in LATER.settings)
    return mixture(
        [
            (s.weight / total * share, pmf(shape))
            for s in LATER.settings
            for share, shape in (
                (1 - s.rho, LATER.fresh.once),
                (s.rho, LATER.old(s)),
            )
        ]
    )
