"""The schemes: one module a way of writing a date, all with the same functions.

``forms(sample)`` yields the ways in which tokens of the sample's shape are a date,
``propose(token)`` what a token could mean; ``write(day)`` writes a day in the scheme. Packages add
schemes through the entry point group ``provenance.schemes``: each entry names a module (or an
object) with KEY, NAME, SOURCE, ``propose`` and ``write``.
"""

from __future__ import annotations

import os
import sys
from collections.abc import Callable, Iterable, Iterator
from dataclasses import replace
from functools import lru_cache
from importlib import import_module

from provenance.markings.schemes.form import Form
from provenance.markings.schemes.proposal import (
    Proposal,
    makeup_of,
    sample_of,
)
from provenance.markings.schemes.scheme import Propose, Scheme, scheme_of

__all__ = [
    "Form",
    "Proposal",
    "Propose",
    "Scheme",
    "Trial",
    "all_schemes",
    "left_out_schemes",
    "makeup_of",
    "proposals_of",
    "proposed",
    "sample_of",
    "scheme_of",
    "worth_trying",
]

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
    "serial_prefix",
    "japanese_era",
)


@lru_cache(maxsize=1)
def all_schemes() -> tuple[Scheme, ...]:
    """Every scheme that the reader knows: built in, then those of installed packages.

    A package's entry that cannot be loaded, or whose key is taken, is left out: reading goes on
    without it. ``left_out_schemes`` says why.
    """
    schemes = [scheme_of(import_module(f"{__name__}.{name}")) for name in _MODULES]
    keys = {scheme.key for scheme in schemes}
    for scheme in _from_packages(keys):
        keys.add(scheme.key)
        schemes.append(scheme)
    return tuple(schemes)


_GROUP = "provenance.schemes"
_left_out: list[str] = []


def left_out_schemes() -> tuple[str, ...]:
    """One sentence for each installed package's scheme that could not be used, or that failed on a
    token that was read since."""
    all_schemes()
    return tuple(_left_out)


def _announced() -> bool:
    """Whether an installed package names the entry point group at all.

    A look into the small files themselves: the library that reads them properly takes longer to
    import than everything else here, and hardly anyone needs it.
    """
    for folder in sys.path:
        try:
            with os.scandir(folder or ".") as entries:
                names = [
                    one.path for one in entries if one.name.endswith((".dist-info", ".egg-info"))
                ]
        except OSError:
            continue
        for name in names:
            try:
                with open(os.path.join(name, "entry_points.txt"), "rb") as file:
                    if _GROUP.encode() in file.read():
                        return True
            except OSError:
                continue
    return False


def _from_packages(taken: set[str]) -> Iterator[Scheme]:
    if not _announced():
        return
    from importlib.metadata import entry_points  # noqa: PLC0415 - slow to import, last resort

    for entry in entry_points(group=_GROUP):
        try:
            scheme = scheme_of(entry.load())
            tuple(one.fullmatch for one in scheme.expressions)  # Compiled here, not in a reading.
        except Exception as error:  # whatever a foreign module does, reading goes on
            _left_out.append(f"The scheme {entry.name} ({entry.value}) cannot be used: {error!r}.")
            continue
        if scheme.key in taken:
            _left_out.append(f"The scheme {entry.name} uses the key {scheme.key}, which is taken.")
            continue
        # Only what a package proposes is guarded, so its forms are not asked for.
        yield replace(scheme, forms=None, propose=_kept_from_raising(entry.name, scheme.propose))


def _kept_from_raising(name: str, propose: Propose) -> Propose:
    """A package's ``propose`` that reads nothing where it fails, so that reading goes on."""

    def safely(token: str) -> Iterator[Proposal]:
        try:
            found = list(propose(token))
            if any([*map(type, one)] != _TYPES for one in found):
                raise TypeError("propose must yield proposals")
            if any(min(one.number, one.until) < 0 for one in found):
                raise ValueError("a number is never negative")
        except Exception as error:  # as above
            problem = f"The scheme {name} failed on a token, which it leaves unread"
            if not any(one.startswith(problem) for one in _left_out):
                _left_out.append(f"{problem}: {error!r}.")
            return iter(())
        return iter(found)

    return safely


_TYPES = [str, int, int, int, int, str, int, int]
"""Of the fields of a proposal."""


Trial = tuple[Callable[[str], object], Propose]
"""What tells whether a token may be read, and what reads it."""


@lru_cache(maxsize=8192)
def worth_trying(sample: str) -> tuple[tuple[Form, ...], tuple[Trial, ...]]:
    """What tokens of the shape that a sample shows can mean, in the order of the schemes: the forms
    that they may fit, and what else may propose dates for them."""
    if not sample:
        return (), ()
    tried = [scheme for scheme in all_schemes() if scheme.is_worth_trying(sample)]
    forms = tuple(form for scheme in tried if scheme.forms for form in scheme.forms(sample))
    return forms, tuple((one.fits, one.propose) for one in tried if not one.forms)


def proposals_of(token: str) -> list[Proposal]:
    """Everything that a token could mean, in the order of the schemes.

    >>> [one.form for one in proposals_of("H7841")]
    ['year_week_plant.one']
    """
    forms, trials = worth_trying(sample_of(token))
    found = [proposal for form in forms if (proposal := form.read(token))]
    return found + proposed(token, trials)


def proposed(token: str, trials: Iterable[Trial]) -> list[Proposal]:
    """Everything that a token could mean by some schemes, in their order."""
    found: list[Proposal] = []
    for fits, propose in trials:
        if fits(token):
            found += propose(token)
    return found
