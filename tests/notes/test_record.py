"""The records, read by cromulent, rdflib, edtf, edtf-validate and jsonschema."""

from __future__ import annotations

import csv
import io
import json
from collections.abc import Iterator
from datetime import date
from importlib.resources import files
from pathlib import Path
from typing import Any

import jsonschema
import pytest
from cromulent import model
from cromulent.reader import Reader
from edtf import parse_edtf
from edtf_validate.valid_edtf import is_valid
from hypothesis import HealthCheck, given, settings
from rdflib import Graph, Literal, Namespace, URIRef
from rdflib.namespace import RDF

from provenance.inference import finding as f
from provenance.inference.finding import Finding
from provenance.notes import record, spreadsheet
from tests.notes import boards
from tests.notes.strategies import cases

CRM = Namespace("http://www.cidoc-crm.org/cidoc-crm/")
DOCS = Path(__file__).parents[2] / "docs"
SLOW = settings(max_examples=15, suppress_health_check=[HealthCheck.too_slow])


def graph(found: dict[str, Any]) -> Graph:
    """The record as triples; the context is the copy that the package cromulent carries."""
    context = json.loads((files("cromulent") / "data" / "linked-art.json").read_text())
    local = {**found, "@context": context["@context"]}
    return Graph().parse(data=json.dumps(local), format="json-ld")


def for_cromulent(found: Any) -> Any:
    """A copy with each ``assigned_property`` as a Type.

    Linked Art 1.0 writes the name of the property, and the context makes it the property's URI;
    cromulent 1.0.1 takes only the range of CIDOC CRM P177, a Type.
    """
    if isinstance(found, list):
        return [for_cromulent(value) for value in found]
    if not isinstance(found, dict):
        return found
    copied = {key: for_cromulent(value) for key, value in found.items()}
    if name := copied.get("assigned_property"):
        copied["assigned_property"] = {"type": "Type", "_label": name}
    return copied


def edtf_texts(found: object) -> Iterator[str]:
    """Every EDTF text of a record: the content of a name labelled EDTF."""
    if isinstance(found, dict):
        if found.get("_label") == "EDTF":
            yield found["content"]
        for value in found.values():
            yield from edtf_texts(value)
    elif isinstance(found, list):
        for value in found:
            yield from edtf_texts(value)


def test_cromulent_reads_the_record_as_a_made_object(case: boards.Case) -> None:
    """cromulent checks every class and property against the Linked Art profile."""
    found = record.linked_art(*case)
    made = Reader().read(for_cromulent(found))
    assert isinstance(made, model.HumanMadeObject)
    assert isinstance(made.produced_by, model.Production)
    again = json.loads(model.factory.toString(made, compact=False))
    assert again["produced_by"].get("timespan", {}).get("begin_of_the_begin") == found[
        "produced_by"
    ].get("timespan", {}).get("begin_of_the_begin")


def test_the_triples_of_the_synthesiser_say_what_the_finding_says() -> None:
    """CIDOC CRM 7.1: P108 produced, P31 modified, E79 with P110 and P111, E80 with P112, E52 with
    P82a and P82b; read by rdflib."""
    finding, survey = boards.synthesiser()
    found = record.linked_art(finding, survey)
    triples = graph(found)
    board = URIRef(found["id"])
    assert (board, RDF.type, CRM["E22_Human-Made_Object"]) in triples
    build = triples.value(board, CRM.P108i_was_produced_by)
    assert (build, RDF.type, CRM.E12_Production) in triples
    span = triples.value(build, CRM["P4_has_time-span"])
    assert (span, RDF.type, CRM["E52_Time-Span"]) in triples
    outer = finding.build.windows[-1]
    begin = triples.value(span, CRM.P82a_begin_of_the_begin)
    end = triples.value(span, CRM.P82b_end_of_the_end)
    assert isinstance(begin, Literal)
    assert begin.toPython().date() == outer.first
    assert isinstance(end, Literal)
    assert end.toPython().date() == outer.last
    works = list(triples.objects(board, CRM.P31i_was_modified_by))
    assert len(works) == 5, "two later works, one open, one replacement, one recorded work"
    assert all((work, RDF.type, CRM.E11_Modification) in triples for work in works)
    additions = list(triples.subjects(RDF.type, CRM.E79_Part_Addition))
    removals = list(triples.subjects(RDF.type, CRM.E80_Part_Removal))
    added = {str(triples.value(a, CRM.P111_added)).rsplit("#part-")[-1] for a in additions}
    assert added == {"U30", "U31", "U32", "U41", "U42", "U14", "C7", "C8"}
    assert all(triples.value(a, CRM.P110_augmented) == board for a in additions)
    assert all(triples.value(r, CRM.P112_diminished) == board for r in removals)
    assert len(removals) == 3, "U14, C7 and C8 replaced something"


