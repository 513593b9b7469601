"""The page of defaults says what the tables say."""

from __future__ import annotations

from tests.generated_defaults import PAGE, defaults_text


def test_the_page_of_defaults_is_current() -> None:
    assert PAGE.read_text(encoding="utf-8") == defaults_text()
