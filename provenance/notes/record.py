"""The finding as records that other systems take in: Linked Art, CSV, JSON with its schema.

Knows the shape of each record. Works nothing out: the numbers are the finding's, and what a
person stated is carried as that person's statement. EDTF comes from ``provenance.weeks``.
"""

from __future__ import annotations

import csv
import io
import json
import re
from collections.abc import Iterable, Iterator
from datetime import date
from typing import TYPE_CHECKING, Any
from urllib.parse import quote
from uuid import NAMESPACE_OID, uuid5

from provenance.notes import words
from provenance.notes.bounded import bounded
from provenance.notes.note import evidence_said, note
from provenance.notes.observed import observed_part
from provenance.notes.spreadsheet import cell
from provenance.notes.statements import (
    despite_record,
    fitted_later,
    standings,
    told_claims,
    window,
)
from provenance.weeks import edtf_interval

if TYPE_CHECKING:
    from provenance.census.machine import MachineFinding
    from provenance.inference.finding import Finding, LaterWork, PartFinding, Window
    from provenance.notes.statements import Standing
    from provenance.survey.model import Board, KnownWork, Survey

Json = dict[str, Any]

CONTEXT = "https://linked.art/ns/v1/linked-art.json"
"""Source: Linked Art 1.0, JSON-LD context."""

AAT = "http://vocab.getty.edu/aat/"
TYPES: dict[str, tuple[str, str]] = {
    "primary name": ("300404670", "Primary Name"),
    "brief text": ("300418049", "Brief Text"),
    "markings": ("300435420", "Markings"),
    "provenance": ("300435438", "Provenance Statement"),
    "sources": ("300404764", "Source Statement"),
    "method": ("300265639", "Research Statement"),
    "production": ("300435436", "Production Statement"),
    "note": ("300027200", "Note"),
}
"""Terms of the Art and Architecture Thesaurus, by number. Source: the Linked Art vocabulary as
carried by the package cromulent 1.0.1 (vocab.py and vocab_classes.json)."""

ASSERTED_FROM = 0.5
"""A later work at least this probable is recorded as an event; a less probable one only in words.
A record has no place for a probability but text, so it must not assert what is not even likely."""

OUTER = 0.95
"""The window whose ends are the outer bounds of a time-span (CIDOC CRM P82a and P82b)."""

EXCHANGED = re.compile(r"\b(?:replac|renew|swap|exchang|chang|substitut|upgrad|re-?cap|re-?chip)")
"""How the words begin by which a work that fitted parts put them in the place of others. Whether it
fitted or removed any is the inference's to say; any other work is recorded as a modification with
nothing added or removed."""


# ---- Linked Art ------------------------------------------------------------------------------


def linked_art(finding: Finding, survey: Survey) -> Json:
    """The board as JSON-LD in the Linked Art profile of CIDOC CRM 7.1.

    The build is a Production; a later work that is more likely than not, a replaced part and a
    recorded work are each a Modification, made of part removals and part additions. What a person
    stated (maker, model, owner, remarks) is an AttributeAssignment by that person.
    """
    finding = bounded(finding)
    board = _board_id(finding)
    seen = {part.ref: observed_part(part) for part in survey.parts()}
    found = standings(finding, survey)
    # A work that names a part and did not fit it says nothing of its origin.
    marks = {ref for some in despite_record(finding, survey, found) for ref in some.refs}
    found = tuple(s._replace(recorded=s.recorded and s.part.ref not in marks) for s in found)
    more = (("years of production (EDTF)", survey.production), ("remarks", survey.notes))
    record: Json = {
        "@context": CONTEXT,
        "id": board,
        "type": "HumanMadeObject",
        "_label": words.visible(finding.title) or "Untitled board",
        "identified_by": identity_names(finding.title or "Untitled board", survey.board.serial),
        "produced_by": _production(finding, survey, board),
        "modified_by": [*_inferred(finding, survey, board), *_recorded(survey, board)],
        "part": [_part(s, board, seen.get(s.part.ref, "")) for s in found],
        "referred_to_by": _statements(finding, survey),
        "attributed_by": list(attributed(survey.board, more)),
    }
    return {key: value for key, value in record.items() if value}


def _board_id(finding: Finding) -> str:
    return f"urn:uuid:{uuid5(NAMESPACE_OID, finding.method.fingerprint)}"


