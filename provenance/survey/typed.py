"""How a marking of several lines is typed and shown on one: ``LF353N / 8021``.

Knows where a line of a marking ends. Light to import, so that reading one marking starts fast.
"""

from __future__ import annotations

import re

_LINE_END = re.compile(r"\r\n|\r|\n|\s/\s")
"""Every line end has one of these."""


def typed_marking(text: str) -> str:
    """A marking as typed, its lines joined by line ends; ' / ' ends a line too.

    >>> typed_marking("LF353N / 8021 ")
    'LF353N\\n8021'
    """
    if "/" not in text and "\n" not in text and "\r" not in text:
        return text.strip()
    return "\n".join(line for piece in _LINE_END.split(text) if (line := piece.strip()))


def on_one_line(text: str) -> str:
    """The way back: lines with ' / ' between them.

    >>> on_one_line("LF353N\\n8021")
    'LF353N / 8021'
    """
    return " / ".join(line.strip() for line in text.splitlines())
