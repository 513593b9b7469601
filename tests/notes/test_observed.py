"""What the recorder saw is kept: what a note leaves out, another person cannot judge."""

from __future__ import annotations

from typing import Literal

import pytest

from provenance.inference.board import date_board
from provenance.notes.note import note
from provenance.notes.observed import observed
from provenance.notes.record import linked_art
from provenance.notes.report import report_html
from provenance.survey.model import Survey

SURVEY = Survey.model_validate(
    {
        "board": {"title": "Pulse counter"},
        "today": "2026-05-20",
        "sections": {
            "counter": {
                "mount": "soldered",
                "joints": "factory",
                "area": "left edge",
                "parts": {
                    "ic1": "NV7490 / 8011",
                    "ic2": {"marking": "NV7490 / 8013", "mount": "socketed"},
                    "ic3": {"marking": "NV7490 / 8012", "mount": "socketed"},
                    "ic4": {"marking": "NV7447 / 8810", "joints": "hand", "note": "flux <old>."},
                },
            },
            "display": {"note": "window cracked", "parts": {"ic5": "?"}},
            "rear": {"parts": {"ic6": {"marking": "NV75160 / 8012", "adapter": "yes"}}},
        },
    }
)
SAID = (
    "Counter: soldered; factory joints; left edge.",
    "ic2 and ic3: socketed.",
    "ic4: hand-made joints; flux <old>.",
    "Display: window cracked.",
    "ic6: on an adapter.",
)


def test_what_was_seen_is_said_once_for_a_section_and_for_parts_that_differ() -> None:
    assert observed(SURVEY) == SAID


@pytest.mark.parametrize("purpose", ["owner", "archive"])
def test_the_longer_notes_keep_what_was_seen(purpose: Literal["owner", "archive"]) -> None:
    text = note(date_board(SURVEY), SURVEY, purpose, "txt")
    seen = text[text.index("\nWhat was seen\n") :]
    assert [line for line in SAID if f"\n- {line}\n" not in seen] == []


def test_the_report_and_the_record_keep_what_was_seen() -> None:
    finding = date_board(SURVEY)
    assert "<li>ic4: hand-made joints; flux &lt;old&gt;.</li>" in report_html(finding, SURVEY)
    said = {
        part["_label"]: [text["content"] for text in part["referred_to_by"]]
        for part in linked_art(finding, SURVEY)["part"]
    }
    assert "Soldered; hand-made joints; flux <old>." in said["ic4, counter"]
    assert "Soldered; factory joints." in said["ic1, counter"]
    assert len(said["ic5, display"]) == 2, "nothing was seen of it but its marking"


def test_the_archive_entry_and_the_record_keep_what_dates_rest_on_as_it_was_stated() -> None:
    house = {"name": "A", "pattern": "K{year2}{week}", "years": "1978/1984", "source": "a ledger"}
    paper = {"kind": "document", "says": "in use by", "date": "1982", "note": "invoice, box 3"}
    known = Survey.model_validate({**SURVEY.model_dump(), "houses": [house], "evidence": [paper]})
    finding = date_board(known)
    text = " ".join(note(finding, known, "archive", "txt").split())
    assert "- House date scheme A, K{year2}{week}, used 1978/1984, source: a ledger." in text
    stated = [said["content"] for said in linked_art(finding, known)["referred_to_by"]]
    assert "Stated by the recorder: Document, in use by 1982, invoice, box 3." in stated
