"""docs/notes.md and docs/records.md name everything that a template or a reader may use."""

from __future__ import annotations

import re
from pathlib import Path

import pytest
from pydantic import BaseModel

from provenance.inference.finding import (
    Build,
    Finding,
    GroupFinding,
    LaterWork,
    Method,
    PartFinding,
)
from provenance.notes import note as notes
from provenance.notes import record, words
from tests.notes import boards

DOCS = Path(__file__).parents[2] / "docs"
NOTES = (DOCS / "notes.md").read_text(encoding="utf-8")
RECORDS = (DOCS / "records.md").read_text(encoding="utf-8")
TOLD = notes.told(*boards.synthesiser(), notes.IN_FULL)


def names(page: str) -> set[str]:
    return set(re.findall(r"`([a-z_]+)(?:\[\])?`", page))


@pytest.mark.parametrize("name", list(TOLD))
def test_everything_a_template_is_told_is_in_the_docs(name: str) -> None:
    assert name in names(NOTES)


def test_every_field_of_what_is_told_is_in_the_docs() -> None:
    kinds = (
        *(notes.ToldWork, notes.ToldPart, notes.ToldLater, notes.ToldDespite, notes.ToldKnown),
        *(notes.Named, notes.More),
    )
    fields = {field for kind in kinds for field in kind.__dataclass_fields__}
    assert fields <= names(NOTES)
    assert set(TOLD["built"]) <= names(NOTES)


@pytest.mark.parametrize("name", sorted(notes.WORDING))
def test_every_function_a_template_may_call_is_in_the_docs(name: str) -> None:
    assert f"`{name}(" in NOTES


def test_both_scales_of_words_are_in_the_docs() -> None:
    for _, word in (*words.PROBABILITY_WORDS, *words.IMPROBABILITY_WORDS, *words.DECIBAN_WORDS):
        assert f"| {word} |" in NOTES


@pytest.mark.parametrize("column", record.COLUMNS)
def test_every_column_is_in_the_docs(column: str) -> None:
    assert column in names(RECORDS)


@pytest.mark.parametrize("key", list(Finding.model_fields))
def test_every_key_of_a_finding_is_in_the_docs(key: str) -> None:
    assert key in names(RECORDS)


@pytest.mark.parametrize(
    ("row", "kind"),
    [
        ("build", Build), ("later_works", LaterWork), ("parts", PartFinding),
        ("groups", GroupFinding), ("method", Method),
    ],
)  # fmt: skip
def test_every_key_of_a_part_of_a_finding_is_in_its_row(row: str, kind: type[BaseModel]) -> None:
    (said,) = re.findall(rf"^\| `{row}(?:\[\])?` \| (.*) \|$", RECORDS, re.MULTILINE)
    assert set(kind.model_fields) <= names(said)


def test_the_templates_in_the_docs_are_those_there_are() -> None:
    folder = Path(notes.__file__).parent / "templates"
    ours = {p.name for p in folder.glob("*.j2") if not p.name.startswith("report")}
    assert set(re.findall(r"`([a-z_]+\.j2)`", NOTES)) == ours
