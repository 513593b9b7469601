"""What the parts of one survey must agree on.

Knows the rules that no single field can check: names that refer to each other, references that
are used once, dates that are not in the future, evidence that can be true together. Each rule
yields what it finds; the first finding is reported. Cycles among relations are left to the graph.
"""

from __future__ import annotations

import re
from bisect import bisect_left
from collections.abc import Iterator, Mapping
from datetime import date, timedelta
from itertools import chain, islice
from typing import TYPE_CHECKING, NamedTuple

from provenance.markings.reader import read_date_code
from provenance.survey.dates import edtf_days
from provenance.survey.typed import on_one_line
from provenance.survey.wording import nearest, one_of, shown

if TYPE_CHECKING:
    from provenance.survey.model import Evidence, Survey

MOST_PARTS = 5_000
"""Most parts of one survey."""
MOST = {"sections": 500, "relations": 1_000, "evidence": 200, "works": 1_000, "houses": 100}
"""Most entries under a key: far more than a board has, few enough to check in a moment."""
EARLIEST = date(1950, 1, 1)
"""Earliest date taken for a work or a document: printed boards came into trade use about then
(memory); an earlier date is a slip of the keyboard far more often than a fact."""

_WORTH_NAMING = 0.02
"""A reading of a bare board's code that is less likely than this is left out of contradictions."""


_REFERENCE = re.compile(r"([A-Za-z]{1,4}) ?(\d{1,6})[A-Za-z]?")
"""A reference designator: the letters of its class, a number, perhaps the letter of a unit
(IEEE 315-1975, clause 22; from memory)."""
_RANGE = re.compile(
    r"([A-Za-z]{1,4}) ?(\d{1,6})\s*(?:[-\u2010-\u2015\u2026]|\.{2,3}|to)\s*([A-Za-z]*) ?(\d{1,6})"
)
"""From one reference to another, or to a number: U1-U8, U1..U8, U1 to 8."""
_BETWEEN = re.compile(r"\s*[,;/&+]\s*|\s+and\s+|\s+")
"""What people put between two references."""
_MOST_SPELT_OUT = 12
"""Most references that one fix writes out."""
_SLIP = 0.75
"""How like a section's name a name is that was meant for it: two letters exchanged in a name of
four (``difflib.SequenceMatcher``)."""
_MOST_STRANGE = 200
"""Most names of a survey's works that are held against the names of its sections."""


class Disagreement(NamedTuple):
    """What does not agree, the likely fix, and where in the survey."""

    problem: str
    fix: str
    at: tuple[str | int, ...]


def first_disagreement(survey: Survey) -> Disagreement | None:
    """The first thing in a survey that cannot be so, or None where all agrees."""
    return next(
        chain(
            _sizes(survey),
            _parts(survey),
            _references(survey),
            _names(survey),
            _works(survey),
            _dates(survey),
            _evidence(survey),
        ),
        None,
    )


def _sizes(survey: Survey) -> Iterator[Disagreement]:
    for key, most in MOST.items():
        count = len(getattr(survey, key))
        if count > most:
            yield Disagreement(
                f"holds {count:,} entries; {most:,} is the most",
                "make one survey for each board",
                (key,),
            )


def _parts(survey: Survey) -> Iterator[Disagreement]:
    count = sum(len(section.parts) for section in survey.sections.values())
    if not count:
        yield Disagreement(
            "the survey holds no markings at all",
            "list at least one part under sections, such as "
            'sections: {main: {parts: {U1: "XR4558 7923"}}}',
            ("sections",),
        )
    if count > MOST_PARTS:
        yield Disagreement(
            f"the survey holds {count:,} parts; {MOST_PARTS:,} is the most",
            "make one survey for each board",
            ("sections",),
        )


def _references(survey: Survey) -> Iterator[Disagreement]:
    """A reference is unique on a board."""
    home: dict[str, str] = {}
    for name, section in survey.sections.items():
        for ref in section.parts:
            if ref in home:
                yield Disagreement(
                    f"the reference {shown(ref)} is used twice: in section '{shown(home[ref])}' "
                    f"and in section '{shown(name)}'",
                    "give each part its own reference; one of the two may be misread",
                    ("sections", name, "parts", ref),
                )
            home[ref] = name


