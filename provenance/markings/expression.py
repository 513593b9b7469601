"""Regular expressions that are compiled when they are first used.

A marking needs few of the expressions that the reader knows, and to compile one takes longer than
to read with it.
"""

from __future__ import annotations

import re
from collections.abc import Callable
from functools import cached_property


class Expression:
    """A regular expression, compiled on first use.

    >>> Expression("[0-9]{4}").fullmatch("7841")[0]
    '7841'
    """

    def __init__(self, pattern: str) -> None:
        self.pattern = pattern

    @cached_property
    def compiled(self) -> re.Pattern[str]:
        """The expression as the library compiles it."""
        return re.compile(self.pattern)

    @cached_property
    def fullmatch(self) -> Callable[[str], re.Match[str] | None]:
        """Its ``fullmatch``, at no further cost from the second use on."""
        return self.compiled.fullmatch
