"""Text of a survey file to plain data, every scalar as typed, with the line of every key.

Knows YAML, JSON and CSV as notations, and their traps: values that a reader would turn into
numbers, keys given twice, aliases that grow without end, marks cut off by a comment. Knows
nothing about what a survey holds beyond the column names of a CSV and where markings stand.
"""

from __future__ import annotations

import csv
import io
import json
import re
from collections import Counter
from collections.abc import Callable, Iterator, Sequence
from functools import cached_property
from typing import Any

import yaml

from provenance.errors import SurveyError
from provenance.survey.slips import QUOTE_IT, TIGHT_COLON, likely_slip, quoted, spaced
from provenance.survey.wording import CONTROL, NO_MARKING, nearest, one_of, shown

Path = tuple[str | int, ...]

DEEPEST = 20
"""Most levels of nesting; a machine with its boards written out needs 9."""
MOST_VALUES = 150_000
"""Most keys and values in one file: 5,000 parts with every field need 70,000."""
COLUMNS = ("ref", "marking", "section", "mount", "joints", "note")

_EVENTS: Any = getattr(yaml, "CSafeLoader", yaml.SafeLoader)
_LINE_END = re.compile(r"\r\n|[\n\r\x85\u2028\u2029]")
_CURLED = ("\u201c", "\u201d", "\u201e", "\u00ab")
"""Quotes as a word processor writes them; no marking begins with one."""
_TIGHT_COMMENT = re.compile(r"\s*#[^\s#]")
"""A comment without a blank after its #: in a marking, more likely a part of it."""
_FIGURES_COMMENT = re.compile(r"\s*#\s+[^\s#]*[0-9]{3}[^\s#]*\s*$")
"""A comment of one word with so many figures as a date code has: the same."""


class Document:
    """A file's plain data (mappings, lists, text, None) and the line of each key and item."""

    def __init__(self, data: Any, lines: Callable[[], dict[Path, int]]) -> None:
        self.data = data
        self._find_lines = lines

    @cached_property
    def lines(self) -> dict[Path, int]:
        """The line of every key and list item, by its place; empty where they are not known."""
        return self._find_lines()

    def line(self, place: Path) -> int | None:
        """The line of a place, or of the nearest place above it."""
        for length in range(len(place), 0, -1):
            if (line := self.lines.get(place[:length])) is not None:
                return line
        return None


def in_words(place: Path) -> str:
    """A place in a survey as a person would say it.

    >>> in_words(("evidence", 1, "date"))
    'evidence 2 > date'
    """
    words: list[str] = []
    for step in place:
        if isinstance(step, int):
            words[-1:] = [f"{words[-1]} {step + 1}" if words else str(step + 1)]
        else:
            words.append(shown(step))
    return " > ".join(words)


def refuse_control_characters(text: str, file: str) -> None:
    """Raise SurveyError at the first character that no one typed."""
    if (found := CONTROL.search(text)) is not None:
        raise SurveyError(
            f"holds the control character {shown(found[0])}",
            file,
            len(_LINE_END.findall(text, 0, found.start())) + 1,
            None,
            "take it out; write ? for a character that cannot be read",
        )


# ---- YAML ------------------------------------------------------------------------------------


def yaml_document(text: str, file: str) -> Document:
    """The data of a YAML text. Raises SurveyError.

    Works on the parser's events, so that no value is resolved to anything but text, no tag makes
    an object, and no alias is followed.
    """
    data, lines = _Yaml(text, file).read()
    return Document(data, lambda: lines)


