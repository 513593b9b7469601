"""The account of several boards of one machine."""

from __future__ import annotations

import json
from importlib.resources import files
from pathlib import Path

import pytest
from cromulent import model
from cromulent.reader import Reader
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from markdown_it import MarkdownIt
from rdflib import Graph
from rich.cells import cell_len

from provenance.census.machine import Belonging, MachineFinding, date_machine
from provenance.errors import ProvenanceError
from provenance.notes.machine import (
    machine_linked_art,
    machine_note,
    machine_report_html,
    machine_screen_text,
    machine_summary,
)
from provenance.notes.note import LISTING_WORDS, Purpose, word_count
from provenance.survey.files import load
from provenance.survey.model import Board, Machine
from tests.notes import boards
from tests.notes.strategies import cases
from tests.notes.test_note import flat
from tests.notes.test_record import for_cromulent
from tests.notes.test_report import Page

SLOW = settings(max_examples=8, suppress_health_check=[HealthCheck.too_slow])
FIXTURE = "fixtures/two-board-machine.yaml"
Pair = tuple[MachineFinding, Machine]


def machine(held: tuple[float, ...], together: float, made: list[boards.Case]) -> Pair:
    findings = tuple(case.finding for case in made)
    windows = findings[0].build.windows
    found = MachineFinding(
        title="Studio rack",
        boards=findings,
        belonging=tuple(
            Belonging(title=f.title or "Untitled board", probability=p)
            for f, p in zip(findings, held, strict=True)
        ),
        together=together,
        windows=windows,
        edtf=boards.interval(windows),
        warnings=(),
    )
    identity = Board.model_construct(
        title="Studio rack", serial="S7", maker="Larkfield", revision="C2"
    )
    return found, Machine.model_construct(
        machine=identity, boards=tuple(case.survey for case in made)
    )


@pytest.fixture
def pair() -> Pair:
    return machine((0.97, 0.12), 0.1, [boards.synthesiser(), boards.all_original()])


def test_a_board_that_does_not_belong_is_pointed_out_with_its_probability(pair: Pair) -> None:
    said = " ".join(machine_summary(pair[0]))
    assert "It is very unlikely (10%) that both boards were built for one machine" in said
    assert "Laboratory counter, unlikely (12%)" in said
    assert "Put together" not in said


def test_where_the_stranger_is_not_known_it_is_said() -> None:
    found, _ = machine((0.52, 0.52), 0.08, [boards.synthesiser(), boards.all_original()])
    assert "do not say which of them is the stranger" in " ".join(machine_summary(found))


def test_of_a_board_that_nothing_dates_it_is_not_said_that_it_belongs() -> None:
    """What was assumed of any board beforehand is no finding about this one."""
    found, surveyed = machine((0.97, 0.9), 0.88, [boards.synthesiser(), boards.undated()])
    said = " ".join(machine_summary(found))
    assert "Built for this machine: Relay controller, not known, undated" in said
    assert "one machine, going by their dates" in said
    record = machine_linked_art(found, surveyed)
    (_, relay) = record["part"]
    assert relay["referred_to_by"][-1]["content"] == "Built for this machine: not known, undated."


def test_dates_that_agree_are_not_told_as_proof_of_one_machine() -> None:
    """Common practice: boards are swapped between machines of one age, and no code tells."""
    found, surveyed = machine((0.97, 0.97), 0.95, [boards.synthesiser(), boards.all_original()])
    told = [" ".join(machine_summary(found)), flat(machine_note(found, surveyed, "listing", "txt"))]
    for text in told:
        assert "of the same age would look the same" in text
    found, surveyed = machine((0.2, 0.2), 0.1, [boards.synthesiser(), boards.all_original()])
    told = [" ".join(machine_summary(found)), flat(machine_note(found, surveyed, "listing", "txt"))]
    for text in told:
        assert "would look the same" not in text


def test_boards_of_one_title_are_told_apart_everywhere() -> None:
    twice = {"boards": [boards.all_original().survey.model_dump(exclude={"board"})] * 2}
    for board in (named := json.loads(json.dumps(twice, default=str)))["boards"]:
        board["board"] = {"title": "Counter"}
    surveyed = Machine.model_validate({"machine": {"title": "Pair"}, **named})
    found = date_machine(surveyed)
    texts = [machine_screen_text(found, surveyed), machine_note(found, surveyed, "owner", "txt")]
    for text in texts:
        assert "\nCounter (1)\n" in text
        assert "\nCounter (2)\n" in text


def test_boards_that_belong_give_the_machine_its_date() -> None:
    found, _ = machine((0.98, 0.97), 0.96, [boards.all_original(), boards.all_original()])
    said = " ".join(machine_summary(found))
    assert "It is extremely likely (96%) that both boards were built for one machine" in said
    assert "Put together between June and September 1980: very likely (90%)" in said


