"""Date a circuit board from its chip markings and tell the original parts from later work.

The public names, and nothing else. Each is fetched from its module when it is first asked for, so
that ``import provenance`` loads neither pydantic nor numpy nor networkx.

>>> import provenance
>>> provenance.read_marking("SN7432N 7841").best.text
'7841'
"""

from __future__ import annotations

from importlib import import_module
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from provenance.census import MachineFinding as MachineFinding
    from provenance.census import date_machine as date_machine
    from provenance.errors import OutputError as OutputError
    from provenance.errors import ProvenanceError as ProvenanceError
    from provenance.errors import SurveyError as SurveyError
    from provenance.graph import GraphError as GraphError
    from provenance.graph import fit_groups as fit_groups
    from provenance.inference import date_board as date_board
    from provenance.inference.defaults import Defaults as Defaults
    from provenance.inference.finding import Finding as Finding
    from provenance.markings.families import families as families
    from provenance.markings.houses import house_of as house_of
    from provenance.markings.houses import houses_from_yaml as houses_from_yaml
    from provenance.markings.reader import read_marking as read_marking
    from provenance.markings.reader import read_markings as read_markings
    from provenance.markings.reading import MarkingReading as MarkingReading
    from provenance.markings.reading import Reading as Reading
    from provenance.markings.reading import Token as Token
    from provenance.markings.schemes import all_schemes as all_schemes
    from provenance.notes.machine import machine_linked_art as machine_linked_art
    from provenance.notes.machine import machine_note as machine_note
    from provenance.notes.machine import machine_report_html as machine_report_html
    from provenance.notes.machine import machine_screen_text as machine_screen_text
    from provenance.notes.machine_parts import machine_parts_csv as machine_parts_csv
    from provenance.notes.machine_parts import machine_why_text as machine_why_text
    from provenance.notes.machine_plot import save_machine_plot as save_machine_plot
    from provenance.notes.note import note as note
    from provenance.notes.plots import save_plot as save_plot
    from provenance.notes.reading_text import reading_record as reading_record
    from provenance.notes.reading_text import reading_text as reading_text
    from provenance.notes.reasons import why_text as why_text
    from provenance.notes.record import finding_json as finding_json
    from provenance.notes.record import finding_schema_text as finding_schema_text
    from provenance.notes.record import json_text as json_text
    from provenance.notes.record import linked_art as linked_art
    from provenance.notes.record import parts_csv as parts_csv
    from provenance.notes.report import report_html as report_html
    from provenance.notes.screen import screen_text as screen_text
    from provenance.survey.files import fingerprint as fingerprint
    from provenance.survey.files import load as load
    from provenance.survey.files import load_survey as load_survey
    from provenance.survey.model import Machine as Machine
    from provenance.survey.model import Survey as Survey
    from provenance.survey.schema import schema_text as schema_text
    from provenance.survey.template import template_text as template_text
    from provenance.survey.whole import write_whole as write_whole

_HOMES = {
    "Defaults": "inference.defaults",
    "Finding": "inference.finding",
    "GraphError": "graph",
    "Machine": "survey.model",
    "MachineFinding": "census",
    "MarkingReading": "markings.reading",
    "OutputError": "errors",
    "ProvenanceError": "errors",
    "Reading": "markings.reading",
    "Survey": "survey.model",
    "SurveyError": "errors",
    "Token": "markings.reading",
    "all_schemes": "markings.schemes",
    "date_board": "inference",
    "date_machine": "census",
    "families": "markings.families",
    "finding_json": "notes.record",
    "finding_schema_text": "notes.record",
    "fingerprint": "survey.files",
    "fit_groups": "graph",
    "house_of": "markings.houses",
    "houses_from_yaml": "markings.houses",
    "json_text": "notes.record",
    "linked_art": "notes.record",
    "load": "survey.files",
    "load_survey": "survey.files",
    "machine_linked_art": "notes.machine",
    "machine_note": "notes.machine",
    "machine_parts_csv": "notes.machine_parts",
    "machine_report_html": "notes.machine",
    "machine_screen_text": "notes.machine",
    "machine_why_text": "notes.machine_parts",
    "note": "notes.note",
    "parts_csv": "notes.record",
    "read_marking": "markings.reader",
    "read_markings": "markings.reader",
    "reading_record": "notes.reading_text",
    "reading_text": "notes.reading_text",
    "report_html": "notes.report",
    "save_machine_plot": "notes.machine_plot",
    "save_plot": "notes.plots",
    "schema_text": "survey.schema",
    "screen_text": "notes.screen",
    "template_text": "survey.template",
    "why_text": "notes.reasons",
    "write_whole": "survey.whole",
}
"""Which module each public name lives in."""

__version__ = "0.1.0"

__all__ = ["__version__", *sorted(_HOMES)]  # noqa: PLE0604 - the names are strings


if not TYPE_CHECKING:  # A type checker would take any name at all for one of the package's.

    def __getattr__(name: str) -> object:
        if name not in _HOMES:
            raise AttributeError(f"module {__name__!r} has no attribute {name!r}")
        value = getattr(import_module(f"{__name__}.{_HOMES[name]}"), name)
        globals()[name] = value
        return value


def __dir__() -> list[str]:
    return list(__all__)
