"""A scheme as a whole: what the reader and ``provenance schemes`` know of a way to write dates.

Knows which tokens are worth trying, by their shape and by expressions. Leaves what they mean to the
schemes themselves.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass
from datetime import date
from types import ModuleType
from typing import Any

from provenance.markings.expression import Expression
from provenance.markings.schemes.form import Forms
from provenance.markings.schemes.proposal import Proposal, makeup_of

Propose = Callable[[str], Iterator[Proposal]]


@dataclass(frozen=True, slots=True)
class Scheme:
    """One way of writing a date, as the reader and ``provenance schemes`` see it."""

    key: str
    name: str
    source: str
    lengths: tuple[int, int] | Mapping[str, tuple[int, int]]
    """Of the shortest and the longest token worth trying; by makeup, if it matters."""
    forms: Forms | None
    """What tokens of a shape can mean, if the scheme says it by the shape."""
    expressions: tuple[re.Pattern[str] | Expression, ...]
    """What is read fits one of these; none where that is not said."""
    propose: Propose
    write: Callable[[date], str]
    description: str

    @property
    def fits(self) -> Callable[[str], object]:
        """What tells quickly whether a token may be read at all: false where it cannot.

        The expression itself where there is one; every token passes where there is none, and where
        there are several, which ``propose`` tries in turn.
        """
        return self.expressions[0].fullmatch if len(self.expressions) == 1 else bool

    def is_worth_trying(self, sample: str) -> bool:
        """Whether tokens of the shape that a sample shows are long and short enough to be read."""
        if isinstance(self.lengths, tuple):
            shortest, longest = self.lengths
        else:
            shortest, longest = self.lengths.get(makeup_of(sample), (1, 0))
        return shortest <= len(sample) <= longest


def scheme_of(module: ModuleType | Any) -> Scheme:
    """The scheme that a module describes.

    Raises AttributeError where a name is missing, TypeError where its expressions are none.
    """
    expressions = tuple(getattr(module, "EXPRESSIONS", ()))
    if not all(isinstance(one, (re.Pattern, Expression)) for one in expressions):
        raise TypeError("EXPRESSIONS must be a tuple of compiled regular expressions")
    return Scheme(
        key=module.KEY,
        name=module.NAME,
        source=module.SOURCE,
        lengths=getattr(module, "LENGTHS", (1, 24)),
        forms=getattr(module, "forms", None),
        expressions=expressions,
        propose=module.propose,
        write=module.write,
        description=(module.__doc__ or module.NAME).strip(),
    )
