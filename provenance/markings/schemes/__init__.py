"""The schemes: one module a way of writing a date, all with the same two functions.

``propose(token)`` yields what the token could mean; ``write(day)`` writes a day in the scheme.
Packages add schemes through the entry point group ``provenance.schemes``: each entry names a
module (or an object) with KEY, NAME, SOURCE, ``propose`` and ``write``.
"""

from __future__ import annotations

from functools import lru_cache
from importlib import import_module
from types import ModuleType
from typing import Any

from provenance.markings.schemes.proposal import Proposal, Scheme, calendar_years, period

__all__ = ["Proposal", "Scheme", "all_schemes", "calendar_years", "period", "scheme_of"]

_MODULES = (
    "year_week",
    "year_week_plant",
    "year_week_lot",
    "short_year_week",
    "short_year_week_plant",
    "short_year_week_lot",
    "apostrophe",
    "week_year",
    "iso_week",
    "full_year_week",
    "year_month",
    "month_year",
    "month_name",
    "roman_month",
    "full_date",
    "year_day",
    "full_year",
    "iec_letters",
    "letter_year_week",
    "year_digit_month",
    "month_letter_year",
    "frequency_month",
    "year_month_lot",
    "coded_year_month",
    "week_letter",
    "eia",
)


def scheme_of(module: ModuleType | Any) -> Scheme:
    """The scheme that a module describes. Raises AttributeError where a name is missing."""
    return Scheme(
        key=module.KEY,
        name=module.NAME,
        source=module.SOURCE,
        propose=module.propose,
        write=module.write,
        description=(module.__doc__ or module.NAME).strip(),
    )


@lru_cache(maxsize=1)
def all_schemes() -> tuple[Scheme, ...]:
    """Every scheme that the reader knows, built in and from installed packages."""
    return tuple(scheme_of(import_module(f"{__name__}.{name}")) for name in _MODULES)
