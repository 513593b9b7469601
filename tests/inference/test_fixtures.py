"""The boards of docs/boards: what the program says against what a practitioner says.

The expectations were written before any program was run on the boards; docs/boards/README.md
says what the keys mean. They are not changed to fit.
"""

from __future__ import annotations

import pickle
import re
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date
from functools import cache
from pathlib import Path
from typing import Any

import pytest
import yaml

from provenance.inference import date_board
from provenance.inference.finding import Finding, Origin
from provenance.inference.windows import stated
from provenance.markings.reader import read_marking
from provenance.survey.files import load
from provenance.survey.model import Machine
from provenance.weeks import month_span

ROOT = Path(__file__).parents[2]
PAGES = {p.stem: p for p in sorted((ROOT / "docs/boards").glob("*.md")) if p.stem != "README"}
WIDE = 52
"""Weeks from which a 90% window is wide (docs/boards/README.md)."""
NARROW = 40
"""Weeks, nine months, that the 90% window of a board that is not wide may have at most."""


@dataclass(frozen=True)
class Case:
    """One board: its finding and what is expected of it."""

    name: str
    finding: Finding
    expected: Mapping[str, Any]

    def origins(self) -> dict[str, Origin]:
        return {part.ref: part.origin for part in self.finding.parts}

    def refs(self, key: str) -> list[str]:
        return [str(ref) for ref in self.expected[key]]


def expectations(page: Path) -> dict[str, Any]:
    """The last fenced block of a page, as text."""
    blocks = re.findall(r"```yaml\n(.*?)```", page.read_text(encoding="utf-8"), re.DOTALL)
    found = yaml.safe_load(blocks[-1])
    assert isinstance(found, dict)
    return found


@cache
def cases() -> dict[str, Case]:
    found = {}
    for name, page in PAGES.items():
        survey = load(ROOT / "fixtures" / f"{name}.yaml")
        said = expectations(page)
        if isinstance(survey, Machine):
            boards, blocks = survey.boards, said["boards"]
        else:
            boards, blocks = (survey,), [said]
        for number, (board, block) in enumerate(zip(boards, blocks, strict=True), start=1):
            case = name if len(boards) == 1 else f"{name} {number}"
            found[case] = Case(case, date_board(board), block)
    return found


def month(text: object, *, last: bool) -> date:
    year, number = str(text).split("-")
    return month_span(int(year), int(number))[last]


NAMES = [
    name if "boards" not in expectations(page) else f"{name} {number}"
    for name, page in PAGES.items()
    for number in range(1, 1 + len(expectations(page).get("boards", [0])))
]


@pytest.fixture(params=NAMES)
def case(request: pytest.FixtureRequest) -> Case:
    return cases()[request.param]


def test_there_is_a_page_for_every_fixture() -> None:
    assert set(PAGES) == {path.stem for path in (ROOT / "fixtures").glob("*.yaml")}
    assert len(PAGES) >= 6


def test_the_build_is_where_the_practitioner_puts_it(case: Case) -> None:
    first = month(case.expected["build"]["not_before"], last=False)
    last = month(case.expected["build"]["not_after"], last=True)
    build = case.finding.build
    assert build.dated
    assert first <= build.median <= last, f"median {build.median}"
    window = stated(build.windows)
    assert window.first <= last
    assert window.last >= first


def test_the_window_is_as_wide_as_is_honest(case: Case) -> None:
    window = stated(case.finding.build.windows)
    weeks = ((window.last - window.first).days + 1) / 7
    if case.expected["wide"]:
        assert weeks >= WIDE, f"{window.first} to {window.last}"
    else:
        assert weeks <= NARROW, f"{window.first} to {window.last}"


def test_every_part_named_is_on_the_board(case: Case) -> None:
    named = [ref for key in ("later", "original", "replaced") for ref in case.refs(key)]
    assert set(named) <= set(case.origins())
    assert case.refs("original")


def test_original_parts_are_told_as_original(case: Case) -> None:
    origins = case.origins()
    wrong = {r: origins[r] for r in case.refs("original") if origins[r].original <= 0.5}
    assert not wrong


def test_parts_of_later_works_are_told_as_such(case: Case) -> None:
    origins = case.origins()
    wrong = {
        r: origins[r]
        for r in case.refs("later")
        if origins[r].original >= 0.5 or origins[r].later_work < origins[r].replacement
    }
    assert not wrong


def test_replaced_parts_are_told_as_such(case: Case) -> None:
    """A part alone in its fit group may be told as a later work instead: the same thing."""
    origins = case.origins()
    alone = {g.parts[0] for g in case.finding.groups if len(g.parts) == 1}
    wrong = {
        r: origins[r]
        for r in case.refs("replaced")
        if origins[r].original >= 0.5
        or (r not in alone and origins[r].replacement < origins[r].later_work)
    }
    assert not wrong


@pytest.mark.parametrize("name", PAGES)
def test_a_survey_passes_between_processes(name: str) -> None:
    survey = load(ROOT / "fixtures" / f"{name}.yaml")
    assert pickle.loads(pickle.dumps(survey)) == survey


def test_a_finding_passes_between_processes(case: Case) -> None:
    assert pickle.loads(pickle.dumps(case.finding)) == case.finding


def test_readings_pass_between_processes_before_and_after_they_are_looked_at() -> None:
    for marking in ("LM324N 8?35A", "QX12 841"):
        fresh, asked = read_marking(marking), read_marking(marking)
        assert asked.readings
        assert asked.tokens
        for one in (fresh, asked):
            assert pickle.loads(pickle.dumps(one)) == asked