def _type(name: str) -> Json:
    number, label = TYPES[name]
    return {"id": f"{AAT}{number}", "type": "Type", "_label": label}


def _plain_type(label: str) -> Json:
    return {"type": "Type", "_label": label}


def identity_names(title: str, serial: str | None) -> list[Json]:
    """The name of a board or a machine, and its serial number where it has one."""
    name = words.visible(title) or "Untitled"
    names = [{"type": "Name", "content": name, "classified_as": [_type("primary name")]}]
    if serial:
        number = {"type": "Identifier", "content": words.visible(serial)}
        names.append({**number, "classified_as": [_plain_type("serial number")]})
    return names


def statement(content: str, kind: str) -> Json:
    """A text about a thing, classified as one of TYPES."""
    brief = {**_type(kind), "classified_as": [_type("brief text")]}
    return {"type": "LinguisticObject", "content": content, "classified_as": [brief]}


def _time_span(first: date | None, last: date | None, edtf: str, label: str) -> Json:
    span: Json = {
        "type": "TimeSpan",
        "_label": label,
        "identified_by": [{"type": "Name", "content": edtf, "_label": "EDTF"}],
    }
    if first is not None:
        span["begin_of_the_begin"] = f"{first.isoformat()}T00:00:00Z"
    if last is not None:
        span["end_of_the_end"] = f"{last.isoformat()}T23:59:59Z"
    return span


def window_span(windows: Iterable[Window]) -> Json | None:
    """The 95 per cent window as a TimeSpan with its outer bounds; None where there is none."""
    # Of two of one probability, which a bound on the error can make, the wider.
    outer = window(reversed(tuple(windows)), OUTER)
    if outer is None:
        return None
    edtf = edtf_interval(outer.first, outer.last, approximate=True)
    label = f"{words.when(outer.first, outer.last)} ({words.percent(outer.probability)})"
    return _time_span(outer.first, outer.last, edtf, label)


def _production(finding: Finding, survey: Survey, board: str) -> Json:
    made: Json = {"id": f"{board}#build", "type": "Production", "_label": "Build"}
    if finding.build.dated and (span := window_span(finding.build.windows)):
        made["timespan"] = span
    return made | maker_stated(survey.board)


def maker_stated(board: Board) -> Json:
    """What a Production gains from the maker that a person named; nothing where none did."""
    if not board.maker:
        return {}
    maker = words.visible(board.maker)
    group = {"type": "Group", "_label": maker}
    return {"attributed_by": [_assignment("carried_out_by", group, f"maker: {maker}")]}


def _assignment(name: str, value: Json, label: str) -> Json:
    """A statement of the person who made the survey."""
    return {
        "type": "AttributeAssignment",
        "_label": f"Stated by the recorder: {label}",
        "carried_out_by": [{"type": "Actor", "_label": "The recorder of the survey"}],
        "assigned_property": name,
        "assigned": [value],
    }


def attributed(board: Board, more: Iterable[tuple[str, str | None]] = ()) -> Iterator[Json]:
    """What a person stated of a board or a machine, and ``more``, each with its label."""
    if board.owner:
        owner = words.visible(board.owner)
        yield _assignment("current_owner", {"type": "Actor", "_label": owner}, f"owner: {owner}")
    if board.place:
        place = words.visible(board.place)
        yield _assignment("current_location", {"type": "Place", "_label": place}, f"place: {place}")
    for label, value in (
        ("model", board.model),
        ("revision", board.revision),
        *more,
    ):
        if value:
            said = f"{label}: {words.visible(value)}"
            yield _assignment("referred_to_by", statement(said, "note"), said)


def _part_id(ref: str, board: str) -> str:
    return f"{board}#part-{quote(ref, safe='')}"


def _part(found: Standing, board: str, seen: str) -> Json:
    part = found.part
    return {
        "id": _part_id(part.ref, board),
        "type": "HumanMadeObject",
        "_label": f"{words.visible(part.ref)}, {words.visible(part.section)}",
        "identified_by": [
            {
                "type": "Identifier",
                "content": words.visible(part.ref),
                "classified_as": [_plain_type("reference on the board")],
            }
        ],
        "referred_to_by": [
            statement(words.visible(part.marking), "markings"),
            *([statement(seen, "note")] if seen else []),
            statement(_origin_text(found), "provenance"),
        ],
    }


