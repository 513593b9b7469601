"""The command line: exit codes, messages, whole outputs, many markings."""

from __future__ import annotations

import contextlib
import csv
import io
import json
import os
import pty
import re
import subprocess
import sys
from pathlib import Path

import pytest

import provenance
from provenance import Machine, load, load_survey, read_marking
from provenance.cli import run
from tests.generated_docs import commands

ROOT = Path(__file__).parent.parent
TWO_BOARDS = ROOT / "fixtures" / "two-board-machine.yaml"
DEMO = ROOT / "fixtures" / "six-voice-synthesiser.yaml"
BOARD = '{"sections": {"audio": {"mount": "soldered", "parts": {"U1": "XR4558 7923"}}}}'


def started(*arguments: str, **more: object) -> subprocess.CompletedProcess[str]:
    """A command in a process of its own, as a user starts it."""
    options: dict[str, object] = {"capture_output": True, "stdin": subprocess.DEVNULL} | more
    return subprocess.run(  # type: ignore[call-overload, no-any-return]
        [sys.executable, "-m", "provenance.cli", *arguments],
        cwd=ROOT,
        encoding="utf-8",
        check=False,
        **options,
    )


@pytest.fixture
def board(tmp_path: Path) -> Path:
    """A small valid survey."""
    path = tmp_path / "board.json"
    path.write_text(BOARD)
    return path


# ---- a survey, from nothing ------------------------------------------------------------------


