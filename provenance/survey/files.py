"""Survey files in, whole files out.

Knows paths, encodings and sizes, which notation a suffix means, how to turn a model's complaint
into one sentence with file, line, key and fix, and how to write a file whole or not at all. The
notations are in ``syntax``, the models in ``model``.
"""

from __future__ import annotations

import contextlib
import hashlib
import json
import os
import stat
import tempfile
from collections.abc import Iterable, Mapping
from pathlib import Path
from typing import Any, TypeVar

from pydantic import BaseModel, ValidationError

from provenance.errors import OutputError, SurveyError
from provenance.survey.model import (
    Board,
    Evidence,
    KnownWork,
    Machine,
    Part,
    Relation,
    Section,
    Survey,
)
from provenance.survey.syntax import (
    Document,
    csv_document,
    in_words,
    is_marking,
    json_document,
    refuse_control_characters,
    yaml_document,
)
from provenance.survey.template import template_text
from provenance.survey.wording import NO_MARKING, nearest, one_of, safe, shown

__all__ = [
    "OutputError",
    "SurveyError",
    "fingerprint",
    "load",
    "load_survey",
    "template_text",
    "write_whole",
    "write_whole_bytes",
]

_Model = TypeVar("_Model", Survey, Machine)

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


# ---- in --------------------------------------------------------------------------------------


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
    path = Path(path)
    document = _document(path)
    data = document.data
    if isinstance(data, dict) and ("boards" in data or "machine" in data):
        return _validated(Machine, _with_boards(data, path, document), document, path)
    return _validated(Survey, data, document, path)


def _with_boards(data: dict[str, Any], path: Path, document: Document) -> dict[str, Any]:
    """A machine's data with every named survey file read.

    A named file lies in the machine file's folder or below and is the survey of one board, so
    that nothing is read from elsewhere and no file can include itself.
    """
    boards = data.get("boards")
    if not isinstance(boards, list):
        return data
    if len(boards) > MOST_BOARDS:
        raise SurveyError(
            f"holds {len(boards):,} boards; {MOST_BOARDS} is the most",
            _name(path),
            document.line(("boards",)),
            "boards",
            "make one file for each machine",
        )
    folder = path.resolve().parent
    seen: set[Path] = set()
    read: list[Any] = []
    for index, board in enumerate(boards):
        if not isinstance(board, str):
            read.append(board)
            continue

        def refused(message: str, fix: str, index: int = index) -> SurveyError:
            place = ("boards", index)
            return SurveyError(message, _name(path), document.line(place), in_words(place), fix)

        target = (folder / board).resolve()
        if Path(board).is_absolute() or not target.is_relative_to(folder):
            raise refused(
                f"'{shown(board)}' lies outside the folder of this file",
                "put the survey beside this file or in a folder below it",
            )
        if target in seen:
            raise refused(f"'{shown(board)}' is named twice", "name each survey once")
        seen.add(target)
        if not target.exists():
            beside = [str(p.relative_to(folder)) for s in SUFFIXES for p in folder.glob(f"*{s}")]
            near = nearest(board, beside)
            raise refused(
                f"there is no file '{shown(board)}' beside this one",
                f"write {shown(near)}" if near else "give the path from this file's folder",
            )
        inner = _document(target, path.parent / board)
        if isinstance(inner.data, dict) and ("boards" in inner.data or "machine" in inner.data):
            raise refused(
                f"'{shown(board)}' is itself a machine of several boards",
                "name the surveys of its boards here",
            )
        read.append(_validated(Survey, inner.data, inner, path.parent / board))
    return {**data, "boards": read}


def _document(path: Path, shown_as: Path | None = None) -> Document:
    """The plain data of a file, by its suffix."""
    file = _name(shown_as or path)
    suffix = path.suffix.casefold()
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
        near = None
        with contextlib.suppress(OSError):
            near = nearest(path.name, (p.name for p in path.parent.iterdir()))
        raise error(
            "there is no such file", f"did you mean {shown(near)}?" if near else "check the path"
        ) from None
    except PermissionError:
        raise error("may not be read", "give yourself leave to read it") from None
    except (OSError, ValueError) as problem:
        reason = getattr(problem, "strerror", None) or str(problem)
        raise error(f"cannot be read: {shown(reason)}", "check the path") from None
    return _decoded(data, error)