def test_what_the_person_stated_is_attributed_to_the_person() -> None:
    triples = graph(record.linked_art(*boards.synthesiser()))
    stated = list(triples.subjects(RDF.type, CRM.E13_Attribute_Assignment))
    said = {str(label) for s in stated for label in triples.objects(s)}
    for value in ("Larkfield", "R. Tamsin", "Hexa Six", "1978/1983", "Plays after", "Bench 2"):
        assert any(value in text for text in said), value
    assigned = {triples.value(s, CRM.P177_assigned_property_of_type) for s in stated}
    assert {CRM.P14_carried_out_by, CRM.P52_has_current_owner} <= assigned
    assert all(triples.value(s, CRM.P14_carried_out_by) is not None for s in stated)
    build = triples.value(predicate=RDF.type, object=CRM.E12_Production)
    assert triples.value(build, CRM.P14_carried_out_by) is None, "the maker is only stated"


def test_the_owners_own_repair_is_a_modification_carried_out_by_the_owner() -> None:
    found = record.linked_art(*boards.synthesiser())
    (work,) = (w for w in found["modified_by"] if w["_label"].startswith("Recorded work"))
    assert work["carried_out_by"] == [{"type": "Actor", "_label": "the present owner"}]
    assert work["timespan"]["begin_of_the_begin"] == "2026-05-01T00:00:00Z"
    assert list(edtf_texts(work)) == ["2026-05"]


def test_a_recorded_work_on_a_section_moved_the_parts_that_it_fitted_there() -> None:
    finding, survey = boards.synthesiser()
    section = next(p.section for p in finding.parts if p.ref == "U14")
    mine = {p.ref for p in survey.parts() if p.section == section}
    given = {"done": "all chips replaced", "parts": (section,)}
    work = survey.works[0].model_copy(update=given)
    found = record.linked_art(finding, survey.model_copy(update={"works": (work,)}))
    (made,) = (w for w in found["modified_by"] if w["_label"].startswith("Recorded work"))
    added = [part["added"] for part in made["part"] if part["type"] == "PartAddition"]
    assert {part["_label"] for part in added} == mine
    assert {part["id"] for part in added} <= {part["id"] for part in found["part"]}


def test_an_improbable_work_is_not_asserted() -> None:
    finding, survey = boards.synthesiser()
    doubtful = finding.later_works[1].model_copy(update={"probability": 0.49})
    fewer = finding.model_copy(update={"later_works": (finding.later_works[0], doubtful)})
    labels = [w["_label"] for w in record.linked_art(fewer, survey)["modified_by"]]
    assert "Later work: interface board" in labels
    assert "Later work: power" not in labels


def test_a_board_that_nothing_dates_has_no_time_span_of_its_build() -> None:
    assert "timespan" not in record.linked_art(*boards.undated())["produced_by"]


@pytest.mark.parametrize(
    ("done", "removed", "added"),
    [
        ("capacitors replaced", 1, 1),
        ("expander fitted", 0, 1),
        ("battery removed", 1, 0),
        ("contacts cleaned", 0, 0),
        ("capacitors checked, none replaced", 0, 0),
        ("keyboard cleaned without removing anything", 0, 0),
        ("address lines traced", 0, 0),
        ("not replaced, cleaned only", 0, 0),
        ("address lines checked", 0, 0),
        ("left unchanged, tested", 0, 0),
        ("battery not removed, checked only", 0, 0),
    ],
)
def test_what_a_recorded_work_moved(done: str, removed: int, added: int) -> None:
    finding, survey = boards.all_original()
    work = boards.synthesiser().survey.works[0].model_copy(update={"done": done, "parts": ("C1",)})
    found = record.linked_art(finding, survey.model_copy(update={"works": (work,)}))
    moved = [part["type"] for w in found["modified_by"] for part in w.get("part", [])]
    assert (moved.count("PartRemoval"), moved.count("PartAddition")) == (removed, added)


