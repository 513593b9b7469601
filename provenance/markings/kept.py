"""What is worked out once and kept, because a long list asks for it again and again."""

from __future__ import annotations

from collections.abc import Callable, Hashable
from typing import TypeVar

Key = TypeVar("Key", bound=Hashable)
Value = TypeVar("Value")


class Kept(dict[Key, Value]):
    """A value for each key, worked out when it is first looked up.

    All are dropped when there are ``most``, so that memory stays flat whatever the list. A plain
    dictionary with this one rule, because to look into it costs a fraction of a call.

    >>> lengths = Kept(len, most=2)
    >>> lengths["7841"], lengths["H7841"], lengths["841"], dict(lengths)
    (4, 5, 3, {'841': 3})
    """

    def __init__(self, work_out: Callable[[Key], Value], most: int) -> None:
        super().__init__()
        self._work_out = work_out
        self._most = most

    def __missing__(self, key: Key) -> Value:
        if len(self) >= self._most:
            self.clear()
        value = self[key] = self._work_out(key)
        return value
