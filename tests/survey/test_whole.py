"""Files are written whole or not at all, and never over what the user has."""

from __future__ import annotations

import os
import pickle
from pathlib import Path

import pytest

from provenance import cli
from provenance.errors import OutputError, ProvenanceError
from provenance.survey.files import load
from provenance.survey.whole import write_whole, write_whole_bytes
from tests.survey.writing import GOOD, put


def refused(path: Path, **options: object) -> str:
    with pytest.raises(OutputError) as caught:
        write_whole(path, "new", **options)  # type: ignore[arg-type]
    return str(caught.value).replace(f"{path.parent}/", "")


def test_text_is_written_in_utf_8_and_bytes_as_they_are(tmp_path: Path) -> None:
    write_whole(tmp_path / "a.txt", "µA741\n")
    write_whole_bytes(tmp_path / "a.bin", b"\x89\x00\n")
    assert (tmp_path / "a.txt").read_bytes() == b"\xc2\xb5A741\n"
    assert (tmp_path / "a.bin").read_bytes() == b"\x89\x00\n"
    assert sorted(path.name for path in tmp_path.iterdir()) == ["a.bin", "a.txt"]


def test_an_existing_file_is_left_unless_it_may_be_written_over(tmp_path: Path) -> None:
    path = tmp_path / "a.txt"
    path.write_text("old")
    assert refused(path) == (
        "a.txt: is there already, and was left as it is. "
        "Fix: give another name, or write over it with overwrite=True"
    )
    assert path.read_text() == "old"
    write_whole(path, "new", overwrite=True)
    assert path.read_text() == "new"


@pytest.mark.parametrize(
    "command", [["new", "a.yaml"], ["record", "s.yaml", "--as", "csv", "--out", "a.yaml"]]
)
def test_the_command_line_names_its_own_option(
    command: list[str],
    tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
    capsys: pytest.CaptureFixture[str],
) -> None:
    monkeypatch.chdir(tmp_path)
    put(tmp_path, "s.yaml", GOOD)
    put(tmp_path, "a.yaml", "old")
    assert cli.run(command) == 2
    assert capsys.readouterr().err == (
        "provenance: a.yaml: is there already, and was left as it is. "
        "Fix: give another name, or write over it with --force\n"
    )
    assert (tmp_path / "a.yaml").read_text() == "old"
    assert cli.run([*command, "--force"]) == 0
    assert (tmp_path / "a.yaml").read_text() != "old"


def test_the_survey_itself_is_never_written_over(tmp_path: Path) -> None:
    survey = tmp_path / "s.yaml"
    survey.write_text("old")
    (tmp_path / "link.yaml").symlink_to(survey)
    os.link(survey, tmp_path / "hard.yaml")
    for name in ("s.yaml", "link.yaml", "hard.yaml"):
        assert refused(tmp_path / name, overwrite=True, inputs=[survey]) == (
            f"{name}: is a file that this was made from, and is never written over. "
            "Fix: give another name"
        )
    assert survey.read_text() == "old"


def test_a_failure_half_way_leaves_no_trace(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    path = tmp_path / "a.txt"
    path.write_text("old")

    def disk_full(_handle: int) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(os, "fsync", disk_full)
    assert refused(path, overwrite=True) == (
        "a.txt: cannot be written: No space left on device. Fix: write it elsewhere"
    )
    assert [p.name for p in tmp_path.iterdir()] == ["a.txt"]
    assert path.read_text() == "old"


def test_a_file_that_appears_meanwhile_is_not_written_over(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    path = tmp_path / "a.txt"
    sync = os.fsync

    def meanwhile(handle: int) -> None:
        sync(handle)
        path.write_text("another's")

    monkeypatch.setattr(os, "fsync", meanwhile)
    assert "is there already" in refused(path)
    assert path.read_text() == "another's"
    assert [p.name for p in tmp_path.iterdir()] == ["a.txt"]


def test_a_file_system_without_hard_links_will_do(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def no_links(*_args: object) -> None:
        raise OSError(95, "Operation not supported")

    monkeypatch.setattr(os, "link", no_links)
    write_whole(tmp_path / "a.txt", "new")
    assert (tmp_path / "a.txt").read_text() == "new"


def test_what_is_no_file_is_refused(tmp_path: Path) -> None:
    (tmp_path / "folder").mkdir()
    os.mkfifo(tmp_path / "pipe")
    assert refused(tmp_path / "folder") == (
        "folder: is a folder. Fix: give the name of a file in it"
    )
    assert refused(tmp_path / "pipe", overwrite=True) == (
        "pipe: is not an ordinary file. Fix: give another name"
    )
    assert refused(tmp_path / "nowhere" / "a.txt") == (
        "a.txt: its folder does not exist. Fix: make the folder first"
    )


def test_modes_follow_the_umask_or_the_file_that_was_there(tmp_path: Path) -> None:
    path = tmp_path / "a.txt"
    old = os.umask(0o027)
    try:
        write_whole(path, "new")
    finally:
        os.umask(old)
    assert path.stat().st_mode & 0o777 == 0o640
    path.chmod(0o604)
    write_whole(path, "newer", overwrite=True)
    assert path.stat().st_mode & 0o777 == 0o604


def test_the_umask_of_other_threads_is_left_alone(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The system knows no way to ask for the umask but to set another for a moment."""
    monkeypatch.setattr(os, "umask", lambda _mask: pytest.fail("the umask was changed"))
    write_whole(tmp_path / "a.txt", "new")
    write_whole(tmp_path / "a.txt", "newer", overwrite=True)
    assert (tmp_path / "a.txt").read_text() == "newer"


def test_the_errors_come_whole_from_another_process(tmp_path: Path) -> None:
    path = put(tmp_path, "board.yaml", GOOD + "board: {titel: x}\n")
    for fail in (lambda: write_whole(path, "new"), lambda: load(path)):
        with pytest.raises(ProvenanceError) as raised:
            fail()
        there = pickle.loads(pickle.dumps(raised.value))
        assert type(there) is type(raised.value)
        assert (str(there), vars(there).keys()) == (str(raised.value), vars(raised.value).keys())


def test_a_link_is_written_through(tmp_path: Path) -> None:
    target = tmp_path / "target.txt"
    target.write_text("old")
    (tmp_path / "link.txt").symlink_to(target)
    write_whole(tmp_path / "link.txt", "new", overwrite=True)
    assert (tmp_path / "link.txt").is_symlink()
    assert target.read_text() == "new"