class _Yaml:
    """One reading of one YAML text: the containers that are open, and the lines seen."""

    def __init__(self, text: str, file: str) -> None:
        self.text = text
        self.file = file
        self.text_lines = _LINE_END.split(text)
        self.lines: dict[Path, int] = {}
        self.root: Any = None
        self.open: list[tuple[Any, Path]] = []
        self.key: str | None = None
        self.key_end: Any = None
        self.values = 0
        self.documents = 0

    def read(self) -> tuple[Any, dict[Path, int]]:
        try:
            for event in yaml.parse(self.text, Loader=_EVENTS):
                self._take(event)
        except yaml.YAMLError as error:
            raise self._not_yaml(error) from None
        return self.root, self.lines

    def _take(self, event: Any) -> None:
        line = event.start_mark.line + 1
        if isinstance(event, yaml.DocumentStartEvent):
            self.documents += 1
            if self.documents > 1:
                raise self._error(
                    "holds more than one document", line, "keep one survey in a file, without ---"
                )
        elif isinstance(event, yaml.AliasEvent):
            raise self._error(
                f"a * makes this an alias of YAML ('*{shown(str(event.anchor))}'), "
                "which a survey does not use",
                line,
                QUOTE_IT if self._at_value() else "write the value out where it is needed",
            )
        elif isinstance(event, yaml.NodeEvent):
            self._node(event, line)
        elif isinstance(event, yaml.CollectionEndEvent):
            self.open.pop()

    def _node(self, event: Any, line: int) -> None:
        if event.anchor is not None:
            raise self._error(
                f"an & makes '&{shown(event.anchor)}' an anchor of YAML, "
                "which a survey does not use",
                line,
                QUOTE_IT if self._at_value() else "write the value out where it is needed",
            )
        if event.tag is not None and not (isinstance(event, yaml.ScalarEvent) and event.tag == "!"):
            raise self._error(
                f"an ! makes '{shown(event.tag)}' a tag of YAML, which a survey does not use",
                line,
                QUOTE_IT,
            )
        self.values += 1
        if self.values > MOST_VALUES:
            raise self._error(
                f"holds more than {MOST_VALUES:,} values",
                line,
                "make one survey for each board",
                (),
            )
        if isinstance(event, yaml.ScalarEvent):
            self._scalar(event, line)
        else:
            self._container({} if isinstance(event, yaml.MappingStartEvent) else [], line)

    def _scalar(self, event: Any, line: int) -> None:
        text: str = event.value
        if self.open and isinstance(self.open[-1][0], dict) and self.key is None:
            self._take_key(text, line)
            self.key_end = event.end_mark
            return
        place = self._place()
        plain = not event.style
        behind = self._behind(event.end_mark)
        if plain and is_marking(place) and text.startswith(_CURLED):
            raise self._error(
                f"YAML takes {text[0]} for a part of the text, not for a quote",
                line,
                f"{QUOTE_IT}, with the straight quotes of the keyboard",
                place,
            )
        tight = _TIGHT_COMMENT.match(behind)
        if plain and is_marking(place) and (tight or _FIGURES_COMMENT.match(behind)):
            lost, sign = shown(behind.strip()), "#" if tight else "# "
            other = "a blank after # if it is a comment" if tight else "a comment on its own line"
            raise self._error(
                f"YAML takes '{lost}' for a comment, so it would be lost",
                line,
                f'put the whole marking in quotes, such as U31: "XR4558 {sign}7923", or {other}',
                place,
            )
        if plain and not text:
            if not place:
                return
            raise self._error(
                "has no value",
                line,
                self._split_by_a_comma() or self._no_value(place),
                place,
            )
        self._put(text, line)

    def _take_key(self, text: str, line: int) -> None:
        mapping, place = self.open[-1]
        key = text.strip()
        if not key:
            raise self._error("a key is empty", line, "write a name before the colon", place)
        if key in mapping:
            raise duplicate((*place, key), self.file, line, self.lines.get((*place, key)))
        self.key = key
        self.lines[(*place, key)] = line

    def _container(self, container: Any, line: int) -> None:
        if self.open and isinstance(self.open[-1][0], dict) and self.key is None:
            raise self._error(
                "a key is a list or a mapping", line, "write a name before the colon", self._place()
            )
        if len(self.open) >= DEEPEST:
            raise self._too_deep(line)
        place = self._place()
        self._put(container, line)
        self.open.append((container, place))

    def _put(self, value: Any, line: int) -> None:
        """Set a finished scalar or a new container in its place."""
        place = self._place()
        if not self.open:
            self.root = value
        elif isinstance(self.open[-1][0], list):
            self.open[-1][0].append(value)
            self.lines[place] = line
        else:
            self.open[-1][0][self.key] = value
            self.key = None

    def _place(self) -> Path:
        if not self.open:
            return ()
        container, place = self.open[-1]
        if isinstance(container, list):
            return (*place, len(container))
        return place if self.key is None else (*place, self.key)

    def _block(self, line: int) -> Path:
        """The place of the open block that a line without a known key belongs to."""
        if not self.open or not self.text_lines[line][:1].isspace():
            return ()
        return self._place() if self.key else self.open[-1][1]

    def _behind(self, mark: Any) -> str:
        """The rest of the line; at the end of the text a mark may stand on a line that is not."""
        return self.text_lines[mark.line][mark.column :] if mark.line < len(self.text_lines) else ""

    def _at_value(self) -> bool:
        return is_marking(self._place())

    def _split_by_a_comma(self) -> str | None:
        """The fix for a key without a colon: inside braces, mostly the rest of a value."""
        if self.key is None or self._behind(self.key_end).lstrip().startswith(":"):
            return None
        if tight := TIGHT_COLON.match(self.key):
            return spaced(tight)
        before = list(self.open[-1][0].items())[-1:]
        if not before or not isinstance(before[0][1], str):
            return None
        name, value = before[0]
        return f"a comma inside braces ends a value: {quoted(name, f'{value}, {self.key}')}"

    @staticmethod
    def _no_value(place: Path) -> str:
        if is_marking(place):
            return NO_MARKING
        if place[-3:-2] == ("parts",):
            return "write a value, or put a marking that begins with { in quotes"
        return "write a value, or take the line out"

    def _error(self, message: str, line: int, fix: str, place: Path | None = None) -> SurveyError:
        where = self._place() if place is None else place
        return SurveyError(message, self.file, line, in_words(where) or None, fix)

    def _too_deep(self, line: int) -> SurveyError:
        return SurveyError(
            f"is nested more than {DEEPEST} levels deep",
            self.file,
            line,
            None,
            "check the brackets",
        )

    def _not_yaml(self, error: yaml.YAMLError) -> SurveyError:
        """What is wrong with the notation, at the last key before it on the line to be mended."""
        slip = likely_slip(error, self.text_lines)
        problem = getattr(error, "problem", None) or "cannot be read"
        if "nesting" in problem:
            return self._too_deep(slip.line + 1 if slip else 0)
        if slip is None:
            return SurveyError(f"is not valid YAML: {shown(problem)}", self.file)
        line = slip.line + 1
        there = [place for place, known in self.lines.items() if known == line]
        return SurveyError(
            f"is not valid YAML: {slip.problem}",
            self.file,
            line,
            in_words(there[-1] if there else self._block(slip.line)) or None,
            slip.fix,
        )


