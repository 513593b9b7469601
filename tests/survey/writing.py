"""Short ways for the tests of the survey to put a file in place and to read one complaint."""

from __future__ import annotations

from pathlib import Path

import pytest

from provenance.errors import SurveyError
from provenance.survey.files import load

GOOD = 'sections:\n  audio:\n    parts:\n      U1: "LM741CN 7923"\n'
"""Four lines of a valid survey, so that what a test adds begins on line 5."""


def put(folder: Path, name: str, content: str | bytes) -> Path:
    """A file with this content."""
    path = folder / name
    path.parent.mkdir(parents=True, exist_ok=True)
    path.write_bytes(content.encode("utf-8") if isinstance(content, str) else content)
    return path


def complaint(path: Path) -> str:
    """What is said of a file that cannot be used, with the folder cut off."""
    with pytest.raises(SurveyError) as caught:
        load(path)
    return str(caught.value).replace(f"{path.parent}/", "")