def _origin_text(found: Standing) -> str:
    if found.recorded:
        return "A recorded work names this part."
    origin = found.part.origin
    return (
        f"Original {words.percent(origin.original)}, later work "
        f"{words.percent(origin.later_work)}, replaced on its own "
        f"{words.percent(origin.replacement)}."
    )


def _addition(ref: str, board: str) -> Json:
    added = {"id": _part_id(ref, board), "type": "HumanMadeObject", "_label": words.visible(ref)}
    return {
        "type": "PartAddition",
        "_label": f"Part fitted: {words.visible(ref)}",
        "augmented": {"id": board, "type": "HumanMadeObject"},
        "added": added,
    }


def _removal(ref: str, board: str) -> Json:
    removed = {
        "type": "HumanMadeObject",
        "_label": f"The part before {words.visible(ref)}",
    }
    return {
        "type": "PartRemoval",
        "_label": f"Part removed: {words.visible(ref)}",
        "diminished": {"id": board, "type": "HumanMadeObject"},
        "removed": removed,
    }


def _inferred(finding: Finding, survey: Survey, board: str) -> Iterator[Json]:
    every = standings(finding, survey)
    for said in told_claims(finding, every):
        if said.probability < ASSERTED_FROM:
            continue
        yield _modification(
            f"Later work: {said.subject}",
            window_span(said.work.windows),
            [_addition(ref, board) for ref in said.parts if not said.alternatives],
            f"Inferred from the markings: {words.probable(said.probability)}.",
        )
    for some in fitted_later(finding, every):
        yield _modification(
            f"Fitted later: {words.refs(some.refs)}",
            window_span(some.fitted),
            [_addition(ref, board) for ref in some.refs],
            f"Inferred from the markings: not original, {some.probable}"
            + (f"; {some.manner}." if some.manner else "."),
        )
    for unexplained in despite_record(finding, survey, every):
        yield _modification(
            f"Fitted later: {words.refs(unexplained.refs)}",
            window_span(unexplained.fitted),
            [_addition(ref, board) for ref in unexplained.refs],
            f"Inferred from the markings: not original, {unexplained.probable}; the record does "
            "not say by what work.",
        )
    for found in every:
        if found.single:
            ref = found.part.ref
            yield _modification(
                f"Replacement of {words.visible(ref)}",
                window_span(found.part.fitted),
                [_removal(ref, board), _addition(ref, board)],
                f"Inferred from the markings: {words.probable(found.probability)}.",
            )


def _modification(label: str, span: Json | None, parts: list[Json], said: str) -> Json:
    made: Json = {
        "type": "Modification",
        "_label": label,
        "referred_to_by": [statement(said, "note")],
    }
    if span is not None:
        made["timespan"] = span
    if parts:
        made["part"] = parts
    return made


def _recorded(survey: Survey, board: str) -> Iterator[Json]:
    for work in survey.works:
        first, last = work.span()
        done = words.visible(work.done)
        label = words.stated_when(first, last, work.date)
        said = " ".join(filter(None, (words.sentence(done), words.visible(work.note or ""))))
        made = _modification(
            f"Recorded work: {done}",
            _time_span(first, last, work.date, label),
            list(_moved(work, survey, board)),
            f"Stated by the recorder: {said} Parts: {words.refs(work.parts)}.",
        )
        if work.by:
            made["carried_out_by"] = [{"type": "Actor", "_label": words.visible(work.by)}]
        yield made


def _moved(work: KnownWork, survey: Survey, board: str) -> Iterator[Json]:
    """The parts that a work put in or took out, those of a section each by its reference."""
    from provenance.inference.recorded import (  # noqa: PLC0415 - loads the models
        fitted_by,
        removing,
    )
    from provenance.survey.model import SurveyedPart  # noqa: PLC0415

    on_board = survey.parts()
    known = {*survey.sections, *(part.ref for part in on_board)}
    others = [SurveyedPart(r, "", "", None, None, None) for r in work.parts if r not in known]
    fitted = tuple(dict.fromkeys(fitted_by(work.done, work.parts, [*others, *on_board])))
    exchanged = EXCHANGED.search(work.done.casefold()) is not None
    for ref in fitted:
        if exchanged:
            yield _removal(ref, board)
        yield _addition(ref, board)
    if removing(work.done):
        for ref in work.parts:
            if ref not in fitted and ref not in survey.sections:
                yield _removal(ref, board)