def _names(survey: Survey) -> Iterator[Disagreement]:
    """Sections that are spoken of exist."""
    spoken_of = [
        (name, ("relations", index))
        for index, relation in enumerate(survey.relations)
        for name in (relation.subject, relation.object)
    ] + [
        (evidence.section, ("evidence", index, "section"))
        for index, evidence in enumerate(survey.evidence)
        if evidence.section is not None
    ]
    for name, at in spoken_of:
        if name not in survey.sections:
            near = nearest(name, survey.sections)
            yield Disagreement(
                f"there is no section '{shown(name)}'",
                f"write {shown(near)}"
                if near
                else f"use a name under sections: {shown(one_of(survey.sections))}",
                at,
            )
    for index, relation in enumerate(survey.relations):
        if relation.subject == relation.object:
            yield Disagreement(
                f"'{shown(relation.subject)}' is set against itself",
                "name two different sections",
                ("relations", index),
            )


def _works(survey: Survey) -> Iterator[Disagreement]:
    """What a work names is a section, a reference, or clearly something that was not surveyed.

    Else a slip would leave the parts that were meant out of the work, and nobody would know.
    """
    refs = [ref for section in survey.sections.values() for ref in section.parts]
    known = {*survey.sections, *refs}
    as_typed = {_plain(name): name for name in known}
    numbered = _numbered(refs)
    strange: list[tuple[str, tuple[str | int, ...]]] = []
    for index, work in enumerate(survey.works):
        for number, name in enumerate(work.parts):
            if name in known:
                continue
            at: tuple[str | int, ...] = ("works", index, "parts", number)
            if (meant := as_typed.get(_plain(name))) is not None:
                yield Disagreement(
                    f"there is no '{shown(name)}' in the survey", f"write {shown(meant)}", at
                )
            elif within := _within(name, numbered):
                more = f" and so on to {shown(within[-1])}" if len(within) > _MOST_SPELT_OUT else ""
                yield Disagreement(
                    f"'{shown(name)}' is a range, so none of the parts in it would count",
                    f"write [{', '.join(map(shown, within[:_MOST_SPELT_OUT]))}]{more}",
                    at,
                )
            elif len(several := _BETWEEN.split(name)) > 1 and _names_parts(several, known):
                yield Disagreement(
                    f"'{shown(name)}' is several names in one, so none of them would count",
                    f"write [{', '.join(map(shown, several))}]",
                    at,
                )
            elif not _REFERENCE.fullmatch(name):
                strange.append((name, at))
    for name, at in islice(strange, _MOST_STRANGE):
        near = nearest(name, survey.sections, _SLIP)
        if near and not _is_another(name.casefold().split(), near.casefold().split()):
            yield Disagreement(
                f"there is no section '{shown(name)}'",
                f"did you mean {shown(near)}? If not, say in other words what was worked on",
                at,
            )


def _is_another(words: list[str], near: list[str]) -> bool:
    """Whether a name is like a section's since it is told from it, not since it is misspelt.

    'main fuse' is a thing in the section 'main', and 'voice 3' is not 'voice 2'.
    """
    if set(near) <= set(words):
        return True
    return len(words) == len(near) and all(
        one == other or len(one) == len(other) == 1 or (one.isdecimal() and other.isdecimal())
        for one, other in zip(words, near, strict=True)
    )


def _plain(name: str) -> str:
    return re.sub(r"\s+", "", name).casefold()


def _numbered(refs: list[str]) -> dict[str, list[tuple[int, str]]]:
    """The references of each class of parts, in the order of their numbers."""
    found: dict[str, list[tuple[int, str]]] = {}
    for ref in refs:
        if match := _REFERENCE.fullmatch(ref):
            found.setdefault(match[1].casefold(), []).append((int(match[2]), ref))
    return {letters: sorted(entries) for letters, entries in found.items()}


def _within(name: str, numbered: Mapping[str, list[tuple[int, str]]]) -> list[str]:
    """The references of the survey that a range takes in; none where it is not a range."""
    match = _RANGE.fullmatch(name)
    if match is None or match[3].casefold() not in ("", match[1].casefold()):
        return []
    low, high = sorted((int(match[2]), int(match[4])))
    entries = numbered.get(match[1].casefold(), [])
    first, end = bisect_left(entries, (low, "")), bisect_left(entries, (high + 1, ""))
    return [ref for _, ref in entries[first:end]]


