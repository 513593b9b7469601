"""The worked chapter is what a reader who follows it gets."""

from __future__ import annotations

import json
import re
from collections.abc import Iterator
from pathlib import Path

import pytest

from provenance.notes.note import LISTING_WORDS
from provenance.survey.files import load_survey
from tests.generated_docs import ROOT
from tests.notes.chapter import CHAPTER, followed_anew

PAGE = CHAPTER.read_text(encoding="utf-8")


@pytest.fixture(scope="module")
def after() -> Iterator[tuple[str, Path]]:
    with followed_anew() as found:
        yield found


def test_the_chapter_shows_what_its_commands_print(after: tuple[str, Path]) -> None:
    assert after[0] == PAGE, "run `python -m tests.notes.chapter` and look at the difference"


def test_no_command_of_the_chapter_fails(after: tuple[str, Path]) -> None:
    outputs = re.findall(r"^\$ provenance .*\n(.*)$", after[0], re.MULTILINE)
    assert len(outputs) == len(re.findall(r"^\$ ", PAGE, re.MULTILINE)) <= 9
    assert not [said for said in outputs if said.startswith(("provenance: ", "Traceback", "Usage"))]


def test_the_survey_typed_in_the_chapter_is_that_of_the_fixture(after: tuple[str, Path]) -> None:
    """But for the free text on where each section lies, and the owner's own work."""
    typed = load_survey(after[1] / "counter.yaml")
    fixture = load_survey(ROOT / "fixtures" / "laboratory-counter.yaml")
    assert typed.parts() == fixture.parts()
    assert typed.relations == fixture.relations
    assert typed.evidence == fixture.evidence
    assert [work.by for work in typed.works] == ["the present owner"]


def test_the_reader_ends_with_a_listing_and_a_record_of_the_own_work(
    after: tuple[str, Path],
) -> None:
    listing = re.search(r"--for listing --format txt\n(.*?)```", after[0], re.DOTALL)
    assert listing
    assert 10 < len(listing[1].split()) <= LISTING_WORDS
    assert "smoothing capacitors replaced (C41 and C42)" in " ".join(listing[1].split())
    record = json.loads((after[1] / "counter.json").read_text(encoding="utf-8"))
    assert any("smoothing" in work["_label"] for work in record["modified_by"])