def is_marking(place: Path) -> bool:
    """Whether a value at this place is (part of) a marking."""
    keys = [step for step in place if isinstance(step, str)]
    return bool(keys) and (keys[-1] == "marking" or (len(keys) > 1 and keys[-2] == "parts"))


def duplicate(place: Path, file: str, line: int | None, first: int | None) -> SurveyError:
    """The error for a key that is given twice."""
    earlier = f", first on line {first}" if first is not None else ""
    of_a_part = len(place) > 1 and place[-2] == "parts"
    return SurveyError(
        f"the {'reference' if of_a_part else 'key'} is given twice{earlier}",
        file,
        line,
        in_words(place),
        "give each part its own reference; one of the two may be misread"
        if of_a_part
        else "keep one of the two",
    )


# ---- JSON ------------------------------------------------------------------------------------


class _TwiceError(Exception):
    """A key that JSON gives twice in one object."""


def json_document(text: str, file: str) -> Document:
    """The data of a JSON text, numbers and booleans as typed. Raises SurveyError."""

    def pairs(items: list[tuple[str, Any]]) -> dict[str, Any]:
        mapping = {key.strip(): value for key, value in items}
        if len(mapping) < len(items):
            keys = Counter(key.strip() for key, _ in items)
            raise _TwiceError(next(key for key, count in keys.items() if count > 1))
        return mapping

    try:
        data = json.loads(
            text, object_pairs_hook=pairs, parse_int=str, parse_float=str, parse_constant=str
        )
        data = _as_text(data, DEEPEST)
    except _TwiceError as error:
        # The YAML reader reads JSON too, and knows the line.
        yaml_document(text, file)
        raise duplicate((str(error),), file, None, None) from None
    except json.JSONDecodeError as error:
        raise SurveyError(
            f"is not valid JSON: {error.msg}",
            file,
            error.lineno,
            None,
            "check the commas, brackets and quotes on this line and the one before",
        ) from None
    except RecursionError:
        raise SurveyError(
            f"is nested more than {DEEPEST} levels deep", file, None, None, "check the brackets"
        ) from None

    def lines() -> dict[Path, int]:
        try:
            return yaml_document(text, file).lines
        except SurveyError:
            return {}

    return Document(data, lines)


