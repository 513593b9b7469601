"""House date schemes: a pattern with named fields, and the years in which a house used it.

A user describes one in the survey or in a small YAML file, and it takes part like any other
scheme. Knows the pattern language; leaves probabilities to the reader.

The pattern is matched against one token, letter for letter, apart from these:

    {year4} {year2} {year1}   the year in full, its last two figures, its last figure
    {week} {day_of_year}      two figures; three figures
    {month} {day}             two figures each
    {month_letter}            A to M without I
    {month_sign}              1 to 9, then O, N, D or X, Y, Z or A, B, C
    {letters} {figures}       one to twelve letters or figures of no account
    #  @  *                   one figure, one letter, one character of no account

>>> house = house_of({"name": "studio A", "pattern": "K{year1}{week}-{figures}",
...                   "years": "1978/1984"})
>>> [(p.form, p.start, p.end, p.year, p.number) for p in house.propose("K841-203")]
[('house', 1, 4, 8, 41)]
>>> list(house.propose("K861-203")), list(house.propose("841"))
([], [])
>>> house_of({"name": "studio A", "pattern": "K{yeer}"})
Traceback (most recent call last):
    ...
provenance.errors.ProvenanceError: house scheme 'studio A': no field {yeer}; did you mean {year4}?
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from functools import lru_cache

from provenance.errors import ProvenanceError
from provenance.markings.schemes.proposal import Proposal
from provenance.markings.schemes.year_digit_month import MONTH_LETTERS
from provenance.weeks import parse_edtf_interval

_FIELDS = {
    "year4": "(?:19|20)[0-9]{2}",
    "year2": "[0-9]{2}",
    "year1": "[0-9]",
    "week": "[0-9]{2}",
    "day_of_year": "[0-9]{3}",
    "month": "[0-9]{2}",
    "day": "[0-9]{2}",
    "month_letter": "[A-HJ-M]",
    "month_sign": "[1-9OXANYBDZC]",
    "letters": "[A-Z]{1,12}",
    "figures": "[0-9]{1,12}",
}
_CYCLES = {"year4": 0, "year2": 100, "year1": 10}
_MONTHS = frozenset(["month", "month_letter", "month_sign"])
_PARTS = _MONTHS | {"week", "day_of_year"}
"""Fields of which a pattern has one at most."""
_MONTH_LETTER = {letter: place for place, letter in enumerate(MONTH_LETTERS, 1)}
_MONTH_SIGN = {str(month): month for month in range(1, 10)} | {
    "O": 10, "X": 10, "A": 10, "N": 11, "Y": 11, "B": 11, "D": 12, "Z": 12, "C": 12,
}  # fmt: skip
_SINGLE = {"#": "[0-9]", "@": "[A-Z]", "*": "."}
_KEYS = ("name", "pattern", "years", "source")


@dataclass(frozen=True, slots=True)
class House:
    """A date scheme of one house: its pattern, and the first and last year of its use."""

    name: str
    pattern: str
    first: int | None = None
    last: int | None = None
    source: str = ""

    def propose(self, token: str) -> Iterator[Proposal]:
        """Read a token as this house writes dates."""
        if not (match := _compiled(self).fullmatch(token)):
            return
        found = match.groupdict()
        cycle_name = next(name for name in _CYCLES if name in found)
        dated = [name for name in found if name not in ("letters", "figures")]
        start = min(match.start(name) for name in dated)
        end = max(match.end(name) for name in dated)
        unit, number = _unit(found)
        if number:
            year, cycle = int(found[cycle_name]), _CYCLES[cycle_name]
            yield Proposal("house", start, end, year, cycle, unit, number)


def _unit(found: Mapping[str, str]) -> tuple[str, int]:
    """The part of the year that the fields name; number 0 where it cannot be."""
    if "week" in found:
        week = int(found["week"])
        return "week", week if week <= 53 else 0
    if "day_of_year" in found:
        day = int(found["day_of_year"])
        return "ordinal", day if day <= 366 else 0
    if "month_letter" in found:
        month = _MONTH_LETTER[found["month_letter"]]
    elif "month_sign" in found:
        month = _MONTH_SIGN[found["month_sign"]]
    elif "month" in found:
        month = int(found["month"])
    else:
        return "year", 1
    if month > 12:
        return "month", 0
    if "day" in found:
        return "day", month * 100 + int(found["day"])
    return "month", month


@lru_cache(maxsize=256)
def _compiled(house: House) -> re.Pattern[str]:
    pieces: list[str] = []
    names: dict[str, None] = {}
    for piece in re.findall(r"\{[^{}]*\}|.", house.pattern):
        name = piece[1:-1] if len(piece) > 2 and piece[0] == "{" else ""
        if not name:
            pieces.append(_SINGLE.get(piece, re.escape(piece.upper())))
            continue
        if name not in _FIELDS:
            import difflib  # noqa: PLC0415 - only for the message

            near = difflib.get_close_matches(name, _FIELDS, n=1, cutoff=0.0)[0]
            raise _mistake(house.name, f"no field {{{name}}}; did you mean {{{near}}}?")
        if name in names:
            raise _mistake(house.name, f"the field {{{name}}} stands twice")
        names[name] = None
        pieces.append(f"(?P<{name}>{_FIELDS[name]})")
    if len(names.keys() & _CYCLES.keys()) != 1:
        raise _mistake(house.name, "the pattern needs one of {year4}, {year2} and {year1}")
    parts = [name for name in names if name in _PARTS]
    if len(parts) > 1:
        raise _mistake(
            house.name, f"{{{parts[0]}}} and {{{parts[1]}}} both say the part of the year"
        )
    if "day" in names and not _MONTHS.intersection(parts):
        raise _mistake(house.name, "the field {day} needs a month beside it")
    return re.compile("".join(pieces))


def _mistake(name: str, what: str) -> ProvenanceError:
    return ProvenanceError(f"house scheme {name!r}: {what}")


def house_of(entry: Mapping[str, object]) -> House:
    """A house scheme from a mapping: ``name``, ``pattern`` and, if known, ``years``, ``source``.

    ``years`` is an EDTF interval such as ``1978/1984`` or ``1978/..``. Raises ProvenanceError
    with a plain sentence for an unknown key or field, a missing name, or years that are no dates.
    """
    for key, value in entry.items():
        if not isinstance(value, str | int | None):
            raise _mistake("", f"{key} is not plain text")
    name = str(entry.get("name") or "")
    pattern = str(entry.get("pattern") or "").strip()
    if not name or not pattern:
        raise _mistake(name or "without a name", "it needs a name and a pattern")
    for key in entry:
        if key not in _KEYS:
            raise _mistake(name, f"unknown key {str(key)!r}; the keys are {', '.join(_KEYS)}")
    if len(pattern) > 80:
        raise _mistake(name, "the pattern is longer than 80 characters")
    first = last = None
    if years := str(entry.get("years") or "").strip():
        try:
            span = parse_edtf_interval(years)
        except ValueError as error:
            raise _mistake(name, f"years: {error}") from None
        first = span.first.year if span.first else None
        last = span.last.year if span.last else None
    house = House(name, pattern, first, last, str(entry.get("source") or ""))
    _compiled(house)
    return house


def houses_from_yaml(text: str) -> tuple[House, ...]:
    """The house schemes of a YAML text: a list of mappings, or a mapping with key ``houses``.

    Raises ProvenanceError where the text is no such list.
    """
    import yaml  # noqa: PLC0415 - only needed where a file of house schemes is used

    try:
        content = yaml.load(text, Loader=yaml.BaseLoader)
    except yaml.YAMLError as error:
        raise ProvenanceError(f"house schemes: not YAML: {error}") from None
    if isinstance(content, dict):
        content = content.get("houses")
    if not isinstance(content, list) or not all(isinstance(entry, dict) for entry in content):
        raise ProvenanceError("house schemes: expected a list of entries with name and pattern")
    return tuple(house_of(entry) for entry in content)