def _names_parts(names: list[str], known: set[str]) -> bool:
    """Whether all are references or names of the survey, and at least one is in it."""
    return any(name in known for name in names) and all(
        name in known or _REFERENCE.fullmatch(name) for name in names
    )


def _dates(survey: Survey) -> Iterator[Disagreement]:
    """Nothing recorded is later than the survey, and nothing earlier than printed boards."""
    # A day of grace: the survey may have been written where the day begins earlier.
    if survey.today is not None and survey.today > date.today() + timedelta(days=1):
        yield Disagreement(
            f"the day of the survey, {survey.today.isoformat()}, is in the future",
            "correct it, or take it out to use the current day",
            ("today",),
        )
    dated: list[tuple[str | None, tuple[str | int, ...]]] = [
        (survey.production, ("production",)),
        *(
            (evidence.date, ("evidence", index, "date"))
            for index, evidence in enumerate(survey.evidence)
        ),
        *((work.date, ("works", index, "date")) for index, work in enumerate(survey.works)),
    ]
    for text, at in dated:
        if text is None:
            continue
        days = edtf_days(text)
        ends = text.split("/")
        latest = edtf_days(ends[-1]).first if ends[-1] not in ("", "..") else days.first
        if latest is not None and latest > survey.day():
            yield Disagreement(
                f"the date {text} is in the future; "
                f"the day of the survey is {survey.day().isoformat()}",
                "a date code belongs under marking:; a date begins with the year in full"
                if text.isdecimal()
                else "correct the date, or today: if the survey's own day is wrong",
                at,
            )
        earliest = days.first or days.last
        if earliest is not None and earliest < EARLIEST:
            yield Disagreement(
                f"the date {text} is before {EARLIEST.year}, too early for such a board",
                "correct the year",
                at,
            )


def _evidence(survey: Survey) -> Iterator[Disagreement]:
    """Documents and codes that cannot be true together; one open to doubt contradicts nothing."""
    bounds = [
        (index, evidence, *_bounds(evidence, survey))
        for index, evidence in enumerate(survey.evidence)
        if evidence.reliability in (None, 1.0)
    ]
    for low, early, earliest, _ in bounds:
        for high, late, _, latest in bounds:
            if low == high or earliest is None or latest is None or earliest <= latest:
                continue
            # What a document says of a section bounds that section, not the board: 'not before'
            # of an expander leaves the board free, 'in use by' of one bounds the board too.
            if early.section is not None and early.section != late.section:
                continue
            if late.kind == "inspection stamp" and early.kind != "bare board code":
                continue
            yield Disagreement(
                f"{_named(low, early)} and {_named(high, late)} cannot both be right: "
                f"the first allows nothing before {earliest.isoformat()}, "
                f"the second nothing after {latest.isoformat()}",
                "correct one, or give the doubtful one a reliability below 1",
                ("evidence", max(low, high)),
            )


def _bounds(evidence: Evidence, survey: Survey) -> tuple[date | None, date | None]:
    """The earliest and latest day of fitting that one piece of evidence allows, if certain."""
    days = evidence.days()
    if days is None:
        code = evidence.marking if evidence.kind == "bare board code" else None
        return (_code_start(code, survey) if code else None), None
    if not days.certain:
        return None, None
    from_below = evidence.kind == "bare board code" or evidence.says == "not before"
    from_above = evidence.kind == "inspection stamp" or evidence.says == "in use by"
    both = evidence.says in ("built on", "built between")
    return (
        days.first if from_below or both else None,
        days.last if from_above or both else None,
    )


def _code_start(marking: str, survey: Survey) -> date | None:
    """The first day that a bare board's code allows under every reading worth naming.

    None where the code may well hold no date, so that only what is beyond doubt contradicts.
    """
    found = read_date_code(marking, today=survey.day(), houses=survey.houses)
    likely = [
        reading.first
        for reading in found.readings
        if reading.probability >= _WORTH_NAMING * (1 - found.no_date)
    ]
    return min(likely) if likely and found.no_date < 0.5 else None


def _named(index: int, evidence: Evidence) -> str:
    what = evidence.date or on_one_line(evidence.marking or "")
    says = f", {evidence.says}" if evidence.says else ""
    return f"evidence {index + 1} ({evidence.kind}{says}, {shown(what)})"
