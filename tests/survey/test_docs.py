"""docs/survey.md: its examples are valid, and it names every key and choice."""

from __future__ import annotations

import re
from pathlib import Path
from typing import Any, get_args

import pytest

from provenance.markings import houses
from provenance.survey import checks, files, model, syntax
from provenance.survey.files import load
from tests.survey.writing import GOOD, complaint, put

PAGE = (Path(__file__).parents[2] / "docs" / "survey.md").read_text(encoding="utf-8")
EXAMPLES = re.findall(r"^```(yaml|json|csv)\n(.*?)^```$", PAGE, re.MULTILINE | re.DOTALL)


@pytest.mark.parametrize(("suffix", "text"), EXAMPLES)
def test_every_example_is_a_valid_file(suffix: str, text: str, tmp_path: Path) -> None:
    found = load(put(tmp_path, f"example.{suffix}", text))
    boards = found.boards if isinstance(found, model.Machine) else (found,)
    assert all(board.parts() for board in boards)


def test_there_are_examples_of_each_notation() -> None:
    assert {suffix for suffix, _ in EXAMPLES} == {"yaml", "json", "csv"}


def test_the_three_ways_to_write_lines_mean_the_same(tmp_path: Path) -> None:
    text = next(text for _, text in EXAMPLES if "a slash between blanks" in text)
    found = load(put(tmp_path, "example.yaml", text.replace("79?3", "7923")))
    assert isinstance(found, model.Survey)
    assert {part.marking for part in found.parts()} == {"XR4558\n7923"}


@pytest.mark.parametrize(
    "record",
    [
        model.Board,
        model.Section,
        model.Part,
        model.Evidence,
        model.KnownWork,
        model.Survey,
        model.Machine,
        model.Relation,
    ],
)
def test_every_key_is_named(record: Any) -> None:
    missing = [name for name in record.model_fields if not re.search(rf"`[^`\n]*\b{name}\b", PAGE)]
    assert missing == []


@pytest.mark.parametrize(
    "choices",
    [model.Mount, model.Joints, model.Trade, model.RelationKind, model.EvidenceKind, model.Says],
)
def test_every_choice_is_named(choices: Any) -> None:
    assert [name for name in get_args(choices) if name not in PAGE] == []


def test_every_field_of_a_house_scheme_is_named() -> None:
    assert [name for name in houses._FIELDS if f"{{{name}}}" not in PAGE] == []


def test_the_limits_are_those_of_the_code() -> None:
    for limit in (
        files.LARGEST,
        files.MOST_BOARDS,
        checks.MOST_PARTS,
        model.LONGEST_TEXT,
        syntax.DEEPEST,
        syntax.MOST_VALUES,
    ):
        assert f"| {limit:,}" in PAGE
    assert f"| {', '.join(f'{most:,}' for most in checks.MOST.values())} |" in PAGE
    assert f"at most {model.LONGEST_NAME}" in " ".join(PAGE.split())
    assert f"before {checks.EARLIEST.year}" in PAGE


def test_the_example_of_a_complaint_is_what_is_said(tmp_path: Path) -> None:
    said = complaint(put(tmp_path, "counter.yaml", GOOD + "    monut: soldered\n"))
    assert said in PAGE
