"""What a person most likely typed wrong where YAML cannot be read.

Knows YAML's complaints with their marks, and the slips behind them: quotes or brackets left open, a
colon without a blank, no colon at all, a wrong indentation, a value that needs quotes. Leaves the
reading, and the place in the survey, to ``syntax``.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from typing import Any, NamedTuple

from provenance.survey.wording import one_of, shown

QUOTE_IT = 'put it in quotes, such as U31: "XR4558 7923"'
TIGHT_COLON = re.compile(r"\s*(?:- +)?([^\s:#\"'{\[][^:#]*):([^\s:].*)")
"""A key whose colon has no blank behind it, which YAML takes for a part of the text."""

_VALUE = re.compile(r"\s*(?:- +)?([^\s:#][^:#]*): +(\S.*?)\s*(?: #.*)?")
_LEAVES_OPEN = {
    '"': re.compile(r'(?:^|[:,\[{-])\s*"(?:[^"\\]|\\.)*$'),
    "'": re.compile(r"(?:^|[:,\[{-])\s*'(?:[^']|'')*$"),
}
"""A line on which a value's quotes open and do not close, for each kind of quote."""
_SECOND_COLON = "a value that is not in quotes holds a colon with a blank behind it"
_SIGNS = "-?|>@%`"
"""Characters with which YAML begins something other than a text (YAML 1.2, 5.3)."""
_LONGEST_EXAMPLE = 60


class Slip(NamedTuple):
    """The line (from 0) that is to be mended, what is wrong with it, and the likely fix."""

    line: int
    problem: str
    fix: str


class _Stop(NamedTuple):
    """Where YAML gave up, in what it was at that time and since which line; lines from 0."""

    lines: Sequence[str]
    line: int
    column: int
    problem: str
    context: str
    since: int

    @property
    def before(self) -> str:
        """What stands on the line before the place."""
        return self.lines[self.line][: self.column]

    @property
    def char(self) -> str:
        return self.lines[self.line][self.column : self.column + 1]

    def above(self, line: int) -> int | None:
        """The nearest line above one that holds more than a comment."""
        held = (n for n in range(line - 1, -1, -1) if self.lines[n].split("#")[0].strip())
        return next(held, None)


def likely_slip(error: Any, lines: Sequence[str]) -> Slip | None:
    """The slip behind an error of the YAML library; None where the error names no line."""
    begun = getattr(error, "context_mark", None)
    mark = getattr(error, "problem_mark", None) or begun
    if mark is None:
        return None
    # At the end of the text a mark may stand on a line that is not.
    line, since = (min(at.line, len(lines) - 1) for at in (mark, begun or mark))
    stop = _Stop(lines, line, mark.column, str(error.problem), str(error.context), since)
    rules = (_tab, _escape, _open_quote, _behind_quotes, _colon, _bracket, _indentation)
    return next((slip for rule in rules if (slip := rule(stop))), None) or _other(stop)


def quoted(key: str, value: str) -> str:
    """The fix that puts a value in quotes, shown on the value itself where it fits.

    >>> quoted("title", "Mixer: main board")
    'put it in quotes, such as title: "Mixer: main board"'
    """
    if len(key) + len(value) > _LONGEST_EXAMPLE or '"' in value or "\\" in value:
        return QUOTE_IT
    return f'put it in quotes, such as {shown(key)}: "{shown(value)}"'


def spaced(tight: re.Match[str]) -> str:
    """The fix that puts a blank behind a colon, shown on what ``TIGHT_COLON`` found."""
    return f"put a blank behind the colon, such as {shown(tight[1])}: {shown(tight[2])}"


def _tab(stop: _Stop) -> Slip | None:
    for line in (stop.line, stop.line - 1):
        if line >= 0 and re.match(r" *\t", stop.lines[line]):
            return Slip(line, "a tab indents the line", "indent with blanks")
    if stop.char == "\t":
        return Slip(stop.line, "a tab stands where a blank belongs", "put a blank in its place")
    return None


def _escape(stop: _Stop) -> Slip | None:
    if "escape" not in stop.problem:
        return None
    fix = "put the value in single quotes, such as U31: 'XR4558 7923'"
    return Slip(stop.line, shown(stop.problem), fix)


