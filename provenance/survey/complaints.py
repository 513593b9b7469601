"""What a model complains of, as sentences with file, line, key and the likely fix.

Knows pydantic's errors and which keys may stand where. The sentences for single values are in
``model``, those for what must agree in ``checks``, those for relations in the graph.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any, TypeVar

from pydantic import BaseModel, ValidationError
from pydantic_core import ErrorDetails

from provenance.errors import SurveyError
from provenance.survey.model import (
    Board,
    Evidence,
    KnownWork,
    Machine,
    Part,
    Relation,
    Section,
    Survey,
)
from provenance.survey.slips import TIGHT_COLON, spaced
from provenance.survey.syntax import Document, in_words, is_marking
from provenance.survey.wording import NO_MARKING, nearest, one_of, shown

MOST_COMPLAINTS = 50
"""Most problems of one file that are put into words."""

_Model = TypeVar("_Model", Survey, Machine)

_FIELDS: dict[tuple[str, ...], type[BaseModel]] = {
    (): Survey,
    ("board",): Board,
    ("machine",): Board,
    ("sections", "*"): Section,
    ("sections", "*", "parts", "*"): Part,
    ("relations", "*"): Relation,
    ("evidence", "*"): Evidence,
    ("works", "*"): KnownWork,
}
"""Which model's fields may stand at which place; ``*`` is any name or item."""


def validated(model: type[_Model], data: Any, document: Document, file: str) -> _Model:
    """The model of a file's plain data. Raises SurveyError with the first problem in file order."""
    try:
        found = model.model_validate(data)
    except ValidationError as problem:
        errors = problem.errors(include_url=False)
        # A key that is misspelt is not missed as well.
        meant = {
            _meant(_place(error), model) for error in errors if error["type"] == "extra_forbidden"
        }
        errors = sorted(
            (error for error in errors if error["type"] != "missing" or _place(error) not in meant),
            key=lambda error: document.line(_place(error)) or 0,
        )
    else:
        _refuse_impossible_order(found, document, file)
        return found
    said = [_in_words(error, model, document, file) for error in errors[:MOST_COMPLAINTS]]
    first = said[0]
    raise SurveyError(
        first.message, first.file, first.line, first.key, first.fix, others=tuple(said[1:])
    )


def _refuse_impossible_order(found: Survey | Machine, document: Document, file: str) -> None:
    """Raise SurveyError where the relations of a board cannot all hold, with the line of one."""
    boards: dict[tuple[str | int, ...], Survey]
    if isinstance(found, Survey):
        boards = {(): found}
    else:
        boards = {("boards", index): board for index, board in enumerate(found.boards)}
    for at, survey in boards.items():
        # One relation cannot contradict itself, and needs no graph.
        if len(survey.relations) > 1 and (wrong := survey.impossible_order()) is not None:
            place = (*at, *wrong.at)
            raise SurveyError(wrong.problem, file, document.line(place), in_words(place), wrong.fix)


def _place(error: ErrorDetails) -> tuple[str | int, ...]:
    """Where in the survey an error of pydantic's is."""
    below: tuple[str | int, ...] = error["ctx"]["at"] if error["type"] == "survey" else ()
    return (*(step for step in error["loc"] if step != "[key]"), *below)


def _meant(place: tuple[str | int, ...], model: type[BaseModel]) -> tuple[str | int | None, ...]:
    """The place of the key that one that cannot stand there was probably meant for."""
    return (*place[:-1], nearest(str(place[-1]), _names_at(place[:-1], model)))


def _in_words(
    error: ErrorDetails, model: type[BaseModel], document: Document, file: str
) -> SurveyError:
    """One of pydantic's errors as a sentence with line, key and fix."""
    place = _place(error)
    if error["type"] == "survey":
        message, fix = error["ctx"]["problem"], error["ctx"]["fix"]
    else:
        message, fix = _shape(error, place, model)
    if error["type"] == "missing":
        place = place[:-1]
    return SurveyError(message, file, document.line(place), in_words(place) or None, fix)


def _shape(
    error: ErrorDetails, place: tuple[str | int, ...], model: type[BaseModel]
) -> tuple[str, str]:
    """Problem and fix where the shape of the data is wrong."""
    last = str(place[-1]) if place else ""
    value = error["input"]
    kind = "a mapping" if isinstance(value, Mapping) else "a list"
    if isinstance(value, str):
        kind = f"the text '{shown(value)}'"
    match error["type"]:
        case "extra_forbidden":
            near = _meant(place, model)[-1]
            fix = f"write {near}" if near else f"use one of {one_of(_names_at(place[:-1], model))}"
            if model is Machine and len(place) == 1 and last in Survey.model_fields:
                fix = "write it in the surveys of the boards, below boards"
            return f"there is no key '{shown(last)}' here", fix
        case "missing":
            return f"the key {last} is missing", f"add {last}: here"
        case _ if value is None:
            return "has no value", NO_MARKING if is_marking(place) else "take it out"
        case "tuple_type":
            return f"is {kind} where a list is expected", "begin each item with a dash and a blank"
        case "dict_type" | "model_type":
            fixes = {
                "parts": 'write one part a line, without a dash: U31: "XR4558 7923"',
                "sections": "write the section's name and a colon, without a dash",
                "board": "write board: {title: ...}",
                "machine": "write machine: {title: ...}",
            }
            fix = fixes.get(last, "write keys with a colon, and indent them below this one")
            if isinstance(value, str) and (tight := TIGHT_COLON.match(value)):
                fix = spaced(tight)
            return f"is {kind} where a mapping is expected", fix
        case _:
            return str(error["msg"]), "see the description of the survey file"


def _names_at(place: tuple[str | int, ...], model: type[BaseModel]) -> list[str]:
    """The keys that may stand at a place."""
    if model is Machine and place[:1] == ("boards",):
        place, model = place[2:], Survey
    if not place:
        return list(model.model_fields)
    for pattern, fields in _FIELDS.items():
        if len(pattern) == len(place) and all(
            step in ("*", at) for step, at in zip(pattern, place, strict=True)
        ):
            return list(fields.model_fields)
    return []
