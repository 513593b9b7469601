"""A file of several boards of one machine."""

from __future__ import annotations

from pathlib import Path

import pytest

from provenance.errors import SurveyError
from provenance.survey.files import fingerprint, load, load_survey
from provenance.survey.model import Machine, Survey
from tests.survey.writing import GOOD, complaint, put

INLINE = """\
machine: {title: Frequency counter, model: FC-20}
boards:
  - board: {title: timebase}
    sections: {main: {parts: {U1: "SN7490AN 7812"}}}
  - boards/display.yaml
"""


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    put(tmp_path, "boards/display.yaml", GOOD)
    return tmp_path


def test_boards_are_written_out_or_named_by_file(folder: Path) -> None:
    machine = load(put(folder, "machine.yaml", INLINE))
    assert isinstance(machine, Machine)
    assert machine.machine.title == "Frequency counter"
    assert [[part.marking for part in board.parts()] for board in machine.boards] == [
        ["SN7490AN 7812"],
        ["LM741CN 7923"],
    ]
    assert machine.boards[1] == load_survey(folder / "boards" / "display.yaml")


def test_the_same_reference_may_stand_on_two_boards(folder: Path) -> None:
    path = put(folder, "m.yaml", "boards:\n  - boards/display.yaml\n  - x.csv\n")
    put(folder, "x.csv", "ref,marking\nU1,0731\n")
    machine = load(path)
    assert isinstance(machine, Machine)
    assert [board.parts()[0].ref for board in machine.boards] == ["U1", "U1"]


def test_a_machine_in_json_has_the_same_fingerprint(folder: Path) -> None:
    machine = load(put(folder, "machine.yaml", INLINE))
    again = load(put(folder, "machine.json", machine.model_dump_json(exclude_defaults=True)))
    assert again == machine
    assert fingerprint(again) == fingerprint(machine)


def test_one_board_is_not_a_machine(folder: Path) -> None:
    assert isinstance(load(folder / "boards" / "display.yaml"), Survey)
    with pytest.raises(SurveyError) as caught:
        load_survey(put(folder, "machine.yaml", INLINE))
    assert str(caught.value).endswith(
        "machine.yaml: boards: holds several boards where the survey of one is needed. "
        "Fix: name the survey file of one board"
    )