def _open_quote(stop: _Stop) -> Slip | None:
    """Quotes left open run on to the next quote, so that YAML stumbles over what follows it."""
    to_the_end = "quoted scalar" in stop.context
    closed = stop.since if to_the_end else stop.line
    opened = closed if to_the_end else None
    for quote, leaves_open in _LEAVES_OPEN.items():
        if quote in stop.lines[closed]:
            nearest = next((n for n in range(closed - 1, -1, -1) if quote in stop.lines[n]), None)
            if nearest is not None and leaves_open.search(stop.lines[nearest]):
                opened = nearest
    if opened is None:
        return None
    return Slip(
        opened,
        "the quotes that open here are not closed",
        "close the quotes; a text that holds a quote goes between the other kind",
    )


def _behind_quotes(stop: _Stop) -> Slip | None:
    if "expected" not in stop.problem or not re.search(r"[\"']\s*$", stop.before):
        return None
    if stop.char in "]}":
        return None
    return Slip(
        stop.line,
        "text stands behind the closing quote",
        "put the whole value between one pair of quotes; "
        "a text that holds a quote goes between the other kind",
    )


def _colon(stop: _Stop) -> Slip | None:
    """A key that YAML took for text, since its colon or the blank behind that is missing."""
    if "unexpected ':'" in stop.problem:
        fix = "put a blank behind the colon, and a value behind that"
        return Slip(stop.line, "no blank stands behind the colon", fix)
    if "could not find expected ':'" in stop.problem:
        line: int | None = stop.since
    elif "mapping values" in stop.problem:
        line = stop.above(stop.line)
    else:
        return None
    if line is None:
        return None
    if tight := TIGHT_COLON.match(stop.lines[line]):
        return Slip(line, "no blank stands behind the colon", spaced(tight))
    over = stop.above(line)
    if ":" not in stop.lines[line] and (
        line == stop.since or over is None or stop.lines[over].split("#")[0].rstrip().endswith(":")
    ):
        return Slip(line, "no colon stands behind the name", "put a colon and a blank behind it")
    return None


def _bracket(stop: _Stop) -> Slip | None:
    if "flow" in stop.context:
        entry = re.split(r"[,{\[]", stop.before)[-1]
        if stop.char == ":" and (value := _VALUE.fullmatch(entry)):
            rest = re.split(r"[,\]}]", stop.lines[stop.line][stop.column :])[0]
            return Slip(
                stop.line,
                _SECOND_COLON,
                quoted(value[1], f"{value[2]}{rest}".strip()),
            )
        return Slip(
            stop.since,
            "the bracket that opens here is not closed",
            "close the bracket, or put a marking that begins with one in quotes",
        )
    if "expected" in stop.problem and stop.char in tuple("]}"):
        return Slip(
            stop.line, "this bracket closes none", "take it out, or put the value in quotes"
        )
    return None


def _indentation(stop: _Stop) -> Slip | None:
    here = _indent(stop.lines[stop.line])
    fix = "indent this line exactly like the lines beside it"
    if "mapping values" in stop.problem:
        above = stop.above(stop.line)
        if above is None or here <= _indent(stop.lines[above]) or re.search(r":\s", stop.before):
            return None
        fix = f"{fix}, or put a text of several lines in quotes"
    elif stop.before.strip() or not re.search(
        "expected (key|<block end>|'-' indicator)", stop.problem
    ):
        return None
    levels = _levels(stop)
    if here in levels:
        return Slip(
            stop.line,
            "lines with a dash and lines without one are mixed",
            "begin each item of a list with a dash and a blank, "
            "and indent the rest of it like the text behind its dash",
        )
    beside = one_of(str(level + 1) for level in levels)
    return Slip(
        stop.line,
        f"the line begins in column {here + 1}, the lines above it in {beside}",
        fix,
    )


def _indent(line: str) -> int:
    return len(line) - len(line.lstrip())


def _levels(stop: _Stop) -> list[int]:
    """The indentations of the blocks that are open above the line, from the left."""
    levels: list[int] = []
    line = stop.above(stop.line)
    while line is not None:
        dash = re.match(r"\s*- +", stop.lines[line])
        for level in (dash.end() if dash else None, _indent(stop.lines[line])):
            if level is not None and (not levels or level < levels[0]):
                levels.insert(0, level)
        line = stop.above(line)
    return levels


def _other(stop: _Stop) -> Slip:
    value = _VALUE.fullmatch(stop.lines[stop.line])
    if value is None:
        fix = "check the indentation, the colons and the quotes on this line and the one before"
        return Slip(stop.line, shown(stop.problem), fix)
    problem = shown(stop.problem)
    if "mapping values" in stop.problem:
        problem = _SECOND_COLON
    elif value[2][0] in _SIGNS:
        problem = f"a {value[2][0]} cannot begin a value that is not in quotes"
    return Slip(stop.line, problem, quoted(value[1], value[2]))