def test_a_work_on_a_section_moved_its_parts() -> None:
    finding, survey = boards.all_original()
    work = (
        boards.synthesiser()
        .survey.works[0]
        .model_copy(update={"done": "all chips replaced", "parts": ("counter",)})
    )
    found = record.linked_art(finding, survey.model_copy(update={"works": (work,)}))
    (made,) = found["modified_by"]
    added = [part["added"]["_label"] for part in made["part"] if "added" in part]
    assert added == ["U1", "U2", "U3", "U4"]
    assert {part["added"]["id"] for part in made["part"] if "added" in part} == {
        part["id"] for part in found["part"]
    }


@SLOW
@given(cases())
def test_any_board_makes_a_record_that_both_readers_take(case: boards.Case) -> None:
    found = record.linked_art(*case)
    Reader().read(for_cromulent(found))
    triples = graph(found)
    parts = set(triples.objects(URIRef(found["id"]), CRM.P46_is_composed_of))
    assert len(parts) == len(case.finding.parts)


def test_every_edtf_text_is_valid(case: boards.Case) -> None:
    """edtf-validate and edtf both take it (ISO 8601-2:2019)."""
    finding, survey = case
    texts = [
        finding.build.edtf,
        *(work.edtf for work in finding.later_works),
        *edtf_texts(record.linked_art(finding, survey)),
        *(
            row[key]
            for row in csv.DictReader(io.StringIO(record.parts_csv(finding)))
            for key in ("reading_edtf", "fitted_edtf")
            if row[key]
        ),
    ]
    assert texts
    for text in dict.fromkeys(texts):
        assert is_valid(text), text
        parse_edtf(text)


@SLOW
@given(cases())
def test_no_cell_is_a_formula(case: boards.Case) -> None:
    """OWASP, CSV Injection: no cell begins with = + - @ unless it is a number."""
    for row in csv.reader(io.StringIO(record.parts_csv(case.finding))):
        assert len(row) == len(record.COLUMNS)
        for cell in row:
            if cell.lstrip()[:1] in tuple("=+-@＝＋－＠") and cell:
                float(cell)
            assert cell.isprintable()


def test_a_number_with_no_formula_in_it_is_left_alone() -> None:
    assert spreadsheet.cell("-25.0") == "-25.0"
    assert spreadsheet.cell("-25x0") == "'-25x0"


def test_the_table_has_every_part_and_the_owners_repairs() -> None:
    finding = boards.synthesiser().finding
    rows = list(csv.DictReader(io.StringIO(record.parts_csv(finding))))
    assert [row["ref"] for row in rows] == [*(p.ref for p in finding.parts), "C7", "C8"]
    by_ref = {row["ref"]: row for row in rows}
    assert by_ref["C7"]["recorded_works"] == ("2026-05: capacitors replaced, by the present owner")
    assert by_ref["U14"]["replacement"] == "0.9560"
    assert by_ref["U4"]["reading_edtf"] == ""


def test_a_date_of_fitting_is_approximate_unless_the_record_states_it() -> None:
    finding = boards.all_original().finding
    stated = f.Window(probability=1.0, first=date(1994, 1, 1), last=date(1994, 12, 31))
    first = finding.parts[0].model_copy(update={"fitted": (stated,)})
    found = finding.model_copy(update={"parts": (first, *finding.parts[1:])})
    rows = list(csv.DictReader(io.StringIO(record.parts_csv(found))))
    assert rows[0]["fitted_edtf"] == "1994"
    assert rows[1]["fitted_edtf"].endswith("~")


def test_where_nothing_dates_the_board_no_date_of_fitting_is_given() -> None:
    rows = list(csv.DictReader(io.StringIO(record.parts_csv(boards.undated().finding))))
    assert [row["fitted_edtf"] for row in rows] == ["", ""]


def test_the_json_comes_back_as_the_same_finding(case: boards.Case) -> None:
    assert Finding.model_validate_json(record.finding_json(case.finding)) == case.finding


def test_the_json_keeps_to_the_published_schema(case: boards.Case) -> None:
    schema = json.loads((DOCS / "finding.schema.json").read_text())
    checker = jsonschema.Draft202012Validator(schema)
    checker.check_schema(schema)
    found = json.loads(record.finding_json(case.finding))
    checker.validate(found)
    del found["build"]["edtf"]
    assert not checker.is_valid(found)


def test_the_published_schema_is_current() -> None:
    text = (DOCS / "finding.schema.json").read_text()
    assert text == record.finding_schema_text(), "run `python -m tests.generated_docs`"