def _decoded(data: bytes, error: Any) -> str:
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
        raise error("is a binary file (it holds NUL bytes)", "name a survey file", None)
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


# ---- what a model complains of, in words -----------------------------------------------------

_FIELDS: dict[tuple[str, ...], type[BaseModel]] = {
    (): Survey,
    ("board",): Board,
    ("machine",): Board,
    ("sections", "*"): Section,
    ("sections", "*", "parts", "*"): Part,
    ("relations", "*"): Relation,
    ("evidence", "*"): Evidence,
    ("works", "*"): KnownWork,
}
"""Which model's fields may stand at which place; ``*`` is any name or item."""


def _validated(model: type[_Model], data: Any, document: Document, path: Path) -> _Model:
    try:
        return model.model_validate(data)
    except ValidationError as problem:
        # A misspelt key is also a missing one: say the misspelling first.
        errors = sorted(problem.errors(), key=lambda error: error["type"] == "missing")
    found = [_in_words(error, model, document, _name(path)) for error in errors]
    found.sort(key=lambda error: error.line or 0)
    first = found[0]
    raise SurveyError(
        first.message, first.file, first.line, first.key, first.fix, others=tuple(found[1:])
    )


def _in_words(error: Any, model: type[BaseModel], document: Document, file: str) -> SurveyError:
    """One of pydantic's errors as a sentence with line, key and fix."""
    place = tuple(step for step in error["loc"] if step != "[key]")
    if error["type"] == "survey":
        place += error["ctx"]["at"]
        message, fix = error["ctx"]["problem"], error["ctx"]["fix"]
    else:
        message, fix = _shape(error, place, model)
    if error["type"] == "missing":
        place = place[:-1]
    return SurveyError(message, file, document.line(place), in_words(place) or None, fix)


def _shape(error: Any, place: tuple[str | int, ...], model: type[BaseModel]) -> tuple[str, str]:
    """Problem and fix where the shape of the data is wrong."""
    last = str(place[-1]) if place else ""
    value = error["input"]
    kind = "a mapping" if isinstance(value, Mapping) else "a list"
    if isinstance(value, str):
        kind = f"the text '{shown(value)}'"
    match error["type"]:
        case "extra_forbidden":
            names = _names_at(place[:-1], model)
            near = nearest(last, names)
            listed = f"use one of {one_of(names)}"
            return f"there is no key '{shown(last)}' here", f"write {near}" if near else listed
        case "missing":
            return f"the key {last} is missing", f"add {last}: here"
        case _ if value is None:
            return "has no value", NO_MARKING if is_marking(place) else "take it out"
        case "tuple_type":
            return f"is {kind} where a list is expected", "begin each item with a dash and a blank"
        case "dict_type" | "model_type":
            fixes = {
                "parts": 'write one part a line, without a dash: U31: "XR4558 7923"',
                "sections": "write the section's name and a colon, without a dash",
                "board": "write board: {title: ...}",
                "machine": "write machine: {title: ...}",
            }
            fix = fixes.get(last, "write keys with a colon, and indent them below this one")
            return f"is {kind} where a mapping is expected", fix
        case _:
            return str(error["msg"]), "see the description of the survey file"


def _names_at(place: tuple[str | int, ...], model: type[BaseModel]) -> list[str]:
    """The keys that may stand at a place."""
    if model is Machine and place[:1] == ("boards",):
        place, model = place[2:], Survey
    if not place:
        return list(model.model_fields)
    for pattern, fields in _FIELDS.items():
        if len(pattern) == len(place) and all(
            step in ("*", at) for step, at in zip(pattern, place, strict=True)
        ):
            return list(fields.model_fields)
    return []


