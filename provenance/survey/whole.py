"""Files out: whole or not at all, and never over what the user has.

Knows paths and modes; knows nothing about what is in a file.
"""

from __future__ import annotations

import contextlib
import os
import stat
from collections.abc import Iterable
from pathlib import Path
from secrets import token_hex

from provenance.errors import OutputError, safe


class ExistsError(OutputError):
    """A file that is there already and was not to be written over; ``name`` is fit to be shown.

    ``leave`` is what gives leave to write over it, in the words of whoever was asked to write.
    """

    def __init__(self, name: str, leave: str = "overwrite=True") -> None:
        super().__init__(name, leave)  # From which it is made anew in another process.
        self.name = name
        self.leave = leave

    def __str__(self) -> str:
        return (
            f"{self.name}: is there already, and was left as it is. "
            f"Fix: give another name, or write over it with {self.leave}"
        )


def write_whole(
    path: str | os.PathLike[str],
    text: str,
    *,
    overwrite: bool = False,
    inputs: Iterable[str | os.PathLike[str]] = (),
) -> None:
    """Write a text file whole or not at all, in UTF-8.

    Refuses an existing file unless ``overwrite``, and each of ``inputs`` (what it was made
    from) in any case. Raises OutputError.
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
    name = safe(os.fspath(path))
    try:
        # Write through a link, rather than put a file in its place.
        target = Path(os.path.realpath(path))
        _refuse_target(target, name, overwrite, inputs)
        temporary = target.parent / f".{target.name[:50]}.{token_hex(8)}"
        mode = _mode(target)
        handle = os.open(temporary, _NEW, 0o666 if mode is None else 0o600)
        try:
            with os.fdopen(handle, "wb") as stream:
                stream.write(data)
                stream.flush()
                os.fsync(stream.fileno())
            if mode is not None:
                os.chmod(temporary, mode)
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
                    f"{name}: is a file that this was made from, and is never written over. "
                    "Fix: give another name"
                )
    if target.is_dir():
        raise OutputError(f"{name}: is a folder. Fix: give the name of a file in it")
    if target.exists() and not target.is_file():
        raise OutputError(f"{name}: is not an ordinary file. Fix: give another name")
    if target.exists() and not overwrite:
        raise ExistsError(name)


def _put_in_place(temporary: Path, target: Path, name: str, overwrite: bool) -> None:
    """Give the finished file its name; without ``overwrite`` never over another's file."""
    if overwrite:
        os.replace(temporary, target)
        return
    try:
        os.link(temporary, target)  # Unlike replace, fails where the name was taken meanwhile.
    except FileExistsError:
        raise ExistsError(name) from None
    except OSError:  # A file system without hard links.
        os.replace(temporary, target)


_NEW = os.O_WRONLY | os.O_CREAT | os.O_EXCL | getattr(os, "O_BINARY", 0)
"""A file that was not there. The system itself cuts its mode by the umask: to ask for the umask is
to change it for every thread."""


def _mode(target: Path) -> int | None:
    """The mode of the file that is replaced; None where there is none."""
    with contextlib.suppress(FileNotFoundError):
        return stat.S_IMODE(target.stat().st_mode)
    return None