@pytest.mark.parametrize(
    ("boards", "said"),
    [
        (
            "[boards/dsplay.yaml]",
            "m.yaml:1: boards 1: there is no file 'boards/dsplay.yaml' beside this one. "
            "Fix: write boards/display.yaml",
        ),
        (
            "[nowhere/counter.yaml]",
            "m.yaml:1: boards 1: there is no file 'nowhere/counter.yaml' beside this one. "
            "Fix: give the path from this file's folder",
        ),
        (
            "[othr.yaml]",
            "m.yaml:1: boards 1: there is no file 'othr.yaml' beside this one. "
            "Fix: write other.yaml",
        ),
        (
            "[../display.yaml]",
            "m.yaml:1: boards 1: '../display.yaml' lies outside the folder of this file. "
            "Fix: put the survey beside this file or in a folder below it",
        ),
        (
            "[/etc/survey.yaml]",
            "m.yaml:1: boards 1: '/etc/survey.yaml' is an absolute path. "
            "Fix: give the path from this file's folder",
        ),
        (
            "[link.yaml]",
            "m.yaml:1: boards 1: 'link.yaml' lies outside the folder of this file. "
            "Fix: put the survey beside this file or in a folder below it",
        ),
        (
            "[m.yaml]",
            "m.yaml:1: boards 1: 'm.yaml' is itself a machine of several boards. "
            "Fix: name the surveys of its boards here",
        ),
        (
            "\n  - boards/display.yaml\n  - boards/../boards/display.yaml",
            "m.yaml:3: boards 2: 'boards/../boards/display.yaml' is named twice. "
            "Fix: name each survey once",
        ),
        (
            "[]",
            "m.yaml:1: boards: the machine has no boards. "
            "Fix: list at least one survey under boards",
        ),
        (
            "other.yaml",
            "m.yaml:1: boards: is the text 'other.yaml' where a list is expected. "
            "Fix: begin each item with a dash and a blank",
        ),
        (
            "\n  - sectoins: {}",
            "m.yaml:2: boards 1 > sectoins: there is no key 'sectoins' here. Fix: write sections",
        ),
        (
            "\n  - sections:\n      a:\n        prts: {}",
            "m.yaml:4: boards 1 > sections > a > prts: there is no key 'prts' here. "
            "Fix: write parts",
        ),
        (
            "[bad.yaml]",
            "bad.yaml:2: sections > a > prts: there is no key 'prts' here. Fix: write parts",
        ),
        (
            f"[{', '.join(['other.yaml'] * 101)}]",
            "m.yaml:1: boards: holds 101 boards; 100 is the most. "
            "Fix: make one file for each machine",
        ),
        (
            f"[{'x' * 300}.yaml]",
            f"m.yaml:1: boards 1: there is no file '{'x' * 57}...' beside this one. "
            "Fix: give the path from this file's folder",
        ),
    ],
)
def test_what_cannot_be_included(boards: str, said: str, folder: Path) -> None:
    machine = folder / "machine"
    put(machine, "boards/display.yaml", GOOD)
    put(machine, "other.yaml", GOOD)
    put(machine, "bad.yaml", "sections:\n  a: {prts: {}}\n")
    put(folder, "display.yaml", GOOD)
    (machine / "link.yaml").symlink_to(folder / "display.yaml")
    assert complaint(put(machine, "m.yaml", f"boards: {boards}\n")) == said


def test_a_machine_file_knows_its_own_keys(folder: Path) -> None:
    path = put(folder, "m.yaml", "machine: {titel: x}\nboards: [boards/display.yaml]\n")
    assert complaint(path) == (
        "m.yaml:1: machine > titel: there is no key 'titel' here. Fix: write title"
    )


def test_a_key_of_the_boards_is_sent_to_the_boards(folder: Path) -> None:
    path = put(folder, "m.yaml", "boards: [boards/display.yaml]\ntoday: 2026-01-01\n")
    assert complaint(path) == (
        "m.yaml:2: today: there is no key 'today' here. "
        "Fix: write it in the surveys of the boards, below boards"
    )


CIRCLE = "relations:\n- b fitted after a\n- a fitted after b\n"


def test_a_circle_is_told_of_the_board_that_has_it(folder: Path) -> None:
    board = f"sections:\n  a: {{parts: {{U1: x}}}}\n  b: {{}}\n{CIRCLE}"
    said = "'b fitted after a' and 'a fitted after b' form a circle"
    inner = board.replace("\n", "\n    ").rstrip()
    inline = put(
        folder, "m.yaml", f"boards:\n  - sections: {{c: {{parts: {{U1: x}}}}}}\n  - {inner}\n"
    )
    assert complaint(inline).startswith(f"m.yaml:8: boards 2 > relations 2: {said}")
    put(folder, "bad.yaml", board)
    named = put(folder, "m.yaml", "boards: [boards/display.yaml, bad.yaml]\n")
    assert complaint(named).startswith(f"bad.yaml:6: relations 2: {said}")


def test_a_machine_holds_no_more_parts_than_one_survey_may(folder: Path) -> None:
    for name in ("a", "b"):
        put(folder, f"{name}.csv", "ref,marking\n" + "".join(f"U{n},x\n" for n in range(3_000)))
    assert complaint(put(folder, "m.yaml", "boards: [a.csv, b.csv]\n")) == (
        "m.yaml:1: boards: the machine holds 6,000 parts; 5,000 is the most. "
        "Fix: make one file for each part of the machine"
    )
