"""Which evidence contradicts itself, and which only seems to."""

from __future__ import annotations

from typing import Any

import pytest
from pydantic import ValidationError

from provenance.survey.model import Survey

IN_USE = {"kind": "document", "says": "in use by", "date": "1979-06"}
NOT_BEFORE = {"kind": "document", "says": "not before", "date": "1980"}
BUILT = {"kind": "photograph", "says": "built on", "date": "1981-03-02"}
BETWEEN = {"kind": "document", "says": "built between", "date": "1976/1978"}
CODE = {"kind": "bare board code", "marking": "REV C 8016"}
STAMP = {"kind": "inspection stamp", "date": "1979-08"}


def contradiction(*evidence: dict[str, Any]) -> str | None:
    """What is said against a survey with this evidence, or None."""
    try:
        Survey.model_validate(
            {
                "sections": {
                    "main": {"parts": {"U1": "LM741CN 7923"}},
                    "expander": {"parts": {"U2": "LM741CN 8123"}},
                },
                "evidence": evidence,
            }
        )
    except ValidationError as error:
        return str(error.errors()[0]["msg"])
    return None


@pytest.mark.parametrize(
    ("early", "late"),
    [
        (IN_USE, NOT_BEFORE),
        (IN_USE, BUILT),
        (IN_USE, CODE),
        (STAMP, CODE),
        (BETWEEN, NOT_BEFORE),
        (BETWEEN, BUILT),
        (IN_USE, {"kind": "bare board code", "date": "1980-04"}),
    ],
)
def test_evidence_that_contradicts_names_both(early: dict[str, str], late: dict[str, str]) -> None:
    for evidence in ((early, late), (late, early)):
        said = contradiction(*evidence)
        assert said is not None
        assert f"({early['kind']}" in said
        assert f"({late['kind']}" in said
        assert "cannot both be right" in said


@pytest.mark.parametrize(
    "evidence",
    [
        (NOT_BEFORE, BUILT),
        (IN_USE, STAMP),  # Inspected after a repair: no contradiction.
        (STAMP, NOT_BEFORE),  # A stamp may be the bare board's own.
        ({**IN_USE, "reliability": "0.9"}, NOT_BEFORE),
        (IN_USE, {**NOT_BEFORE, "reliability": "0.5"}),
        (IN_USE, {**NOT_BEFORE, "date": "1980~"}),
        (IN_USE, {**NOT_BEFORE, "date": "1979-06"}),
        (IN_USE, {**CODE, "marking": "LM741CN"}),  # No date to compare.
        (IN_USE, {**CODE, "marking": "7?16"}),  # 1979 would do, and so would others.
        (IN_USE, {"kind": "serial number", "marking": "2206"}),
        # What holds of the expander leaves the board free.
        (IN_USE, {**NOT_BEFORE, "section": "expander"}),
    ],
)
def test_evidence_that_may_all_be_right(evidence: tuple[dict[str, str], ...]) -> None:
    assert contradiction(*evidence) is None


def test_a_section_in_use_means_a_board_in_use() -> None:
    assert contradiction({**IN_USE, "section": "expander"}, NOT_BEFORE) is not None
    assert (
        contradiction({**IN_USE, "section": "expander"}, {**NOT_BEFORE, "section": "expander"})
        is not None
    )