def _statements(finding: Finding, survey: Survey) -> list[Json]:
    listing = " ".join(note(finding, survey, "listing", "txt").split())
    method = (
        f"board-provenance {finding.method.version}, {finding.method.today.isoformat()}; "
        f"fingerprint of the survey (SHA-256): {finding.method.fingerprint}."
    )
    said = [statement(listing, "provenance"), statement(method, "method")]
    if finding.rests_on:
        rests = " ".join(words.sentence(words.visible(line)) for line in finding.rests_on)
        said.append(statement(rests, "sources"))
    for item in survey.evidence:
        stated = words.sentence(words.visible(evidence_said(item)))
        said.append(statement(f"Stated by the recorder: {stated}", "sources"))
    return said


# ---- tables and JSON -------------------------------------------------------------------------

COLUMNS = (
    *("ref", "section", "group", "marking"),
    *("reading_scheme", "reading_text", "reading_edtf", "reading_probability", "no_date"),
    *("original", "later_work", "replacement"),
    *("fitted_edtf", "decibans", "recorded_works"),
)
"""The columns of ``parts_csv``, in order."""


def parts_csv(finding: Finding) -> str:
    """The parts as CSV (RFC 4180) for a spreadsheet, one row a part, with a row of headings.

    Parts that only a recorded work names have a row too. A cell that a spreadsheet would take for
    a formula is given an apostrophe in front; control characters are spelled out.
    """
    known = [work for work in finding.later_works if work.known]
    out = io.StringIO()
    rows = csv.writer(out)
    rows.writerow(COLUMNS)
    for part in finding.parts:
        mine = [w for w in known if {part.ref, part.section, part.group} & {*w.parts, *w.groups}]
        fitted = window(part.fitted)
        if fitted and fitted.probability < 1 and not finding.build.dated:
            fitted = None  # What was assumed of any board.
        rows.writerow(map(cell, (*_row(part, fitted), _works_cell(mine))))
    surveyed = {name for p in finding.parts for name in (p.ref, p.section, p.group)}
    others = dict.fromkeys(ref for w in known for ref in w.parts if ref not in surveyed)
    for ref in others:
        mine = [w for w in known if ref in w.parts]
        rows.writerow(map(cell, (ref, *[""] * (len(COLUMNS) - 2), _works_cell(mine))))
    return out.getvalue()


def _row(part: PartFinding, fitted: Window | None) -> tuple[str, ...]:
    read = part.reading
    return (
        part.ref,
        part.section,
        part.group,
        part.marking,
        read.scheme if read else "",
        read.text if read else "",
        edtf_interval(read.first, read.last) if read else "",
        f"{read.probability:.4f}" if read else "",
        f"{part.no_date:.4f}",
        f"{part.origin.original:.4f}",
        f"{part.origin.later_work:.4f}",
        f"{part.origin.replacement:.4f}",
        _fitted_cell(fitted) if fitted else "",
        f"{sum(weight.decibans for weight in part.weights):.1f}",
    )


def _fitted_cell(fitted: Window) -> str:
    """When a part was fitted: approximate, unless a recorded work says it."""
    return edtf_interval(fitted.first, fitted.last, approximate=fitted.probability < 1)


def _works_cell(works: Iterable[LaterWork]) -> str:
    return "; ".join(
        f"{w.edtf}: {w.done or 'worked on'}" + (f", by {w.by}" if w.by else "") for w in works
    )


def finding_json(finding: Finding | MachineFinding) -> str:
    """The whole finding as JSON with stable keys; that of a board has docs/finding.schema.json."""
    return json_text(finding.model_dump(mode="json"))


def json_text(value: object) -> str:
    """A value as indented JSON whose text holds no control or direction character raw.

    >>> json_text({"a": "1\\u202e2 \\u00b5"})
    '{\\n  "a": "1\\\\u202e2 µ"\\n}\\n'
    """
    text = json.dumps(value, indent=2, ensure_ascii=False)
    return "".join(c if c == "\n" or c.isprintable() else json.dumps(c)[1:-1] for c in text) + "\n"


def finding_schema_text() -> str:
    """The JSON Schema (2020-12) of ``finding_json``, made from the models."""
    from provenance.inference.finding import Finding  # noqa: PLC0415 - only this needs the models

    schema = {
        "$schema": "https://json-schema.org/draft/2020-12/schema",
        **Finding.model_json_schema(mode="serialization"),
    }
    return json.dumps(schema, indent=2, sort_keys=True) + "\n"
