"""Survey files in.

Knows paths, encodings and sizes, which notation a suffix means, and how a machine's file names the
surveys of its boards. The notations are in ``syntax``, the models in ``model``, the sentences for
a model's complaints in ``complaints``; files out are the business of ``whole``.
"""

from __future__ import annotations

import contextlib
import hashlib
import json
import os
import stat
from collections.abc import Callable
from pathlib import Path
from typing import Any, NamedTuple, Protocol

from provenance.errors import SurveyError, safe
from provenance.survey.complaints import validated
from provenance.survey.model import Machine, Survey
from provenance.survey.syntax import (
    Document,
    csv_document,
    in_words,
    json_document,
    refuse_control_characters,
    yaml_document,
)
from provenance.survey.wording import nearest, one_of, shown

LARGEST = 2_000_000
"""Most bytes of one survey file."""
MOST_BOARDS = 100
"""Most boards of one machine."""
SUFFIXES = (".yaml", ".yml", ".json", ".csv", ".tsv")

_BINARY = {
    b"PK\x03\x04": ("a spreadsheet workbook or another zip archive", "export it as CSV, UTF-8"),
    b"\xd0\xcf\x11\xe0": ("an old spreadsheet workbook", "export it as CSV, UTF-8"),
    b"%PDF": ("a PDF", "type the markings into a survey file"),
    b"\x89PNG": ("a picture", "type the markings into a survey file"),
    b"\xff\xd8\xff": ("a picture", "type the markings into a survey file"),
    b"\x1f\x8b": ("a compressed file", "unpack it first"),
}
"""First bytes of files that are handed over by mistake (file signatures, common practice)."""


def load_survey(path: str | os.PathLike[str]) -> Survey:
    """The survey of one board from a YAML, JSON or CSV file.

    Raises SurveyError, with file, line, key and the likely fix.
    """
    found = load(path)
    if isinstance(found, Machine):
        raise SurveyError(
            "holds several boards where the survey of one is needed",
            _name(Path(path)),
            None,
            "boards",
            "name the survey file of one board",
        )
    return found


def load(path: str | os.PathLike[str]) -> Survey | Machine:
    """A survey, or a machine of several boards. Raises SurveyError."""
    return load_with_files(path).record


class Loaded(NamedTuple):
    """What a file records, and every file that was read for it."""

    record: Survey | Machine
    files: tuple[Path, ...]


def load_with_files(path: str | os.PathLike[str]) -> Loaded:
    """What ``load`` gives, with the files it was read from: of a machine also those of its boards.

    For a caller that writes, so that none of them is written over. Raises SurveyError.
    """
    path = Path(path)
    document = _document(path)
    data = document.data
    if isinstance(data, dict) and _is_machine(data):
        whole, named = _with_boards(data, path, document)
        return Loaded(validated(Machine, whole, document, _name(path)), (path, *named))
    return Loaded(validated(Survey, data, document, _name(path)), (path,))


def _is_machine(data: dict[str, Any]) -> bool:
    return "boards" in data or "machine" in data


def _with_boards(
    data: dict[str, Any], path: Path, document: Document
) -> tuple[dict[str, Any], list[Path]]:
    """A machine's data with every survey file that it names read, and those files."""
    boards = data.get("boards")
    if not isinstance(boards, list):
        return data, []
    if len(boards) > MOST_BOARDS:
        raise SurveyError(
            f"holds {len(boards):,} boards; {MOST_BOARDS} is the most",
            _name(path),
            document.line(("boards",)),
            "boards",
            "make one file for each machine",
        )
    named: list[Path] = []
    read: list[Any] = []
    for index, board in enumerate(boards):
        if not isinstance(board, str):
            read.append(board)
            continue

        def refused(message: str, fix: str, index: int = index) -> SurveyError:
            place = ("boards", index)
            return SurveyError(message, _name(path), document.line(place), in_words(place), fix)

        target = _board_file(board, path.resolve().parent, refused)
        if target in named:
            raise refused(f"'{shown(board)}' is named twice", "name each survey once")
        named.append(target)
        inner = _document(target, path.parent / board)
        if isinstance(inner.data, dict) and _is_machine(inner.data):
            raise refused(
                f"'{shown(board)}' is itself a machine of several boards",
                "name the surveys of its boards here",
            )
        read.append(validated(Survey, inner.data, inner, _name(path.parent / board)))
    return {**data, "boards": read}, named


def _board_file(name: str, folder: Path, refused: Callable[[str, str], SurveyError]) -> Path:
    """The survey file that a machine's file in a folder names.

    It lies in that folder or below and is the survey of one board, so that nothing is read from
    elsewhere and no file can include itself.
    """
    if Path(name).is_absolute():
        raise refused(
            f"'{shown(name)}' is an absolute path", "give the path from this file's folder"
        )
    try:
        target = (folder / name).resolve()
        there = target.exists()
    except (OSError, ValueError):
        target, there = folder / "-", False
    if not target.is_relative_to(folder):
        raise refused(
            f"'{shown(name)}' lies outside the folder of this file",
            "put the survey beside this file or in a folder below it",
        )
    if not there:
        near = _near(target, folder)
        raise refused(
            f"there is no file '{shown(name)}' beside this one",
            f"write {shown(near)}" if near else "give the path from this file's folder",
        )
    return target