def test_new_writes_a_survey_that_check_finds_valid(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    path = tmp_path / "mine.yaml"
    assert run(["new", str(path)]) == 0
    assert run(["check", str(path)]) == 0
    assert "valid" in capsys.readouterr().out
    assert load_survey(path).parts()


def test_check_tells_what_each_work_is_taken_to_have_fitted(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """What a work says in words that are not known would go unnoticed."""
    path = tmp_path / "works.yaml"
    path.write_text(
        "sections: {main: {parts: {K1: 24V 8412, K2: 24V 8412, U1: 7841}}}\n"
        "works:\n"
        "  - {date: 1995, parts: [K1], done: Relais ersetzt}\n"
        "  - {date: 1996, parts: [main], done: relays replaced}\n"
        "  - {date: 1997, parts: [C9], done: capacitor replaced}\n"
    )
    assert run(["check", str(path)]) == 0
    said = " ".join(capsys.readouterr().out.split())
    assert "Work of 1995 (Relais ersetzt): taken not to have fitted K1." in said
    taken = "taken to have fitted K1 and K2 and not to have fitted U1."
    assert f"Work of 1996 (relays replaced): {taken}" in said
    assert "1997" not in said


def test_new_leaves_a_file_alone_unless_forced(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    path = tmp_path / "mine.yaml"
    path.write_text("kept")
    assert run(["new", str(path)]) == 2
    assert path.read_text() == "kept"
    assert "mine.yaml" in capsys.readouterr().err
    assert run(["new", str(path), "--force"]) == 0
    assert path.read_text() != "kept"


def test_a_run_that_is_broken_off_leaves_with_130(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """128 and the number of the signal, as shells have it: POSIX.1-2017, XCU 2.8.2 (over 128)."""

    def broken_off() -> str:
        raise KeyboardInterrupt

    monkeypatch.setattr(provenance, "template_text", broken_off)
    assert run(["new", str(tmp_path / "mine.yaml")]) == 130
    assert list(tmp_path.iterdir()) == []


def test_new_refuses_a_name_whose_suffix_would_lie(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert run(["new", str(tmp_path / "mine.json")]) == 2
    assert "Fix: end the name in .yaml" in capsys.readouterr().err
    assert list(tmp_path.iterdir()) == []


def test_check_lists_every_mistake(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    path = tmp_path / "bad.yaml"
    path.write_text("sections:\n  a: {mount: soddered, parts: {U1: x}}\nevidense: []\n")
    assert run(["check", str(path)]) == 2
    said = capsys.readouterr().err.splitlines()
    assert len(said) == 2
    assert all(line.startswith(f"provenance: {path}:") and " Fix: " in line for line in said)


def test_check_names_the_sections_that_contradict_each_other(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    path = tmp_path / "circle.yaml"
    path.write_text(
        "sections:\n  one: {parts: {U1: x}}\n  two: {parts: {U2: y}}\n"
        "relations:\n  - one fitted after two\n  - two fitted after one\n"
    )
    assert run(["check", str(path)]) == 2
    said = capsys.readouterr().err
    assert "one" in said
    assert "two" in said


# ---- reading markings ------------------------------------------------------------------------


def test_read_explains_pieces_readings_and_doubt(capsys: pytest.CaptureFixture[str]) -> None:
    assert run(["read", "SN7432N / 7841", "--near", "1978"]) == 0
    said = capsys.readouterr().out
    assert "- SN7432N: part" in said
    assert "7400-series logic" in said
    assert "1978-10-08..15" in said
    assert "No date here" in said
    assert max(map(len, said.splitlines())) <= 80


def test_read_in_json_says_what_python_says(capsys: pytest.CaptureFixture[str]) -> None:
    assert run(["read", "SN7432N / 7841", "--near", "1978", "--until", "1990", "--json"]) == 0
    said = json.loads(capsys.readouterr().out)
    reading = read_marking("SN7432N\n7841", near=1978, years=(1960, 1990))
    assert said["marking"] == reading.marking
    assert said["no_date"] == reading.no_date
    assert [(r["scheme"], r["first"], r["probability"]) for r in said["readings"]] == [
        (r.scheme, r.first.isoformat(), r.probability) for r in reading.readings
    ]


def test_read_shows_no_control_characters(capsys: pytest.CaptureFixture[str]) -> None:
    assert run(["read", "\x1b[31m7841\x07"]) == 0
    assert not set(capsys.readouterr().out) & {"\x1b", "\x07"}


@pytest.mark.parametrize(
    "arguments", [[], ["7841", "--from", "x.csv"], ["7841", "--near", "soon"]], ids=str
)
def test_read_refuses_arguments_that_make_no_sense(
    arguments: list[str], capsys: pytest.CaptureFixture[str]
) -> None:
    assert run(["read", *arguments]) == 2
    assert "Error: " in capsys.readouterr().err


def test_a_marking_that_the_shell_took_apart_is_put_in_quotes(
    capsys: pytest.CaptureFixture[str],
) -> None:
    assert run(["read", "LF353N", "8021", "--near", "1980"]) == 2
    assert 'give the whole marking in quotes: "LF353N 8021"' in capsys.readouterr().err


def test_a_reading_says_once_in_which_scheme_it_is(capsys: pytest.CaptureFixture[str]) -> None:
    assert run(["read", "LF353N 8021"]) == 0
    said = " ".join(capsys.readouterr().out.partition("Piece by piece")[0].split())
    assert said.count("year and week, YYWW") == 1


def test_many_markings_from_standard_input_give_a_row_each() -> None:
    lines = "LF353N / 8021\n\n=2+3\n7841\n＝2+3\n"
    done = started("read", "-", "--near", "1978", stdin=None, input=lines)
    rows = list(csv.DictReader(io.StringIO(done.stdout)))
    assert done.stderr == ""
    assert [row["row"] for row in rows] == ["1", "2", "3", "4", "5"]
    assert [row["first"][:4] for row in rows] == ["1980", "", "", "1978", ""]
    # No spreadsheet takes them for formulas, be the sign of ordinary width or full width.
    assert [rows[2]["marking"], rows[4]["marking"]] == ["'=2+3", "'＝2+3"]


def test_many_markings_in_json_give_a_line_each() -> None:
    done = started("read", "-", "--json", stdin=None, input="7841\nNE555P\n")
    assert [json.loads(line)["marking"] for line in done.stdout.splitlines()] == ["7841", "NE555P"]


@pytest.mark.parametrize("separator", [",", ";", "\t"])
def test_a_column_of_a_table_gives_a_row_each(
    tmp_path: Path, separator: str, capsys: pytest.CaptureFixture[str]
) -> None:
    table = tmp_path / "parts.csv"
    lines = ["ref,code,note", 'U1,"LF353N\n8021",a', "U2,7841,b", "U3"]
    table.write_text("\ufeff" + "\n".join(lines).replace(",", separator), encoding="utf-8")
    assert run(["read", "--from", str(table), "--column", "code"]) == 0
    rows = list(csv.DictReader(io.StringIO(capsys.readouterr().out)))
    assert [row["marking"] for row in rows] == ["LF353N / 8021", "7841", ""]


def test_a_wrong_column_is_told_with_the_nearest_name(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    table = tmp_path / "parts.csv"
    table.write_text("ref,markings\nU1,7841\n")
    assert run(["read", "--from", str(table)]) == 2
    assert capsys.readouterr().err == (
        f"provenance: {table}:1: there is no column 'marking'. Fix: write --column markings\n"
    )


def test_a_column_like_none_is_told_with_those_there_are_and_no_row_is_written(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    table = tmp_path / "parts.csv"
    table.write_text("ref,code\nU1,7841\n")
    assert run(["read", "--from", str(table)]) == 2
    out, err = capsys.readouterr()
    assert "there is no column 'marking'. Fix: write --column and one of ref and code\n" in err
    assert out == ""


def test_a_bar_is_shown_only_while_standard_error_is_a_terminal(tmp_path: Path) -> None:
    table = tmp_path / "many.csv"
    table.write_text("marking\n" + "7841\n" * 2000)
    try:
        ours, theirs = pty.openpty()
    except OSError:
        pytest.skip("the system has no pseudo-terminals")
    shown, rows = b"", tmp_path / "rows.csv"
    with rows.open("w") as out:
        process = subprocess.Popen(
            [sys.executable, "-m", "provenance.cli", "read", "--from", str(table)],
            cwd=ROOT,
            stdout=out,
            stderr=theirs,
        )
        os.close(theirs)
        with contextlib.suppress(OSError):  # How the end of a terminal is told.
            while piece := os.read(ours, 65536):
                shown += piece
    os.close(ours)
    assert process.wait() == 0
    assert b"reading" in shown
    assert len(rows.read_text().splitlines()) == 2001
    assert started("read", "--from", str(table)).stderr == ""


# ---- mistakes and mishaps: one message, no traceback -----------------------------------------

NEEDS_SURVEY = [
    name
    for name, command in commands().items()
    if name != "new" and any(p.name == "file" for p in command.params)
]
MORE = {"note": ["--for", "listing"], "record": ["--as", "csv"], "report": ["-o", "report.html"]}


@pytest.mark.parametrize("name", NEEDS_SURVEY)
@pytest.mark.parametrize("kind", ["missing", "folder", "empty", "binary", "no suffix"])
def test_a_survey_that_cannot_be_used_gives_one_message(
    name: str, kind: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    path = tmp_path / ("board" if kind == "no suffix" else "board.yaml")
    if kind == "folder":
        path.mkdir()
    elif kind != "missing":
        path.write_bytes(
            {"empty": b"", "binary": b"\x89PNG\r\n\x1a\n\0\0"}.get(kind, BOARD.encode())
        )
    assert run([name, str(path), *MORE.get(name, [])]) == 2
    said = capsys.readouterr()
    assert said.out == ""
    assert len(said.err.splitlines()) == 1
    assert said.err.startswith(f"provenance: {path}: ")
    assert " Fix: " in said.err


def test_a_complaint_does_nothing_to_a_terminal_whatever_it_quotes(
    board: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    templates = tmp_path / "wording"
    templates.mkdir()
    (templates / "listing.j2").write_text("{% include '\x1b[31m\n.j2' %}")
    ask = ["note", str(board), "--for", "listing", "--templates"]
    for folder in (templates, tmp_path / "\x1b[2J"):
        assert run([*ask, str(folder)]) == 2
        said = capsys.readouterr().err
        assert said.startswith("provenance: ")
        assert said.removesuffix("\n").isprintable()


def test_a_reader_that_goes_away_ends_the_run_quietly() -> None:
    process = subprocess.Popen(
        [sys.executable, "-m", "provenance.cli", "families"],
        cwd=ROOT,
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        stdin=subprocess.DEVNULL,
    )
    assert process.stdout
    assert process.stderr
    process.stdout.close()
    assert process.stderr.read() == b""
    process.stderr.close()
    assert process.wait() == 1


@pytest.mark.skipif(not Path("/dev/full").exists(), reason="the system has no full device")
def test_a_full_disk_is_told_in_one_line() -> None:
    with open("/dev/full", "w", encoding="utf-8") as full:
        done = started("families", capture_output=False, stdout=full, stderr=subprocess.PIPE)
    assert done.returncode == 2
    assert done.stderr == "provenance: No space left on device\n"


def test_a_terminal_without_the_characters_gets_them_spelt_out() -> None:
    environment = {**os.environ, "PYTHONIOENCODING": "ascii"}
    done = started("read", "© 7841", env=environment)
    assert done.returncode == 0
    assert "\\xa9 7841" in done.stdout


def test_bytes_that_are_no_text_on_the_command_line_are_no_error() -> None:
    done = subprocess.run(
        [sys.executable, "-m", "provenance.cli", "read", b"\xff7841"],
        cwd=ROOT,
        capture_output=True,
        check=False,
    )
    assert (done.returncode, done.stderr) == (0, b"")


@pytest.mark.parametrize("words", [["no-such-command"], ["date"], ["date", "--no-such-option"]])
def test_a_wrong_command_line_says_where_to_look(
    words: list[str], capsys: pytest.CaptureFixture[str]
) -> None:
    assert run(words) == 2
    said = capsys.readouterr().err
    assert "Usage: provenance" in said
    assert "--help" in said


def test_the_package_runs_as_the_command_does() -> None:
    """Python's documentation, the -m option: a package is run by its module __main__."""
    words = [sys.executable, "-m", "provenance"]
    shown = subprocess.run([*words, "--version"], capture_output=True, cwd=ROOT, check=True)
    assert shown.stdout.decode().strip() == provenance.__version__
    wrong = subprocess.run([*words, "date"], capture_output=True, cwd=ROOT, check=False)
    assert wrong.returncode == 2
    assert b"Usage: provenance date" in wrong.stderr


# ---- the answer, and outputs -----------------------------------------------------------------


def test_date_prints_the_answer_within_80_columns_and_without_colour(
    capsys: pytest.CaptureFixture[str],
) -> None:
    assert run(["date", str(DEMO)]) == 0
    said = capsys.readouterr().out
    assert said.startswith("Six-voice studio synthesiser")
    assert "\x1b" not in said
    assert max(map(len, said.splitlines())) <= 80


def test_date_in_json_has_the_documented_keys(capsys: pytest.CaptureFixture[str]) -> None:
    assert run(["date", str(DEMO), "--json"]) == 0
    said = json.loads(capsys.readouterr().out)
    assert {"probability", "first", "last"} == set(said["build"]["windows"][0])
    assert said["build"]["edtf"]
    assert {"probability", "windows", "parts"} <= set(said["later_works"][0])
    part = said["parts"][0]
    assert {"ref", "section", "origin", "reading"} <= set(part)
    assert set(part["origin"]) == {"original", "later_work", "replacement"}
    assert {"scheme", "text", "first", "last", "probability"} == set(part["reading"])
    assert isinstance(said["warnings"], list)


def test_date_of_a_machine_tells_whether_its_boards_belong_together(
    capsys: pytest.CaptureFixture[str],
) -> None:
    machine = load(TWO_BOARDS)
    assert isinstance(machine, Machine)
    assert run(["date", str(TWO_BOARDS)]) == 0
    said = capsys.readouterr().out
    assert "built for one machine" in said
    assert all(f"\n{board.board.title}\n" in said for board in machine.boards)
    assert max(map(len, said.splitlines())) <= 80
    assert run(["date", str(TWO_BOARDS), "--json"]) == 0
    told = json.loads(capsys.readouterr().out)
    assert len(told["boards"]) == len(told["belonging"]) == len(machine.boards)


def test_why_of_a_part_that_is_not_there_names_those_that_are(
    board: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert run(["why", str(board), "U9"]) == 2
    assert "U1" in capsys.readouterr().err


@pytest.mark.parametrize(
    ("typed", "meant"), [("u1", "use U1\n"), ("u 1", "use U1\n"), ("Audio", "use one of U1\n")]
)
def test_why_of_a_part_in_other_letters_or_of_a_section_names_the_part_meant(
    board: Path, typed: str, meant: str, capsys: pytest.CaptureFixture[str]
) -> None:
    assert run(["why", str(board), typed]) == 2
    assert capsys.readouterr().err.endswith(meant)


@pytest.mark.parametrize(
    ("typed", "fix"),
    [
        ("-", "save it as a file"),
        ("bord.json", "did you mean board.json?"),
        ("board.yaml", "did you mean board.json?"),
        ("amp.json", "check the path"),
    ],
)
def test_a_survey_that_is_not_there_is_looked_for_by_its_name_and_not_its_suffix(
    board: Path,
    typed: str,
    fix: str,
    monkeypatch: pytest.MonkeyPatch,
    capsys: pytest.CaptureFixture[str],
) -> None:
    monkeypatch.chdir(board.parent)
    assert run(["check", typed]) == 2
    assert fix in capsys.readouterr().err


OUTPUTS = [
    *(["note", "--for", kind] for kind in ("listing", "owner", "archive")),
    *(["record", "--as", kind] for kind in ("linked-art", "csv", "json")),
    ["report"],
]


@pytest.mark.parametrize("words", OUTPUTS, ids=" ".join)
def test_an_output_of_a_machine_tells_of_each_board(words: list[str], tmp_path: Path) -> None:
    name, *options = words
    out = tmp_path / "out.txt"
    assert run([name, str(TWO_BOARDS), *options, "-o", str(out)]) == 0
    said = out.read_text(encoding="utf-8")
    machine = load(TWO_BOARDS)
    assert isinstance(machine, Machine)
    assert [
        board.board.title for board in machine.boards if str(board.board.title) not in said
    ] == []


def test_why_of_a_machine_tells_of_each_board_or_of_one_part(
    capsys: pytest.CaptureFixture[str],
) -> None:
    machine = load(TWO_BOARDS)
    assert isinstance(machine, Machine)
    first, second = machine.boards
    only = next(iter({p.ref for p in first.parts()} - {p.ref for p in second.parts()}))
    assert run(["why", str(TWO_BOARDS), only]) == 0
    said = capsys.readouterr().out
    assert re.search(rf"^{only}\b", said, re.MULTILINE)
    assert str(second.board.title) not in said
    assert run(["why", str(TWO_BOARDS), "NOPE"]) == 2


def test_why_of_a_machine_names_the_part_meant(capsys: pytest.CaptureFixture[str]) -> None:
    machine = load(TWO_BOARDS)
    assert isinstance(machine, Machine)
    ref = machine.boards[0].parts()[0].ref
    assert run(["why", str(TWO_BOARDS), ref.lower()]) == 2
    assert capsys.readouterr().err.endswith(f"leave the reference out, or use {ref}\n")


STARTS = {"png": b"\x89PNG", "svg": b"<?xml", "pdf": b"%PDF"}


@pytest.mark.parametrize("form", list(STARTS))
def test_a_plot_is_drawn_beside_the_answer_whole_and_never_over_another(
    form: str, board: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    plot = tmp_path / f"plot.{form}"
    assert run(["date", str(board), "--plot", str(plot)]) == 0
    assert plot.read_bytes().startswith(STARTS[form])
    assert "Built" in capsys.readouterr().out
    plot.write_bytes(b"old")
    assert run(["date", str(board), "--plot", str(plot)]) == 2
    assert plot.read_bytes() == b"old"
    assert run(["date", str(board), "--plot", str(plot), "--force"]) == 0
    assert plot.read_bytes().startswith(STARTS[form])


@pytest.mark.parametrize("form", list(STARTS))
def test_a_plot_of_a_machine_is_drawn_beside_the_answer_and_never_over_another(
    form: str, board: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    machine, plot = tmp_path / "machine.yaml", tmp_path / f"plot.{form}"
    machine.write_text(f"boards:\n  - {board.name}\n  - {BOARD}\n")
    assert run(["date", str(machine), "--plot", str(plot)]) == 0
    assert plot.read_bytes().startswith(STARTS[form])
    said = capsys.readouterr()
    assert "built for one machine" in said.out
    assert said.err == f"Wrote {plot}.\n"
    plot.write_bytes(b"old")
    assert run(["date", str(machine), "--plot", str(plot)]) == 2
    assert plot.read_bytes() == b"old"


def test_a_plot_of_another_kind_is_refused(
    board: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert run(["date", str(board), "--plot", str(tmp_path / "plot.gif")]) == 2
    assert ".png, .svg or .pdf" in capsys.readouterr().err
    assert not (tmp_path / "plot.gif").exists()


@pytest.mark.parametrize("words", OUTPUTS, ids=" ".join)
def test_an_output_goes_to_a_file_whole_and_never_over_another(
    words: list[str], board: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    name, *options = words
    out = tmp_path / "out.txt"
    ask = [name, str(board), *options, "-o", str(out)]
    assert run(ask) == 0
    first = out.read_text(encoding="utf-8")
    assert first.strip()
    assert run(ask) == 2
    out.write_text("old")
    assert run(ask) == 2
    assert out.read_text() == "old"
    assert run([*ask, "--force"]) == 0
    assert out.read_text(encoding="utf-8") == first
    assert "out.txt" in capsys.readouterr().out


@pytest.mark.parametrize("words", OUTPUTS, ids=" ".join)
def test_no_output_goes_over_the_survey_even_when_forced(
    words: list[str], board: Path, tmp_path: Path
) -> None:
    name, *options = words
    again = tmp_path / "link.json"
    again.symlink_to(board)
    for out in (board, again):
        assert run([name, str(board), *options, "-o", str(out), "--force"]) == 2
    assert board.read_text() == BOARD


@pytest.mark.parametrize("words", OUTPUTS, ids=" ".join)
def test_no_output_of_a_machine_goes_over_the_survey_of_a_board(
    words: list[str], board: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    name, *options = words
    machine = tmp_path / "machine.yaml"
    machine.write_text("boards:\n  - board.json\n")
    (tmp_path / "link.json").symlink_to(board)
    for out in (board, tmp_path / "link.json", machine):
        assert run([name, str(machine), *options, "-o", str(out), "--force"]) == 2
        assert capsys.readouterr().err == (
            f"provenance: {out}: is a file that this was made from, and is never written over. "
            "Fix: give another name\n"
        )
    assert board.read_text() == BOARD
    assert machine.read_text() == "boards:\n  - board.json\n"


def test_no_note_goes_over_a_template_it_was_made_with(board: Path, tmp_path: Path) -> None:
    template = tmp_path / "wording" / "listing.j2"
    template.parent.mkdir()
    template.write_text("{{ title }}\n")
    ask = ["note", str(board), "--for", "listing", "--templates", str(template.parent)]
    assert run([*ask, "-o", str(template), "--force"]) == 2
    assert template.read_text() == "{{ title }}\n"
    assert run([*ask, "-o", str(template.with_name("out.md")), "--force"]) == 0


def test_an_output_that_cannot_be_written_leaves_nothing(
    board: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    folder = tmp_path / "folder"
    folder.mkdir()
    listing = ["note", str(board), "--for", "listing", "-o"]
    for out in (folder, folder / "no" / "such" / "note.md"):
        assert run([*listing, str(out)]) == 2
        assert len(capsys.readouterr().err.splitlines()) == 1
    assert list(folder.iterdir()) == []
