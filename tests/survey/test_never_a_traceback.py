"""Whatever a file holds, it is a survey or is refused in words."""

from __future__ import annotations

import json
from pathlib import Path

import pytest
import yaml
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from provenance.errors import SurveyError
from provenance.graph import GraphError, fit_groups
from provenance.survey import syntax
from provenance.survey.files import load_survey
from provenance.survey.template import template_text
from tests.survey.writing import put

VALID = {
    "yaml": template_text(),
    "json": json.dumps(yaml.load(template_text(), Loader=yaml.BaseLoader)),
    "csv": 'ref;marking;section;mount\nU1;"LM741CN 7923";audio;soldered\nU2;0731;audio;\n',
}
CALM = settings(
    max_examples=60,
    suppress_health_check=[HealthCheck.function_scoped_fixture],
)
pieces = st.one_of(
    st.sampled_from(list("\"'{}[]:,-?*&!#|>%@`\n\t /\\;\x00\x1b\ufeff")),
    st.sampled_from(
        ["\n  ", ": ", " #", "<<: ", "---\n", "9" * 30, "null", "\\ud800", "2077", "~"]
    ),
    st.text(max_size=3),
)
edits = st.lists(st.tuples(st.floats(0, 1), st.integers(0, 12), pieces), min_size=1, max_size=4)


def outcome(path: Path) -> str:
    """What came of a file, in a word."""
    refused: SurveyError | None = None
    try:
        fit_groups(load_survey(path))
    except GraphError:
        return "refused"
    except SurveyError as error:
        refused = error
    if refused is None:
        return "read"
    assert refused.fix
    assert str(refused).isprintable()  # So it is one line too.
    return "refused"


@pytest.mark.parametrize("suffix", VALID)
@CALM
@given(changes=edits)
def test_a_valid_file_with_slips(
    suffix: str, changes: list[tuple[float, int, str]], tmp_path: Path
) -> None:
    text = VALID[suffix]
    for where, removed, put_in in changes:
        at = int(where * len(text))
        text = text[:at] + put_in + text[at + removed :]
    path = put(tmp_path, f"s.{suffix}", text.encode("utf-8", "surrogatepass"))
    assert outcome(path) in ("read", "refused")


@CALM
@given(changes=edits)
def test_a_valid_file_with_slips_without_libyaml(
    changes: list[tuple[float, int, str]], tmp_path: Path
) -> None:
    """PyYAML's parser in Python, which is there where libyaml is not."""
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(syntax, "_EVENTS", yaml.SafeLoader)
        text = VALID["yaml"]
        for where, removed, put_in in changes:
            at = int(where * len(text))
            text = text[:at] + put_in + text[at + removed :]
        path = put(tmp_path, "s.yaml", text.encode("utf-8", "surrogatepass"))
        assert outcome(path) in ("read", "refused")


@pytest.mark.parametrize("suffix", VALID)
@CALM
@given(content=st.binary(max_size=200))
def test_any_bytes(suffix: str, content: bytes, tmp_path: Path) -> None:
    assert outcome(put(tmp_path, f"s.{suffix}", content)) == "refused"


@pytest.mark.parametrize("suffix", VALID)
def test_without_slips_it_is_read(suffix: str, tmp_path: Path) -> None:
    assert outcome(put(tmp_path, f"s.{suffix}", VALID[suffix])) == "read"
