"""The published JSON Schema: current, valid, and of one mind with the models."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pytest
import yaml
from jsonschema import Draft202012Validator

from provenance.survey.files import load
from provenance.survey.schema import schema_text
from provenance.survey.template import template_text

ROOT = Path(__file__).parents[2]
PUBLISHED = ROOT / "docs" / "survey.schema.json"
FIXTURES = sorted((ROOT / "fixtures").glob("*.yaml"))


@pytest.fixture(scope="module")
def validator() -> Draft202012Validator:
    schema = json.loads(PUBLISHED.read_text(encoding="utf-8"))
    Draft202012Validator.check_schema(schema)
    return Draft202012Validator(schema)


def typed(text: str) -> Any:
    """A YAML text as an editor sees it, numbers and booleans resolved (dates left as text)."""

    class Editor(yaml.SafeLoader):
        pass

    Editor.yaml_implicit_resolvers = {
        first: [pair for pair in pairs if not pair[0].endswith(("timestamp", "merge"))]
        for first, pairs in yaml.SafeLoader.yaml_implicit_resolvers.items()
    }
    return yaml.load(text, Loader=Editor)


def test_the_published_schema_is_current() -> None:
    text = PUBLISHED.read_text(encoding="utf-8")
    assert text == schema_text(), "run `python -m tests.generated_docs`"


def test_there_are_fixtures_to_check() -> None:
    assert len(FIXTURES) >= 5


@pytest.mark.parametrize("path", FIXTURES, ids=lambda path: path.stem)
def test_fixtures_pass_schema_and_models(path: Path, validator: Draft202012Validator) -> None:
    found = load(path)
    validator.validate(typed(path.read_text(encoding="utf-8")))
    validator.validate(found.model_dump(mode="json", exclude_defaults=True))


def test_the_template_passes(validator: Draft202012Validator) -> None:
    validator.validate(typed(template_text()))


@pytest.mark.parametrize(
    "text",
    [
        "sections: {a: {parts: {U1: 0731}}}",
        "sections: {a: {parts: {U1: 1e45, U2: no, U3: [7923, A]}}}",
        "sections: {a: {parts: {U1: {marking: [7923], adapter: yes}}}}",
        "{sections: {a: {}}, relations: [a fitted with b]}",
        "{sections: {a: {}}, relations: [{kind: mounted on, subject: a, object: b}]}",
        "{sections: {a: {}}, works: [{date: 2020, parts: 'C7, C8', done: x}]}",
        "{sections: {a: {}}, production: 1977/1983, board: {serial: 42}}",
        "{sections: {a: {}}, evidence: [{kind: document, date: 1979, reliability: .9}]}",
        "{machine: {title: x}, boards: [a.yaml, {sections: {a: {parts: {U1: x}}}}]}",
    ],
)
def test_the_short_forms_pass(text: str, validator: Draft202012Validator) -> None:
    validator.validate(typed(text))


@pytest.mark.parametrize(
    "text",
    [
        "sectoins: {}",
        "board: {title: x}",
        "sections: {a: {monut: soldered}}",
        "sections: {a: {mount: glued}}",
        "sections: {a: {parts: {U1: {mount: soldered}}}}",
        "sections: {a: {parts: {U1: }}}",
        "sections: {a: {parts: {U1: {marking: x, colour: red}}}}",
        "sections: {a: {parts: {U1: [[x]]}}}",
        "sections: {a: {parts: [U1]}}",
        "{sections: {a: {}}, relations: [a fited with b]}",
        "{sections: {a: {}}, trade: mass}",
        "{sections: {a: {}}, evidence: [{kind: document, reliability: 2}]}",
        "{sections: {a: {}}, evidence: [{kind: rumour}]}",
        "{sections: {a: {}}, works: [{date: 2020, done: x}]}",
        "{machine: {title: x}}",
    ],
)
def test_what_is_wrong_in_shape_is_refused(text: str, validator: Draft202012Validator) -> None:
    assert not validator.is_valid(typed(text))