def _as_text(value: Any, levels: int) -> Any:
    """JSON's true and false as typed; nested no deeper than a survey may be."""
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, dict | list) and not levels:
        raise RecursionError
    if isinstance(value, dict):
        return {key: _as_text(item, levels - 1) for key, item in value.items()}
    if isinstance(value, list):
        return [_as_text(item, levels - 1) for item in value]
    return value


# ---- CSV -------------------------------------------------------------------------------------


def csv_document(text: str, file: str, title: str) -> Document:
    """The data of a parts list in CSV, separated by comma, semicolon or tab. Raises SurveyError.

    ``title`` names the board, which a parts list cannot.
    """
    start = 0
    if re.match(r"sep=.\r?\n", text, re.IGNORECASE):  # A spreadsheet's hint to itself.
        text, start = text.split("\n", 1)[1], 1
    header_line = next((line for line in _LINE_END.split(text) if line.strip()), "")
    separator = max(",;\t", key=lambda char: _known_columns(header_line, char))
    rows = _rows(text, separator, file, start)
    _, header = next(rows, (1, []))
    columns = _columns(header, separator, file, start + 1)

    sections: dict[str, Any] = {}
    lines: dict[Path, int] = {("sections",): start + 1}
    seen: dict[str, int] = {}
    for line, row in rows:
        if len(row) > len(columns) and any(cell.strip() for cell in row[len(columns) :]):
            raise SurveyError(
                f"the row has {len(row)} cells under {len(columns)} column names",
                file,
                line,
                shown(row[0]) or None,
                "put a marking that holds the separator in double quotes",
            )
        cells = {
            name: cell.strip()
            for name, cell in zip(columns, row, strict=False)
            if name and cell.strip()
        }
        ref = cells.pop("ref", None)
        if ref is None:
            raise SurveyError(
                "the row has no reference", file, line, "ref", "write the part's reference"
            )
        if ref in seen:
            raise duplicate(("parts", ref), file, line, seen[ref])
        if "marking" not in cells:
            raise SurveyError(f"{shown(ref)} has no marking", file, line, "marking", NO_MARKING)
        seen[ref] = line
        name = cells.pop("section", "board")
        sections.setdefault(name, {"parts": {}})["parts"][ref] = cells
        lines.setdefault(("sections", name), line)
        lines["sections", name, "parts", ref] = line
    return Document({"board": {"title": title}, "sections": sections}, lambda: lines)


def _known_columns(header: str, separator: str) -> int:
    return sum(cell.strip(' "').casefold() in COLUMNS for cell in header.split(separator))


def _rows(text: str, separator: str, file: str, start: int) -> Iterator[tuple[int, list[str]]]:
    """Rows that hold anything, with the line on which each begins."""
    reader = csv.reader(io.StringIO(text, newline=""), delimiter=separator, strict=True)
    line = start + 1
    try:
        for row in reader:
            if any(cell.strip() for cell in row):
                yield line, row
            line = start + reader.line_num + 1
    except csv.Error as error:
        raise SurveyError(
            f"is not valid CSV: {error}",
            file,
            line,
            None,
            "close the quotes; a quote inside a cell is written twice",
        ) from None


def _columns(header: Sequence[str], separator: str, file: str, line: int) -> list[str]:
    """The column names of a header, in our spelling. Raises SurveyError for any other."""
    names = [cell.strip().casefold() for cell in header]
    needed = "the first line names the columns: ref,marking and, where noted, " + ",".join(
        COLUMNS[2:]
    )
    if not set(names) & set(COLUMNS):
        found = shown(separator.join(header))
        raise SurveyError(
            f"the first line is '{found}', not column names", file, line, None, needed
        )
    for name in names:
        if name and name not in COLUMNS:
            near = nearest(name, COLUMNS)
            raise SurveyError(
                f"there is no column '{shown(name)}'",
                file,
                line,
                shown(name),
                f"write {near}" if near else f"use {one_of(COLUMNS)}, and take other columns out",
            )
        if name and names.count(name) > 1:
            raise SurveyError(
                f"the column {name} is there twice", file, line, name, "keep one of the two"
            )
    for name in COLUMNS[:2]:
        if name not in names:
            raise SurveyError(f"the column {name} is missing", file, line, name, needed)
    return names