# ---- out -------------------------------------------------------------------------------------


def fingerprint(survey: Survey | Machine) -> str:
    """SHA-256, in hexadecimal, of a survey's content in canonical JSON.

    The same for YAML, JSON and CSV with the same content, whatever the order of keys and parts.
    """
    content = survey.model_dump(mode="json", exclude_defaults=True)
    canonical = json.dumps(content, sort_keys=True, ensure_ascii=False, separators=(",", ":"))
    return hashlib.sha256(canonical.encode("utf-8", "surrogatepass")).hexdigest()


def write_whole(
    path: str | os.PathLike[str],
    text: str,
    *,
    overwrite: bool = False,
    inputs: Iterable[str | os.PathLike[str]] = (),
) -> None:
    """Write a text file whole or not at all, in UTF-8.

    Refuses an existing file unless ``overwrite``, and each of ``inputs`` (the survey itself) in
    any case. Raises OutputError.
    """
    write_whole_bytes(path, text.encode("utf-8"), overwrite=overwrite, inputs=inputs)


def write_whole_bytes(
    path: str | os.PathLike[str],
    data: bytes,
    *,
    overwrite: bool = False,
    inputs: Iterable[str | os.PathLike[str]] = (),
) -> None:
    """Write a file whole or not at all, as ``write_whole`` does; for pictures."""
    path = Path(path)
    name = _name(path)
    try:
        # Write through a link, rather than put a file in its place.
        target = Path(os.path.realpath(path))
        _refuse_target(target, name, overwrite, inputs)
        handle, temporary = tempfile.mkstemp(prefix=f".{target.name[:50]}.", dir=target.parent)
        try:
            with os.fdopen(handle, "wb") as stream:
                stream.write(data)
                stream.flush()
                os.fsync(stream.fileno())
            os.chmod(temporary, _mode(target))
            _put_in_place(temporary, target, name, overwrite)
        finally:
            with contextlib.suppress(FileNotFoundError):
                os.unlink(temporary)
    except FileNotFoundError:
        raise OutputError(
            f"{name}: its folder does not exist. Fix: make the folder first"
        ) from None
    except (OSError, ValueError) as problem:
        reason = getattr(problem, "strerror", None) or str(problem)
        raise OutputError(
            f"{name}: cannot be written: {safe(reason)}. Fix: write it elsewhere"
        ) from None


def _refuse_target(
    target: Path, name: str, overwrite: bool, inputs: Iterable[str | os.PathLike[str]]
) -> None:
    for source in inputs:
        with contextlib.suppress(OSError):
            if os.path.samefile(source, target):
                raise OutputError(
                    f"{name}: is the survey itself, which is never written over. "
                    "Fix: give another name"
                )
    if target.is_dir():
        raise OutputError(f"{name}: is a folder. Fix: give the name of a file in it")
    if target.exists() and not target.is_file():
        raise OutputError(f"{name}: is not an ordinary file. Fix: give another name")
    if target.exists() and not overwrite:
        raise _exists(name)


def _exists(name: str) -> OutputError:
    return OutputError(
        f"{name}: is there already, and was left as it is. "
        "Fix: give another name, or say that it may be written over"
    )


def _put_in_place(temporary: str, target: Path, name: str, overwrite: bool) -> None:
    """Give the finished file its name; without ``overwrite`` never over another's file."""
    if overwrite:
        os.replace(temporary, target)
        return
    try:
        os.link(temporary, target)  # Unlike replace, fails where the name was taken meanwhile.
    except FileExistsError:
        raise _exists(name) from None
    except OSError:  # A file system without hard links.
        os.replace(temporary, target)


def _mode(target: Path) -> int:
    """The mode of the file that is replaced, or of a new one under the current umask."""
    with contextlib.suppress(FileNotFoundError):
        return stat.S_IMODE(target.stat().st_mode)
    umask = os.umask(0)
    os.umask(umask)
    return 0o666 & ~umask
