"""The made-up boards as fixtures."""

from __future__ import annotations

import pytest

from tests.notes import boards


@pytest.fixture(params=list(boards.CASES), scope="session")
def case(request: pytest.FixtureRequest) -> boards.Case:
    """Each made-up board in turn."""
    return boards.CASES[request.param]()


@pytest.fixture(scope="session")
def synthesiser() -> boards.Case:
    return boards.synthesiser()
