"""Every value of a survey file is text and survives as typed, whatever the notation."""

from __future__ import annotations

import csv
import io
import json
from pathlib import Path
from typing import Any

import pytest
import yaml
from hypothesis import given, settings
from hypothesis import strategies as st

from provenance.survey.files import load_survey
from provenance.survey.model import Survey
from provenance.survey.syntax import csv_document, json_document, yaml_document
from tests.survey.writing import put

TRAPS = [
    "0731",  # octal in YAML 1.1
    "1e45",  # a float
    "2:31",  # sexagesimal in YAML 1.1
    "no",  # false in YAML 1.1
    "0o17",  # octal in YAML 1.2
    "0x1F",
    "~",
    "null",
    "1_000",
    "2026-05-01",
    "true",
    "off",
    ".5",
    "+7",
    "0b11",
    "1.10",
    ".inf",
    "=",
    "<<",
    "12e03",
    "7923",
    "NaN",
]
NUMBERS = ["731", "1e45", "0.10", "7923", "-0", "1E+2", "12345678901234567890123", "true", "false"]


@pytest.mark.usefixtures("_each_parser")
@pytest.mark.parametrize("typed", TRAPS)
def test_yaml_traps_survive_in_every_place(typed: str, tmp_path: Path) -> None:
    """The traps are the implicit types of YAML 1.1 (yaml.org/type) and 1.2 (chapter 10)."""
    path = put(
        tmp_path,
        "s.yaml",
        f"board: {{serial: {typed}}}\nsections:\n  {typed}:\n    note: {typed}\n    parts:\n"
        f"      {typed}: {typed}\n      A: {{marking: {typed}}}\n      B: [{typed}, {typed}]\n",
    )
    survey = load_survey(path)
    assert survey.board.serial == typed
    assert survey.sections[typed].note == typed
    assert [(part.ref, part.marking) for part in survey.parts()] == [
        (typed, typed),
        ("A", typed),
        ("B", f"{typed}\n{typed}"),
    ]


@pytest.mark.parametrize("typed", NUMBERS)
def test_json_numbers_survive_as_typed(typed: str, tmp_path: Path) -> None:
    path = put(
        tmp_path,
        "s.json",
        f'{{"sections": {{"a": {{"parts": {{"U1": {typed}, "U2": {{"marking": [{typed}]}}}}}}}}}}',
    )
    assert [part.marking for part in load_survey(path).parts()] == [typed, typed]


@pytest.mark.parametrize("typed", [*TRAPS, "=1+1", "007"])
def test_csv_cells_survive_as_typed(typed: str, tmp_path: Path) -> None:
    path = put(tmp_path, "s.csv", f"ref,marking\n{typed},{typed}\n")
    part = load_survey(path).parts()[0]
    assert (part.ref, part.marking) == (typed, typed)


def test_numbers_handed_over_in_python_are_refused_since_their_text_is_lost() -> None:
    with pytest.raises(ValueError, match="is a int, so the text as typed is lost"):
        Survey.model_validate({"sections": {"a": {"parts": {"U1": {"marking": 731}}}}})


typed_text = st.text(st.characters(codec="utf-8", exclude_characters="\ufeff"), max_size=40)
trees = st.recursive(
    typed_text,
    lambda inner: (
        st.lists(inner, max_size=4)
        | st.dictionaries(typed_text.filter(str.strip), inner, max_size=4)
    ),
    max_leaves=12,
)


def with_stripped_keys(value: Any) -> Any:
    if isinstance(value, dict):
        return {key.strip(): with_stripped_keys(item) for key, item in value.items()}
    return [with_stripped_keys(item) for item in value] if isinstance(value, list) else value


def has_twins(value: Any) -> bool:
    """Whether two keys of one mapping differ in the blanks around them only."""
    if isinstance(value, dict):
        return len({key.strip() for key in value}) < len(value) or any(
            map(has_twins, value.values())
        )
    return isinstance(value, list) and any(map(has_twins, value))


@settings(max_examples=150)
@given(tree=st.dictionaries(typed_text.filter(str.strip), trees, max_size=4))
def test_any_text_survives_a_round_trip_through_yaml(tree: dict[str, Any]) -> None:
    """Written by PyYAML's own dumper, which is not the reader under test."""
    if has_twins(tree):
        return
    text = yaml.safe_dump(tree)
    assert yaml_document(text, "t.yaml").data == with_stripped_keys(tree)


@settings(max_examples=150)
@given(
    value=st.from_regex(r"[0-9A-Za-z_.+:?/-]{1,20}", fullmatch=True),
)
def test_plain_values_read_as_pyyaml_reads_them_without_types(value: str) -> None:
    """PyYAML's BaseLoader, which resolves nothing, is the independent reader."""
    text = f"a: {value}\n"
    try:
        expected = yaml.load(text, Loader=yaml.BaseLoader)
    except yaml.YAMLError:
        return
    if isinstance(expected, dict) and expected.get("a"):
        assert yaml_document(text, "t.yaml").data == expected


@settings(max_examples=100)
@given(tree=st.dictionaries(typed_text.filter(str.strip), trees, max_size=4))
def test_any_text_survives_a_round_trip_through_json(tree: dict[str, Any]) -> None:
    if has_twins(tree):
        return
    assert json_document(json.dumps(tree), "t.json").data == with_stripped_keys(tree)


cells = st.text(st.characters(codec="utf-8", exclude_categories=["Cc"]), min_size=1).map(str.strip)


@settings(max_examples=100)
@given(
    markings=st.lists(cells.filter(bool), min_size=1, max_size=6), separator=st.sampled_from(",;\t")
)
def test_any_text_survives_a_round_trip_through_csv(markings: list[str], separator: str) -> None:
    """Written by the csv module's own writer."""
    stream = io.StringIO(newline="")
    writer = csv.writer(stream, delimiter=separator)
    writer.writerow(["ref", "marking"])
    writer.writerows((f"U{number}", marking) for number, marking in enumerate(markings))
    parts = csv_document(stream.getvalue(), "t.csv", "t").data["sections"]["board"]["parts"]
    assert [part["marking"] for part in parts.values()] == markings


markings = st.text(
    st.characters(codec="utf-8", exclude_categories=["Cc", "Zl", "Zp", "Zs", "Cn"]),
    min_size=1,
    max_size=30,
).filter(lambda text: text.strip() == text)


@settings(max_examples=100)
@given(lines=st.lists(markings, min_size=1, max_size=4))
def test_a_marking_keeps_its_lines_however_they_are_written(lines: list[str]) -> None:
    as_list = Survey.model_validate({"sections": {"a": {"parts": {"U1": lines}}}})
    as_block = Survey.model_validate({"sections": {"a": {"parts": {"U1": "\n".join(lines)}}}})
    as_text = Survey.model_validate({"sections": {"a": {"parts": {"U1": " / ".join(lines)}}}})
    assert as_list.parts()[0].marking == as_block.parts()[0].marking
    if "/" not in lines:
        assert as_list.parts()[0].marking == "\n".join(lines)
        assert as_text.parts()[0].marking == "\n".join(lines)
