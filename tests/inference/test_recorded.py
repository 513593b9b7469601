"""What a recorded work fitted, by its words: common usage, and letters of IEEE 315-1975."""

from __future__ import annotations

import pytest

from provenance.inference.recorded import fitted_by
from provenance.survey.model import Survey

PARTS = Survey.model_validate(
    {"sections": {"supply": {"parts": {"U1": "7805", "U2": "7812", "C1": "100uF", "F1": "1A"}}}}
).parts()


def fitted(done: str, *named: str) -> set[str]:
    return set(fitted_by(done, named, PARTS))


@pytest.mark.parametrize(
    "done",
    [
        "replaced",
        "Replacement of the regulator",
        "swapped",
        "changed",
        "exchanged for a stronger one",
        "substituted",
        "refitted",
        "installed",
        "added",
        "upgraded",
        "updated",
        "renewed",
        "recapped",
        "re-chipped",
        "rebuilt",
        "firmware update",
        "reprogrammed",
        "reburned",
        "new regulator",
        "no longer working, replaced",
        "not repaired but replaced",
        "tested, not cleaned; replaced with new solder",
    ],
)
def test_words_that_say_that_a_part_was_fitted(done: str) -> None:
    assert fitted(done, "U1") == {"U1"}


@pytest.mark.parametrize(
    "done",
    [
        "cleaned",
        "resoldered with new solder",
        "reflowed, new tube of flux used",
        "address lines checked",
        "tested, not replaced",
        "never been changed",
        "wasn't replaced",
        "no parts changed",
        "left unchanged",
        "left un-changed",
        "fit for use",
        "as good as new",
        "heat sink fitted",
        "removed, socket fitted",
    ],
)
def test_words_that_leave_a_part_what_it_was(done: str) -> None:
    assert fitted(done, "U1") == set()


@pytest.mark.parametrize(
    ("done", "refs"),
    [
        ("all chips replaced", {"U1", "U2", "C1", "F1"}),
        ("replaced", {"U1", "U2", "C1", "F1"}),
        ("regulators, ROMs and capacitors replaced", {"U1", "U2", "C1", "F1"}),
        ("all electrolytic capacitors replaced", {"C1"}),
        ("recapped", {"C1"}),
        ("capacitors and fuse replaced, chips cleaned", {"C1", "F1"}),
        ("cable and connector replaced", set()),
        ("firmware updated", set()),
        ("cleaned", set()),
    ],
)
def test_a_section_counts_by_the_kinds_of_part_that_the_text_speaks_of(
    done: str, refs: set[str]
) -> None:
    assert fitted(done, "supply") == refs


def test_a_part_named_beside_its_section_counts_whatever_its_kind() -> None:
    assert fitted("capacitors and a regulator replaced", "supply", "U2") == {"C1", "U2"}
