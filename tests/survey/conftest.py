"""Fixtures of the tests of survey files."""

from __future__ import annotations

import pytest
import yaml

from provenance.survey import syntax


@pytest.fixture(params=["libyaml", "pure Python"])
def _each_parser(request: pytest.FixtureRequest, monkeypatch: pytest.MonkeyPatch) -> None:
    """PyYAML may or may not have been built with libyaml; both must be understood alike."""
    if request.param == "pure Python":
        monkeypatch.setattr(syntax, "_EVENTS", yaml.SafeLoader)
    elif not yaml.__with_libyaml__:
        pytest.skip("PyYAML was built without libyaml")
