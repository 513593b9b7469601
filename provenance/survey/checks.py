"""What the parts of one survey must agree on.

Knows the rules that no single field can check: names that refer to each other, references that
are used once, dates that are not in the future, evidence that can be true together. Each rule
yields what it finds; the first finding is reported. Cycles among relations are left to the graph.
"""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date, timedelta
from itertools import chain
from typing import TYPE_CHECKING, NamedTuple

from provenance.markings.reader import read_marking
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
    found = read_marking(marking, today=survey.day(), houses=survey.houses)
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
