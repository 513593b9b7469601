"""The worked chapter, followed to the letter: its survey typed, its commands run in order.

A block fenced as ``yaml`` is typed at the end of the survey, the first in place of what ``new``
wrote. A block fenced as ``console`` with the survey's name holds a command and what it prints;
where a line holds only an ellipsis, the block keeps as many lines before and after it as stand
there. ``python -m tests.notes.chapter`` brings the page up to date; ``test_chapter`` fails while
it is stale.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from tempfile import TemporaryDirectory

from tests.generated_docs import ROOT, run

CHAPTER = ROOT / "docs" / "from-bench-to-record.md"
CUT = "…"
_BLOCK = re.compile(r"^```(yaml|console) ?([\w.]*)\n(.*?)^```$", re.MULTILINE | re.DOTALL)


def followed(page: str, folder: Path) -> str:
    """The page with what its commands print now; the folder then holds what a reader has."""
    survey = folder / re.findall(r"^```console ([\w.]+)$", page, re.MULTILINE)[0]
    typed: list[str] = []

    def renewed(block: re.Match[str]) -> str:
        language, name, body = block.groups()
        if language == "yaml":
            typed.append(body)
            survey.write_text("".join(typed), encoding="utf-8")
            return block[0]
        return f"```{language} {name}\n{_shown(body, folder)}```"

    return _BLOCK.sub(renewed, page)


def _shown(body: str, folder: Path) -> str:
    command, *before = body.splitlines()
    printed = run(command.removeprefix("$ "), folder).splitlines()
    if CUT in before:
        at = before.index(CUT)
        tail = len(before) - at - 1
        if at + tail < len(printed):
            printed = [*printed[:at], CUT, *printed[len(printed) - tail :]]
    return "".join(f"{line}\n" for line in (command, *printed))


@contextmanager
def followed_anew() -> Iterator[tuple[str, Path]]:
    """The page as it would be now, and the folder of a reader who has followed it."""
    with TemporaryDirectory() as folder:
        yield followed(CHAPTER.read_text(encoding="utf-8"), Path(folder)), Path(folder)


def main() -> None:
    """Bring the page up to date."""
    with followed_anew() as (page, _):
        CHAPTER.write_text(page, encoding="utf-8")


if __name__ == "__main__":
    main()
