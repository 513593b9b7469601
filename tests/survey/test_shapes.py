"""The forms in which a survey may be written, and what they come to."""

from __future__ import annotations

from datetime import date
from pathlib import Path

import pytest

from provenance.markings.reader import read_marking
from provenance.survey.files import fingerprint, load_survey
from provenance.survey.model import Survey, SurveyedPart
from provenance.survey.template import template_text
from tests.survey.writing import GOOD, put

SURVEY = """\
board: {title: Filter bank, revision: C, serial: 0042}
production: 1977/1983
trade: Small_Series
today: 2026-05-01
sections:
  voice cards:
    mount: socketed
    joints: factory
    area: left edge
    parts:
      U31: "XR4558 7923"
      U32: {marking: "XR4558 / 7?21", mount: soldered, note: flux residue, adapter: yes}
      U33:
        marking: |
          XR4558
          7921
      U34:
        - XR4558
        - 0731
      U35: ?821
  panel buffer:
    parts: {U40: TL074 7925}
relations:
  - voice cards fitted with panel buffer
  - {subject: panel buffer, kind: mounted on, object: voice cards}
evidence:
  - {kind: bare board code, marking: "7916"}
  - {kind: inspection stamp, date: 1979-08}
  - {kind: document, says: in use by, date: 1981-03-02, note: service invoice, reliability: 0.9}
works:
  - {date: 2026-04, parts: [C7, C8], done: capacitors replaced, by: the present owner}
  - {date: 1990, parts: "C9, C10-C12", done: capacitors replaced}
"""


@pytest.fixture
def survey(tmp_path: Path) -> Survey:
    return load_survey(put(tmp_path, "s.yaml", SURVEY))


def test_parts_inherit_what_their_section_says_and_keep_what_they_say(survey: Survey) -> None:
    assert survey.parts() == (
        SurveyedPart("U31", "voice cards", "XR4558 7923", "socketed", "factory", None),
        SurveyedPart(
            "U32", "voice cards", "XR4558\n7?21", "soldered", "factory", "flux residue", True
        ),
        SurveyedPart("U33", "voice cards", "XR4558\n7921", "socketed", "factory", None),
        SurveyedPart("U34", "voice cards", "XR4558\n0731", "socketed", "factory", None),
        SurveyedPart("U35", "voice cards", "?821", "socketed", "factory", None),
        SurveyedPart("U40", "panel buffer", "TL074 7925", None, None, None),
    )


def test_relations_are_sentences_or_their_three_parts(survey: Survey) -> None:
    assert [relation.sentence for relation in survey.relations] == [
        "voice cards fitted with panel buffer",
        "panel buffer mounted on voice cards",
    ]


def test_dates_are_spans_of_days(survey: Survey) -> None:
    assert survey.production_span() == (date(1977, 1, 1), date(1983, 12, 31))
    assert [evidence.span() for evidence in survey.evidence] == [
        (None, None),
        (date(1979, 8, 1), date(1979, 8, 31)),
        (date(1981, 3, 2), date(1981, 3, 2)),
    ]
    assert survey.works[1].span() == (date(1990, 1, 1), date(1990, 12, 31))
    assert survey.day() == date(2026, 5, 1)


def test_the_rest_is_kept(survey: Survey) -> None:
    assert survey.board.serial == "0042"
    assert survey.trade == "small series"
    assert survey.evidence[2].reliability == 0.9
    assert survey.sections["voice cards"].area == "left edge"


def test_works_name_parts_as_a_list_or_with_commas_and_a_range_stays_text(survey: Survey) -> None:
    assert survey.works[0].parts == ("C7", "C8")
    assert survey.works[1].parts == ("C9", "C10-C12")


def test_the_day_of_the_survey_is_the_current_day_unless_recorded(tmp_path: Path) -> None:
    before = date.today()
    day = load_survey(put(tmp_path, "s.yaml", GOOD)).day()
    assert before <= day <= date.today()


def test_a_comment_after_a_marking_is_a_comment(tmp_path: Path) -> None:
    path = put(tmp_path, "s.yaml", GOOD + "      U2: 7924 # worn\n      U3: A#7 7925 ## worn\n")
    assert [part.marking for part in load_survey(path).parts()[1:]] == ["7924", "A#7 7925"]


HEADER = "ref,marking,section,mount,joints,note"
ROW = "U1,0731,audio,soldered,hand,worn"


@pytest.mark.parametrize(
    ("name", "content"),
    [
        ("s.csv", f"{HEADER}\n{ROW}\n"),
        ("s.csv", f"\ufeff{HEADER}\r\n{ROW}\r\n"),
        ("s.csv", f"{HEADER.title()}\n{ROW}\n".replace(",", ";")),
        ("s.tsv", f"{HEADER}\n{ROW}\n".replace(",", "\t")),
        ("s.csv", "sep=;\r\n" + f"{HEADER}\r\n{ROW}\r\n".replace(",", ";")),
        ("s.csv", f"{','.join(HEADER.split(',')[::-1])}\n{','.join(ROW.split(',')[::-1])}\n"),
        ("s.csv", f"{HEADER}\n\n{ROW}\n,,,,,\n"),
        ("s.csv", f"{HEADER},,\n{ROW},,\n"),
        ("s.csv", '"' + f"{HEADER}\n{ROW}".replace(",", '","').replace("\n", '"\n"') + '"\n'),
        ("s.csv", f"{HEADER}\n{ROW.replace('soldered', 'Soldered')}\n"),
    ],
)
def test_csv_in_the_forms_that_spreadsheets_export(name: str, content: str, tmp_path: Path) -> None:
    survey = load_survey(put(tmp_path, name, content))
    assert survey.parts() == (SurveyedPart("U1", "audio", "0731", "soldered", "hand", "worn"),)
    assert survey.board.title == "s"


