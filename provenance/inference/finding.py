"""The finding: what the inference says of one board, as plain data with stable JSON keys.

Knows the shape of the result only. How it is worked out is in the other modules of this folder;
how it is put in words is in ``provenance.notes``.

Dates are ISO 8601 days, both ends included. Probabilities are between 0 and 1. Weights of evidence
are in decibans, 10 log10 of a likelihood ratio (I. J. Good).
"""

from dataclasses import dataclass
from datetime import date
from typing import TYPE_CHECKING, ClassVar, Literal

from pydantic import BaseModel, ConfigDict

if TYPE_CHECKING:
    from matplotlib.axes import Axes

# Annotations here are values, not text that pydantic would have to compile one by one at start.


class _Plain(BaseModel):
    model_config = ConfigDict(frozen=True, extra="forbid", defer_build=True)


class Window(_Plain):
    """The shortest run of days that holds the date with at least this probability."""

    probability: float
    first: date
    last: date


@dataclass(frozen=True, slots=True)
class WeekProbability:
    """The probability of one week, which begins on this Monday."""

    __pydantic_config__: ClassVar[ConfigDict] = ConfigDict(extra="forbid")

    week: date
    probability: float


class Build(_Plain):
    """When the board was built."""

    windows: tuple[Window, ...]
    """At 50, 80, 90 and 95 per cent, narrowest first."""
    edtf: str
    """The 90 per cent window as an EDTF interval, marked approximate."""
    median: date
    dated: bool
    """False where nothing on the board dates it: the windows are then the prior's."""
    weeks: tuple[WeekProbability, ...]
    """The posterior by week, weeks of negligible probability left out."""


class LaterWork(_Plain):
    """One later occasion on which a fit group was refitted, or a known work."""

    probability: float
    windows: tuple[Window, ...]
    edtf: str
    median: date
    groups: tuple[str, ...]
    parts: tuple[str, ...]
    known: bool = False
    """True for a work that the survey records; its probability is then one."""
    done: str | None = None
    by: str | None = None
    weeks: tuple[WeekProbability, ...] = ()


class Origin(_Plain):
    """How a part came to be there: the three probabilities sum to one."""

    original: float
    later_work: float
    replacement: float


class PartReading(_Plain):
    """The reading of a marking that the whole board makes most probable."""

    scheme: str
    text: str
    first: date
    last: date
    probability: float


@dataclass(frozen=True, slots=True)
class Weight:
    """A weight of evidence for 'original' against 'later', in decibans, by source."""

    __pydantic_config__: ClassVar[ConfigDict] = ConfigDict(extra="forbid")

    source: Literal["date", "mount", "joints", "group", "known work", "prior"]
    decibans: float
    why: str


class PartFinding(_Plain):
    """One part: what its marking was read as, and how it came to be there."""

    ref: str
    section: str
    group: str
    marking: str
    origin: Origin
    reading: PartReading | None
    """The most probable reading, which may be one of many that fit; None where 'no date' is more
    probable than it and than all together."""
    no_date: float
    """Probability that the marking holds no date (or none that could be read)."""
    fitted: tuple[Window, ...]
    """When the part that is there now was fitted; of one more likely not original, by either
    manner."""
    weights: tuple[Weight, ...]

    @property
    def bears_date(self) -> bool:
        """Whether its marking holds a date, as far as is known."""
        return self.no_date <= 0.5


class GroupFinding(_Plain):
    """One fit group: whether the build fitted it, or a later work."""

    name: str
    sections: tuple[str, ...]
    parts: tuple[str, ...]
    mount: Literal["soldered", "socketed"] | None = None
    """None where it is mixed or not noted."""
    original: float
    later_work: float
    fitted: tuple[Window, ...]


class AccountWork(_Plain):
    """A later work of an account: the fit groups that it refitted, and when."""

    groups: tuple[str, ...]
    fitted: Window


class Account(_Plain):
    """One history of the board: which groups went in together, and when."""

    probability: float
    build: Window
    works: tuple[AccountWork, ...]
    replaced: tuple[str, ...] = ()
    """Parts likely (66%) replaced on their own, given this account; its probability is not
    theirs."""


class ObservationWeight(_Plain):
    """What one observation says for an account against another, in decibans."""

    observation: str
    decibans: float


class Comparison(_Plain):
    """Two accounts, and what each observation says for the first against the second."""

    first: int
    second: int
    observations: tuple[ObservationWeight, ...]


class Carrier(_Plain):
    """What happens to the result without one observation."""

    observation: str
    build: Window
    """The 90 per cent build window without it."""
    shift_weeks: float
    """How far the median moves, in weeks."""
    bits: float
    """Kullback-Leibler divergence from the result to the result without it."""


class Inspection(_Plain):
    """An observation not yet made, and what it is expected to bring."""

    observation: str
    how: str
    caution: str
    expected_bits: float
    about: Literal["build", "origin"]


class Method(_Plain):
    """By what the finding was come by: enough to repeat it, and how exact it is."""

    version: str
    today: date
    trade: dict[str, float]
    """Posterior probability of each stock profile."""
    error_bound: float
    """Largest error that any stated probability can have from states left out."""
    fingerprint: str
    """SHA-256 of the survey in canonical form."""


class Finding(_Plain):
    """What the inference says of one board."""

    title: str
    build: Build
    later_works: tuple[LaterWork, ...]
    parts: tuple[PartFinding, ...]
    groups: tuple[GroupFinding, ...]
    accounts: tuple[Account, ...]
    comparisons: tuple[Comparison, ...]
    carriers: tuple[Carrier, ...]
    inspections: tuple[Inspection, ...]
    rests_on: tuple[str, ...]
    """What the result rests on, in plain sentences, most important first."""
    warnings: tuple[str, ...]
    method: Method

    def plot_timeline(self, ax: "Axes | None" = None) -> "Axes":
        """Draw the readings, the build window and the later works; returns the axes."""
        # Pictures are drawn by the notes, which a finding reaches only when asked for one.
        from provenance.notes.plots import plot_timeline  # noqa: PLC0415

        return plot_timeline(self, ax)

    def plot_board(self, ax: "Axes | None" = None) -> "Axes":
        """Draw the sections with their parts, origin by shape and label; returns the axes."""
        from provenance.notes.plots import plot_board  # noqa: PLC0415

        return plot_board(self, ax)

    def _repr_html_(self) -> str:
        """The finding as a notebook shows it."""
        from provenance.notes.plots import repr_html  # noqa: PLC0415

        return repr_html(self)
