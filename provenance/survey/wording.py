"""How the survey words its errors: the nearest right name, names in a sentence, text made safe.

Knows no models and no files; everything here turns text into text, or into an error for pydantic
to carry.
"""

from __future__ import annotations

import difflib
import re
from collections.abc import Iterable

from pydantic_core import PydanticCustomError

from provenance.errors import safe
from provenance.survey.prose import listed

_LONGEST_SHOWN = 60
CONTROL = re.compile(r"[\x00-\x08\x0b\x0c\x0e-\x1f\x7f-\x84\x86-\x9f\ud800-\udfff\ufffe\uffff]")
"""Characters that no one typed, and that YAML 1.2 (5.1, printable characters) keeps out too."""

NO_MARKING = (
    "write what can be read with ? for each character that cannot, or ? alone where nothing can"
)
"""The fix wherever a part has no marking."""


def wrong(problem: str, fix: str = "", at: tuple[str | int, ...] = ()) -> PydanticCustomError:
    """An error for pydantic to report: the problem, the likely fix, and where below this place."""
    return PydanticCustomError("survey", "{problem}", {"problem": problem, "fix": fix, "at": at})


def nearest(name: str, names: Iterable[str], likeness: float = 0.6) -> str | None:
    """The right name that is most like a wrong one, or None where none is near.

    ``likeness``, from 0 to 1, is the least ratio of ``difflib`` that is near.

    >>> nearest("sokceted", ["soldered", "socketed"])
    'socketed'
    >>> nearest("stamp", ["bare board code", "inspection stamp"])
    'inspection stamp'
    """
    known = {candidate.casefold(): candidate for candidate in names}
    begun = [right for start, right in known.items() if start.startswith(name.casefold())]
    if name and len(begun) == 1:
        return begun[0]
    within = [right for whole, right in known.items() if f" {name.casefold()} " in f" {whole} "]
    if len(within) == 1:
        return within[0]
    found = difflib.get_close_matches(name.casefold()[:200], known, n=1, cutoff=likeness)
    return known[found[0]] if found else None


def one_of(names: Iterable[str]) -> str:
    """Names to choose from, in a sentence.

    >>> one_of(["factory", "hand", "unclear"])
    'factory, hand or unclear'
    """
    return listed(names, last="or")


def article(noun: str) -> str:
    """A noun with its article."""
    return f"an {noun}" if noun[0] in "aeiou" else f"a {noun}"


def shown(text: str) -> str:
    """Text from a file, made fit for a terminal: short, one line, no control characters.

    >>> shown("U1\\x1b[31m")
    'U1\\\\x1b[31m'
    """
    return safe(text if len(text) <= _LONGEST_SHOWN else text[: _LONGEST_SHOWN - 3] + "...")