def test_csv_needs_a_reference_and_a_marking_only(tmp_path: Path) -> None:
    path = put(tmp_path, "s.csv", 'ref,marking\nU1,"LM741, 7923"\nU2,"XR4558\nTAIWAN\n7921"\n')
    assert load_survey(path).parts() == (
        SurveyedPart("U1", "board", "LM741, 7923", None, None, None),
        SurveyedPart("U2", "board", "XR4558\nTAIWAN\n7921", None, None, None),
    )


def test_the_same_content_has_the_same_fingerprint_in_every_notation(tmp_path: Path) -> None:
    yaml = put(
        tmp_path,
        "a.yaml",
        "board: {title: s}\nsections:\n  board:\n    parts: {U2: A / B, U1: 0731}\n",
    )
    json = put(
        tmp_path,
        "b.json",
        '{"sections": {"board": {"parts": {"U1": "0731", "U2": {"marking": ["A", "B"]}}}},'
        ' "board": {"title": "s", "maker": null}}',
    )
    csv = put(tmp_path, "s.csv", 'ref,marking\nU1,0731\nU2,"A\nB"\n')
    prints = {fingerprint(load_survey(path)) for path in (yaml, json, csv)}
    assert len(prints) == 1
    assert all(len(print_) == 64 for print_ in prints)


@pytest.mark.parametrize(
    ("old", "new"), [("0731", "731"), ("U1", "U3"), ("audio", "power"), ("0731", "0731 ?")]
)
def test_any_change_of_content_changes_the_fingerprint(old: str, new: str, tmp_path: Path) -> None:
    text = "sections: {audio: {parts: {U1: 0731, U2: 0732}}}\n"
    first = fingerprint(load_survey(put(tmp_path, "a.yaml", text)))
    assert fingerprint(load_survey(put(tmp_path, "b.yaml", text.replace(old, new, 1)))) != first


def test_the_fingerprint_is_sha_256_of_canonical_json(tmp_path: Path) -> None:
    """Worked by hand with hashlib alone: keys sorted, no blanks, nothing that was not recorded."""
    import hashlib  # noqa: PLC0415

    survey = load_survey(put(tmp_path, "a.yaml", "sections: {b: {parts: {U1: 0731}}}\n"))
    canonical = '{"sections":{"b":{"parts":{"U1":{"marking":"0731"}}}}}'
    assert fingerprint(survey) == hashlib.sha256(canonical.encode()).hexdigest()


HOUSES = """\
houses:
  - {name: studio A, pattern: "K{year1}{week}-{figures}", years: 1978/1984, source: a ledger}
  - {name: works B, pattern: "{week}W{year2}", years: 1978/..}
"""


def test_house_schemes_are_ready_for_the_reader_and_survive_being_written(tmp_path: Path) -> None:
    survey = load_survey(put(tmp_path, "s.yaml", GOOD + HOUSES))
    assert [(house.name, house.first, house.last) for house in survey.houses] == [
        ("studio A", 1978, 1984),
        ("works B", 1978, None),
    ]
    read = read_marking("K841-203", today=date(2026, 5, 1), houses=survey.houses)
    assert read.readings[0].scheme.startswith("house")
    again = load_survey(put(tmp_path, "s.json", survey.model_dump_json(exclude_defaults=True)))
    assert again == survey
    assert fingerprint(again) == fingerprint(survey)


def test_a_survey_written_as_json_reads_back_the_same(survey: Survey, tmp_path: Path) -> None:
    path = put(tmp_path, "again.json", survey.model_dump_json())
    assert load_survey(path) == survey


def test_the_template_asks_for_the_day_of_the_survey(tmp_path: Path) -> None:
    """Without the day a file gives another answer next year; the example itself has none."""
    text = template_text()
    assert load_survey(put(tmp_path, "new.yaml", text)).today is None
    dated = load_survey(put(tmp_path, "dated.yaml", text.replace("# today: ", "today: ")))
    assert str(dated.today) == "2026-05-01"


def test_the_template_is_a_valid_survey_that_shows_every_key(tmp_path: Path) -> None:
    survey = load_survey(put(tmp_path, "new.yaml", template_text()))
    assert len(survey.parts()) == 7
    assert survey.relations
    assert survey.works
    kept_out = {"today", "houses", "notes"}
    shown = {line.split(":")[0] for line in template_text().splitlines() if line[:1].isalpha()}
    assert shown == set(Survey.model_fields) - kept_out
