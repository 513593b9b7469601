"""The JSON Schema of a survey file, made from the models, for editors that check while one types.

Knows only how to put the models' own schemas together. The schema accepts what the models accept
in shape; what one part of a survey says of another is checked by the models alone.
"""

from __future__ import annotations

import json
from typing import Any

from pydantic import TypeAdapter

from provenance.survey.model import Machine, Survey


def schema_text() -> str:
    """The schema (JSON Schema, draft 2020-12) of a survey or a machine file, as JSON text."""
    made: dict[str, Any] = TypeAdapter(Survey | Machine).json_schema()
    boards = made["$defs"]["Machine"]["properties"]["boards"]
    path = {"type": "string", "description": "A survey file, by its path from this file's folder."}
    boards["items"] = {"anyOf": [boards["items"], path]}
    schema: dict[str, Any] = {
        "$schema": "https://json-schema.org/draft/2020-12/schema",
        "title": "Survey of a circuit board, or of the boards of one machine",
        **_plain(made),
    }
    return json.dumps(schema, indent=2, ensure_ascii=False) + "\n"


def _plain(node: Any) -> Any:
    """A schema without what a person who writes a survey has no use for.

    A key that is not known is left out, never given an empty value: so no null, and no default
    of null. Titles that only repeat a field's name go too.
    """
    if isinstance(node, list):
        return [_plain(item) for item in node]
    if not isinstance(node, dict):
        return node
    choices = [choice for choice in node.get("anyOf", ()) if choice != {"type": "null"}]
    if len(choices) == 1:
        # The field's own description says more than that of its type.
        node = {**choices[0], **{key: value for key, value in node.items() if key != "anyOf"}}
    return {
        key: _plain(value)
        for key, value in node.items()
        if not (key == "title" and isinstance(value, str)) and key != "default"
    }
