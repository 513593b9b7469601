"""docs/defaults.md, written from the tables of the inference.

``python -m tests.generated_defaults`` brings it up to date; a test fails while it is not.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import fields
from pathlib import Path

from provenance.census.machine import BELONGS, SHELF
from provenance.inference.defaults import DEFAULTS
from provenance.inference.stock import LATER, PROFILES, Lognormal, Profile

PAGE = Path(__file__).parent.parent / "docs" / "defaults.md"


def _shape(delay: Lognormal) -> str:
    spread = f", spread {delay.spread:g}" if delay.spread else ""
    return f"{delay.median:g} weeks, sigma {delay.sigma:g}{spread}"


def _value(value: object) -> str:
    if isinstance(value, Mapping):
        return "; ".join(f"{key}: {_value(entry)}" for key, entry in value.items())
    if isinstance(value, tuple):
        return " / ".join(f"{entry:g}" for entry in value)
    if isinstance(value, float) and 0 < value < 0.005:
        return f"1 / {1 / value:,.0f}"
    return f"{value:g}" if isinstance(value, float) else str(value)


def _settings(profile: Profile) -> str:
    total = sum(s.weight for s in profile.settings)
    return "; ".join(
        f"{s.weight / total:.2f}: rho {s.rho:g}, age {s.age:g}, sigma {profile.old(s).sigma:g}"
        for s in profile.settings
    )


def defaults_text() -> str:
    """The page."""
    lines = [
        "# The defaults",
        "",
        "Every number of the model that is a choice about boards and trades, with its source.",
        "Letters are those of [the model](model.md). This page is written by",
        "`python -m tests.generated_defaults`.",
        "",
        "## Rates and probabilities",
        "",
        "Override with `date_board(survey, defaults=Defaults(work_rate=...))`. Rates are per week.",
        "",
        "| name | value | meaning | source |",
        "|---|---|---|---|",
    ]
    lines += [
        f"| `{f.name}` | {_value(getattr(DEFAULTS, f.name))} | {f.metadata['meaning']} "
        f"| {f.metadata['source']} |"
        for f in fields(DEFAULTS)
    ]
    lines += [
        "",
        "## Trades",
        "",
        "`trade:` in the survey names one; without it all are weighed by how well they fit the",
        "board, starting from these prior probabilities. Delays are lognormal, given by their",
        "median and the sigma of their natural logarithm. Spread is how far the median itself",
        "may lie from the one given, as the standard deviation of its logarithm; it is integrated",
        "over. Settings: the probability of each, the share of old lots (rho), the median age of",
        "old stock in weeks, how far old lots of one board lie apart (sigma). Hand joints: how",
        "often joints of a build look like hand work; common practice in every trade.",
        "Override with `date_board(survey, profiles=...)`.",
        "",
        "| trade | prior | picking to fitting (D) | fresh stock | settings "
        "| bare board to build | hand joints | source |",
        "|---|---|---|---|---|---|---|---|",
    ]
    lines += [
        f"| {p.name} | {p.prior:g} | {_shape(p.transit)} | {_shape(p.fresh)} "
        f"| {_settings(p)} | {_shape(p.board)} | {p.hand:g} | {p.source} |"
        for p in PROFILES
    ]
    lines += [
        "",
        f"Later works and replacements draw on the stock of the trade '{LATER.name}', to which a",
        "tenth of far older stock is added: parts long out of production, and such as come from",
        f"boards that are broken up. Settings: {_settings(LATER)}. They are summed, whatever",
        "`profiles` are; common practice.",
        "",
        "## Machines of several boards",
        "",
        f"A board is built {_shape(SHELF)} before its machine; a board found in one was built",
        f"for it with prior probability {BELONGS:g}. Both are common practice.",
        "",
    ]
    return "\n".join(lines)


if __name__ == "__main__":
    PAGE.write_text(defaults_text(), encoding="utf-8")