def test_the_screen_tells_the_machine_then_each_board(pair: Pair) -> None:
    text = machine_screen_text(*pair)
    assert max(map(cell_len, text.splitlines())) <= 80
    places = [text.index(s) for s in ("Studio rack", "Six-voice", "U14", "Laboratory counter\n===")]
    assert places == sorted(places)


@SLOW
@given(st.lists(cases(), min_size=1, max_size=5), st.floats(0, 1))
def test_a_listing_of_any_machine_has_at_most_120_words(
    made: list[boards.Case], together: float
) -> None:
    pair = machine((together,) * len(made), together, made)
    for form in ("txt", "md"):
        assert 5 < word_count(machine_note(*pair, "listing", form), form) <= LISTING_WORDS


def test_the_listing_says_whether_the_boards_belong_and_what_was_changed(pair: Pair) -> None:
    text = flat(machine_note(*pair, "listing", "txt"))
    for said in (
        "It is very unlikely (10%) that its two boards were built for one machine",
        "Interface board (U30 to U32) fitted later: extremely likely (97%)",
        "U14 replaced on its own: extremely likely (96%)",
        "Built for this machine: unlikely (12%)",
        "On record: capacitors replaced (C7 and C8), in May 2026, by the present owner",
        "Parts not recorded were not checked",
    ):
        assert said in text


@pytest.mark.parametrize("purpose", ["owner", "archive"])
def test_the_longer_notes_hold_each_board_under_the_machine(pair: Pair, purpose: Purpose) -> None:
    html = MarkdownIt().enable("table").render(machine_note(*pair, purpose, "md"))
    heads = [tag for tag, _ in Page(html).tags if tag in ("h1", "h2", "h3")]
    assert heads.count("h1") == 1
    assert "h3" in heads
    text = flat(machine_note(*pair, purpose, "txt"))
    for said in ("Together", "Studio rack", "Six-voice", "Laboratory counter"):
        assert said in text
    once = {"owner": "follow the scale of the IPCC", "archive": "follow the IPCC guidance note"}
    assert text.count(once[purpose]) == 1, "said once for all boards"


def test_a_note_on_a_machine_refuses_another_purpose_and_takes_a_path_as_text(
    pair: Pair, tmp_path: Path
) -> None:
    (tmp_path / "machine_listing.j2").write_text("{{ many }} boards")
    assert machine_note(*pair, "listing", "txt", str(tmp_path)) == "2 boards\n"
    with pytest.raises(ProvenanceError, match="no note for 'page'"):
        machine_note(*pair, "page")  # type: ignore[arg-type]


def test_the_record_holds_each_board_as_a_part(pair: Pair) -> None:
    found = machine_linked_art(*pair)
    made = Reader().read(for_cromulent(found))
    assert isinstance(made, model.HumanMadeObject)
    assert len(made.part) == 2
    assert "timespan" not in found["produced_by"]
    context = json.loads((files("cromulent") / "data" / "linked-art.json").read_text())
    local = json.dumps({**found, "@context": context["@context"]})
    assert len(Graph().parse(data=local, format="json-ld")) > 100


def test_the_record_of_a_machine_carries_what_was_stated_of_it(pair: Pair) -> None:
    """Classified texts: linked.art, 'Statements about a Resource'."""
    found = machine_linked_art(*pair)
    stated = [*found["attributed_by"], *found["produced_by"]["attributed_by"]]
    said = {assignment["_label"].removeprefix("Stated by the recorder: ") for assignment in stated}
    assert said == {"maker: Larkfield", "revision: C2"}
    assert all(text["classified_as"] for text in found["referred_to_by"])
    assert all(text["classified_as"] for part in found["part"] for text in part["referred_to_by"])


@pytest.mark.parametrize("purpose", ["owner", "archive"])
def test_a_note_on_a_machine_gives_all_that_identifies_it(pair: Pair, purpose: Purpose) -> None:
    text = flat(machine_note(*pair, purpose, "txt"))
    for said in ("Maker, as stated Larkfield", "Revision C2", "Serial number S7"):
        assert said in text


def test_the_report_of_a_machine_nests_and_keeps_the_boards_apart(pair: Pair) -> None:
    page = Page(machine_report_html(*pair))
    ids = [attrs["id"] for _, attrs in page.tags if "id" in attrs]
    assert len(ids) == len(set(ids))
    assert {"b1", "b2", "b1-parts", "b2-parts", "together"} <= set(ids)
    for _, attrs in page.tags:
        if (attrs.get("href") or "").startswith("#"):
            assert str(attrs["href"])[1:] in ids


def test_the_two_board_machine_of_the_fixtures_is_told_whole() -> None:
    loaded = load(FIXTURE)
    assert isinstance(loaded, Machine)
    found = date_machine(loaded)
    text = " ".join(machine_screen_text(found, loaded).split())
    for board in found.belonging:
        assert board.title in text
    assert "that both boards were built for one machine" in text
    Page(machine_report_html(found, loaded))
