"""What the program itself writes of the docs: help texts, output of examples, JSON Schemas.

``python -m tests.generated_docs`` brings them up to date; ``tests/test_docs.py`` fails while they
are not. An example is a block fenced as ``console`` in which each line after ``$ `` is a command;
what stands below is what it prints. Commands run in an empty folder that holds ``fixtures``.
"""

from __future__ import annotations

import os
import re
import shlex
import subprocess
import sys
import tempfile
from pathlib import Path

import typer

from provenance.cli import app
from provenance.notes.record import finding_schema_text
from provenance.survey.schema import schema_text

ROOT = Path(__file__).parent.parent
COMMANDS = ROOT / "docs" / "commands.md"
PAGES = (ROOT / "README.md", ROOT / "DEVELOPERS.md", *sorted((ROOT / "docs").glob("**/*.md")))
"""Every page that may hold examples."""

TWINS = {
    "new": 'write_whole("board.yaml", template_text())',
    "check": 'fit_groups(load_survey("board.yaml"))',
    "read": 'reading_text(read_marking("SN7432N 7841", near=1978))',
    "schemes": "all_schemes()",
    "families": "families()",
    "date": 'date_board(load_survey("board.yaml"))',
    "why": 'why_text(date_board(survey), survey, "U7")',
    "note": 'note(date_board(survey), survey, "listing", "md")',
    "record": "linked_art(finding, survey), parts_csv(finding) or finding_json(finding)",
    "report": "report_html(date_board(survey, reasons=True), survey)",
}
"""The call in Python, with names of ``provenance``, that does what a command does."""

_EXAMPLE = re.compile(r"(?<=^```console\n)(.*?)(?=^```$)", re.MULTILINE | re.DOTALL)


def commands() -> dict[str, typer.core.TyperCommand]:
    """Every registered command by name, in the order of the help."""
    group = typer.main.get_command(app)
    return dict(group.commands)  # type: ignore[attr-defined]


def run(command: str, folder: Path) -> str:
    """What a command line beginning with ``provenance`` prints, without colour, 80 columns wide."""
    name, *arguments = shlex.split(command)
    if name != "provenance":
        raise ValueError(f"an example runs provenance, not {name}")
    done = subprocess.run(
        [sys.executable, "-m", "provenance.cli", *arguments],
        cwd=folder,
        env={**os.environ, "PYTHONPATH": str(ROOT), "COLUMNS": "80", "NO_COLOR": "1"},
        stdin=subprocess.DEVNULL,
        stdout=subprocess.PIPE,
        stderr=subprocess.STDOUT,
        encoding="utf-8",
        check=False,
    )
    return done.stdout


def commands_page() -> str:
    """The page of all commands, each with its help and its twin in Python."""
    lines = [
        "# Commands",
        "",
        "Every command with its help as printed, and the call in Python that does the same (see",
        "[python.md](python.md)). This page is written by `python -m tests.generated_docs`.",
        "",
        "A command leaves with 0 when done, 2 when something in the input is wrong (one message",
        "on standard error says what, where and the likely fix), 1 when nobody reads what it",
        "prints and 130 when it was broken off from the keyboard. Outputs are written whole or",
        "not at all, never over a file unless `--force`, never over a survey.",
        "",
    ]
    with tempfile.TemporaryDirectory() as folder:
        lines += ["```text", run("provenance --help", Path(folder)).rstrip(), "```", ""]
        for name in commands():
            text = run(f"provenance {name} --help", Path(folder)).rstrip()
            lines += [f"## provenance {name}", "", "```text", text, "```", ""]
            lines += [f"In Python: `{TWINS[name]}`", ""]
    return "\n".join(lines)


def with_examples_run(page: str) -> str:
    """A page with the output of each of its examples as it is now, run in order in one folder."""
    with tempfile.TemporaryDirectory() as folder:
        (Path(folder) / "fixtures").symlink_to(ROOT / "fixtures")

        def renewed(block: re.Match[str]) -> str:
            asked = [line[2:] for line in block[0].splitlines() if line.startswith("$ ")]
            return "".join(f"$ {command}\n{run(command, Path(folder))}" for command in asked)

        return _EXAMPLE.sub(renewed, page)


SCHEMAS = {"finding.schema.json": finding_schema_text, "survey.schema.json": schema_text}
"""The published schemas, and what writes each."""


def main() -> None:
    """Write the page of commands, the schemas, and the output of every example."""
    COMMANDS.write_text(commands_page(), encoding="utf-8")
    for name, text_of in SCHEMAS.items():
        (ROOT / "docs" / name).write_text(text_of(), encoding="utf-8")
    for page in PAGES:
        text = page.read_text(encoding="utf-8")
        if (now := with_examples_run(text)) != text:
            page.write_text(now, encoding="utf-8")
            print(f"renewed {page.relative_to(ROOT)}")


if __name__ == "__main__":
    main()