def _near(target: Path, folder: Path) -> str | None:
    """The survey file whose name is most like a wrong one, by its path from the folder."""
    name = _like(target)
    return (target.parent / name).relative_to(folder).as_posix() if name else None


def _like(wrong: Path) -> str | None:
    """The survey file beside a missing one whose name without its suffix is most like its."""
    with contextlib.suppress(OSError):
        beside = (p for p in wrong.parent.iterdir() if p.suffix.casefold() in SUFFIXES)
        names = {path.stem: path.name for path in beside}
        if (stem := nearest(wrong.stem, names)) is not None:
            return names[stem]
    return None


def _document(path: Path, shown_as: Path | None = None) -> Document:
    """The plain data of a file, by its suffix."""
    file = _name(shown_as or path)
    suffix = path.suffix.casefold()
    if str(path) == "-":
        raise SurveyError(
            "a survey is not read from standard input",
            file,
            None,
            None,
            "save it as a file, such as board.yaml, and name that",
        )
    if suffix not in SUFFIXES and not path.is_dir():
        raise SurveyError(
            f"the suffix '{shown(suffix)}' does not say what the file is"
            if suffix
            else "has no suffix that says what the file is",
            file,
            None,
            None,
            f"name it with {one_of(SUFFIXES)}",
        )
    text = _text(path, file)
    refuse_control_characters(text, file)
    if not text.strip():
        raise SurveyError(
            "is empty", file, None, None, "start from a template: provenance new FILE"
        )
    if suffix == ".json":
        document = json_document(text, file)
    elif suffix in (".csv", ".tsv"):
        document = csv_document(text, file, path.stem)
    else:
        document = yaml_document(text, file)
    if document.data is None:
        raise SurveyError(
            "holds comments only", file, None, None, "start from a template: provenance new FILE"
        )
    if not isinstance(document.data, dict):
        kind = "a list" if isinstance(document.data, list) else "a single text"
        raise SurveyError(
            f"holds {kind} where a survey is expected",
            file,
            1,
            None,
            "begin with sections: and list the parts of each",
        )
    return document


def _text(path: Path, file: str) -> str:
    """The text of a file in UTF-8, with or without a byte order mark."""

    def error(message: str, fix: str, line: int | None = None) -> SurveyError:
        return SurveyError(message, file, line, None, fix)

    try:
        status = path.stat()
        if stat.S_ISDIR(status.st_mode):
            raise error("is a folder, not a file", "name a survey file in it")
        if not stat.S_ISREG(status.st_mode):
            raise error("is not an ordinary file", "save the survey as a file")
        if status.st_size > LARGEST:
            raise error(
                f"is very large: {status.st_size:,} bytes, where {LARGEST:,} is the most",
                "make one survey for each board, and keep pictures out of it",
            )
        with path.open("rb") as stream:
            data = stream.read(LARGEST + 1)
    except FileNotFoundError:
        near = _like(path)
        raise error(
            "there is no such file", f"did you mean {shown(near)}?" if near else "check the path"
        ) from None
    except PermissionError:
        raise error("may not be read", "give yourself leave to read it") from None
    except (OSError, ValueError) as problem:
        reason = getattr(problem, "strerror", None) or str(problem)
        raise error(f"cannot be read: {shown(reason)}", "check the path") from None
    return _decoded(data, error)


class _Refusal(Protocol):
    """Makes the error of a file from what is wrong, the likely fix and, if known, the line."""

    def __call__(self, message: str, fix: str, line: int | None = None) -> SurveyError: ...


def _decoded(data: bytes, error: _Refusal) -> str:
    """Bytes as text, or the reason why they are not."""
    save = "save it as UTF-8"
    for signature, (what, fix) in _BINARY.items():
        if data.startswith(signature):
            raise error(f"is {what}, not text", fix)
    if data.startswith((b"\xff\xfe", b"\xfe\xff")):
        raise error("is encoded as UTF-16, not UTF-8", save)
    if b"\x00" in data:
        # Western text in UTF-16 has a NUL in nearly every second byte.
        if 0.35 * len(data) < data.count(b"\x00") <= 0.65 * len(data):
            raise error("is encoded as UTF-16, not UTF-8", save)
        raise error("is a binary file (it holds NUL bytes)", "name a survey file")
    try:
        return data.decode("utf-8-sig")
    except UnicodeDecodeError as problem:
        line = data.count(b"\n", 0, problem.start) + 1
        raise error(
            f"is not UTF-8 text (byte 0x{data[problem.start]:02X}); "
            "it looks like Latin-1 or a Windows code page",
            save,
            line,
        ) from None


def _name(path: Path) -> str:
    return safe(os.fspath(path))


def fingerprint(survey: Survey | Machine) -> str:
    """SHA-256, in hexadecimal, of a survey's content in canonical JSON.

    The same for YAML, JSON and CSV with the same content, whatever the order of keys and parts.
    """
    content = survey.model_dump(mode="json", exclude_defaults=True)
    canonical = json.dumps(content, sort_keys=True, ensure_ascii=False, separators=(",", ":"))
    return hashlib.sha256(canonical.encode("utf-8", "surrogatepass")).hexdigest()
