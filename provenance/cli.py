"""The command line: one short function a command, each the twin of a call in Python.

Knows arguments, options, exit codes and where output goes; every other thing is done in the module
that a command names. The public names of ``provenance`` load when they are first used, so that each
command starts as fast as it can.

Exit codes: 0 done; 1 the reader of the output went away; 2 something in the input is wrong, with
one message on standard error; 130 the run was broken off from the keyboard.
"""

import gc
import os
import sys
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any, Literal, NoReturn, TextIO

import typer

import provenance
from provenance.errors import ProvenanceError, SurveyError, safe

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable

    from provenance import Finding, Machine, MachineFinding, Survey
    from provenance.survey.files import Loaded

# Annotations here are values, not text: typer would compile the text of each one twice at start.

app = typer.Typer(
    name="provenance",
    help="Date a circuit board from its chip markings, tell the original parts from later work, "
    "and write the account.",
    no_args_is_help=True,
    add_completion=False,
    rich_markup_mode=None,
    pretty_exceptions_enable=False,
)

SurveyFile = Annotated[Path, typer.Argument(metavar="FILE", help="A survey: YAML, JSON or CSV.")]
Json = Annotated[bool, typer.Option("--json", help="Print everything as JSON.")]
Out = Annotated[
    Path | None, typer.Option("--out", "-o", metavar="FILE", help="Write to this file.")
]
Force = Annotated[bool, typer.Option("--force", help="Write over a file that is there already.")]


def _version(asked: bool) -> None:
    if asked:
        typer.echo(provenance.__version__)
        raise typer.Exit


@app.callback()
def start(
    version: Annotated[
        bool,
        typer.Option("--version", callback=_version, is_eager=True, help="Print the version."),
    ] = False,
) -> None:
    """Date a circuit board and write the account."""


@app.command()
def new(
    file: Annotated[Path, typer.Argument(metavar="FILE", help="The survey to begin: .yaml.")],
    force: Force = False,
) -> None:
    """Begin a survey from a commented template.

    The template is itself a valid survey of an invented board; replace the example by your own.
    """
    if file.suffix.casefold() not in (".yaml", ".yml"):
        raise ProvenanceError(f"{_shown(file)}: the template is YAML. Fix: end the name in .yaml")
    provenance.write_whole(file, provenance.template_text(), overwrite=force)
    typer.echo(f"Wrote {_shown(file)}. Next: edit it, then provenance check {_shown(file)}")


@app.command()
def check(file: SurveyFile) -> None:
    """Check a survey without dating the board.

    Every mistake is listed with its file, line, key and the likely fix.
    """
    from provenance.notes.catalogue import checked_text

    try:
        loaded = provenance.load(file)
    except SurveyError as problem:
        _complain(problem, *problem.others)
        raise typer.Exit(2) from None
    boards = (loaded,) if isinstance(loaded, provenance.Survey) else loaded.boards
    _say(checked_text(str(file), [(board, provenance.fit_groups(board)) for board in boards]))


@app.command(context_settings={"allow_extra_args": True})
def read(
    context: typer.Context,
    marking: Annotated[
        str | None,
        typer.Argument(
            metavar="MARKING",
            help="The marking, with ' / ' between its lines; - reads one a line from input.",
        ),
    ] = None,
    near: Annotated[
        int | None,
        typer.Option(
            min=1950, max=2100, metavar="YEAR", help="A year that the part is probably near."
        ),
    ] = None,
    until: Annotated[
        int | None,
        typer.Option(min=1960, max=2100, metavar="YEAR", help="The last year it can be from."),
    ] = None,
    as_json: Json = False,
    table: Annotated[
        str | None,
        typer.Option("--from", metavar="FILE", help="A CSV table of markings; - reads input."),
    ] = None,
    column: Annotated[
        str, typer.Option(metavar="NAME", help="The table's column of markings.")
    ] = "marking",
) -> None:
    """Read a marking, or many, and say why.

    One marking is explained: what each piece was taken for, what the date may be and how probable
    that is, and what would settle the doubt. Many, from standard input or a table, give one row
    each, as CSV or with --json as one JSON object a line.
    """
    if marking is not None and context.args:
        whole = " ".join((marking, *context.args))
        raise typer.BadParameter(f'give the whole marking in quotes: "{_visible(whole)}"')
    if (marking is None) == (table is None):
        raise typer.BadParameter("give a marking, or a table with --from")
    years = (1960, until) if until else None
    if table is not None or marking == "-":
        from provenance.notes import reading_rows as rows

        with rows.opened(table or "-") as stream:
            found = (
                rows.column_markings(stream, column, table) if table else rows.line_markings(stream)
            )
            rows.read_rows(
                rows.with_progress(found),
                partial(provenance.read_markings, near=near, years=years),
                _say,
                as_json=as_json,
                processes=rows.processes_for(stream),
            )
        return
    from provenance.survey.typed import typed_marking

    reading = provenance.read_marking(typed_marking(marking or ""), near=near, years=years)
    if as_json:
        _say(_json(provenance.reading_record(reading)))
    else:
        _say(provenance.reading_text(reading))


@app.command()
def schemes() -> None:
    """List the known ways of writing a date."""
    from provenance.notes.catalogue import schemes_text

    _say(schemes_text(provenance.all_schemes()))


@app.command()
def families() -> None:
    """List the known families of part numbers."""
    from provenance.notes.catalogue import families_text

    _say(families_text(provenance.families()))


@app.command()
def date(
    file: SurveyFile,
    as_json: Json = False,
    plot: Annotated[
        Path | None,
        typer.Option(metavar="FILE", help="Also draw the timeline: .png, .svg or .pdf."),
    ] = None,
    force: Force = False,
) -> None:
    """Date a board and its later works.

    Prints when the board was built, what was changed later and when, how sure that is, each part's
    reading and origin, and what the result rests on. Of a machine of several boards it also says
    whether they belong together.
    """

    loaded = _loaded(file)

    def board(finding: "Finding", survey: "Survey") -> str:
        if plot is not None:
            provenance.save_plot(finding, plot, overwrite=force, inputs=loaded.files)
            typer.echo(f"Wrote {_shown(plot)}.", err=True)
        if as_json:
            return provenance.finding_json(finding)
        return provenance.screen_text(finding, survey, colour=_colour())

    def machine(found: "MachineFinding", machine: "Machine") -> str:
        if plot is not None:
            provenance.save_machine_plot(found, plot, overwrite=force, inputs=loaded.files)
            typer.echo(f"Wrote {_shown(plot)}.", err=True)
        if as_json:
            return provenance.finding_json(found)
        return provenance.machine_screen_text(found, machine, colour=_colour())

    _say(_told(loaded.record, board, machine, reasons=as_json), document=as_json)


@app.command()
def why(
    file: SurveyFile,
    ref: Annotated[
        str | None, typer.Argument(metavar="REF", help="One part; else the whole board.")
    ] = None,
) -> None:
    """Say why, for the board or for one part.

    Gives the weight of each piece of evidence in decibans and in words, which observation carries
    the result, and which one not yet made would tell most.
    """
    _say(
        _told(
            provenance.load(file),
            lambda finding, survey: provenance.why_text(finding, survey, ref),
            lambda finding, machine: provenance.machine_why_text(finding, machine, ref),
            reasons=ref is None,
        )
    )


@app.command()
def note(
    file: SurveyFile,
    for_: Annotated[
        Literal["listing", "owner", "archive"], typer.Option("--for", help="Whom the note is for.")
    ],
    form: Annotated[
        Literal["md", "txt", "html"], typer.Option("--format", help="How it is written.")
    ] = "md",
    templates: Annotated[
        Path | None, typer.Option(metavar="FOLDER", help="Templates that are used first.")
    ] = None,
    out: Out = None,
    force: Force = False,
) -> None:
    """Write a note for a listing, owner or archive."""
    loaded = _loaded(file)
    text = _told(
        loaded.record,
        lambda finding, survey: provenance.note(finding, survey, for_, form, templates),
        lambda finding, machine: provenance.machine_note(finding, machine, for_, form, templates),
        reasons=for_ != "listing",
    )
    wording = templates.rglob("*.j2") if templates else ()
    _deliver(text, (*loaded.files, *wording), out, force)


@app.command()
def record(
    file: SurveyFile,
    form: Annotated[
        Literal["linked-art", "csv", "json"],
        typer.Option("--as", help="Linked Art (JSON-LD), the parts as CSV, or the whole finding."),
    ],
    out: Out = None,
    force: Force = False,
) -> None:
    """Write a record for another system.

    linked-art is JSON-LD in the Linked Art profile of CIDOC CRM, for a catalogue; csv is a table of
    the parts, for a spreadsheet; json is the whole finding, as documented in docs/.
    """

    def board(finding: "Finding", survey: "Survey") -> str:
        if form == "linked-art":
            return provenance.json_text(provenance.linked_art(finding, survey))
        return provenance.parts_csv(finding) if form == "csv" else provenance.finding_json(finding)

    def machine(finding: "MachineFinding", machine: "Machine") -> str:
        if form == "linked-art":
            return provenance.json_text(provenance.machine_linked_art(finding, machine))
        if form == "csv":
            return provenance.machine_parts_csv(finding)
        return provenance.finding_json(finding)

    loaded = _loaded(file)
    text = _told(loaded.record, board, machine, reasons=form == "json")
    _deliver(text, loaded.files, out, force)


@app.command()
def report(
    file: SurveyFile,
    out: Annotated[Path, typer.Option("--out", "-o", metavar="FILE", help="Write to this file.")],
    force: Force = False,
) -> None:
    """Write a report to look at, print and keep.

    One HTML file that needs no network: timeline, board map, summary, parts, rival accounts,
    reasons, cautions, the note, and the records to copy.
    """
    loaded = _loaded(file)
    text = _told(
        loaded.record, provenance.report_html, provenance.machine_report_html, reasons=True
    )
    _deliver(text, loaded.files, out, force)


# ---- shared by the commands ------------------------------------------------------------------


def _loaded(file: Path) -> "Loaded":
    """What a file records, with every file read for it, none of which is written over."""
    from provenance.survey.files import load_with_files

    return load_with_files(file)


def _told(
    record: "Survey | Machine",
    board: "Callable[[Finding, Survey], str]",
    machine: "Callable[[MachineFinding, Machine], str]",
    *,
    reasons: bool,
) -> str:
    """Date what was recorded, and tell it as one board or as a machine of several.

    ``reasons`` takes some tens of further runs of the inference.
    """
    if isinstance(record, provenance.Survey):
        return board(provenance.date_board(record, reasons=reasons), record)
    return machine(provenance.date_machine(record, reasons=reasons), record)


def _deliver(text: str, read: "Iterable[Path]", out: Path | None, force: bool) -> None:
    """To the file that was asked for, whole or not at all; else to standard output."""
    if out is None:
        _say(text, document=True)
        return
    provenance.write_whole(out, text, overwrite=force, inputs=read)
    typer.echo(f"Wrote {_shown(out)}.")


def _say(text: str, *, document: bool = False) -> None:
    """Print a text; a document goes out as UTF-8 whatever the terminal takes, as into a file."""
    if document and (reconfigure := getattr(sys.stdout, "reconfigure", None)):
        reconfigure(encoding="utf-8", newline="")
    sys.stdout.write(text)  # Looked up each time: a progress bar puts itself in its place.


def _json(record: Any) -> str:
    """JSON in ASCII, so that no terminal or pipe can spoil it."""
    import json

    return json.dumps(record, indent=2) + "\n"


def _shown(path: Path) -> str:
    return _visible(str(path))


def _visible(text: str) -> str:
    from provenance.notes.words import visible

    return visible(text)


def _colour() -> bool:
    """Whether standard output takes colour. Source of the variable: no-color.org."""
    plain = os.environ.get("NO_COLOR") or os.environ.get("TERM") == "dumb"
    return sys.stdout.isatty() and not plain


def _complain(*problems: ProvenanceError) -> None:
    """One line for each; whatever of a file or a path is in it does nothing to a terminal."""
    for problem in problems:
        print(f"provenance: {safe(str(problem))}", file=sys.stderr)


def _in_options(problem: ProvenanceError) -> ProvenanceError:
    """What the library says, with the option in place of its argument."""
    from provenance.survey.whole import ExistsError

    return ExistsError(problem.name, "--force") if isinstance(problem, ExistsError) else problem


def main() -> NoReturn:
    """Run the command that the arguments name, and leave with its exit code.

    The process is the command's alone. It ends soon and leaves few unreachable cycles: to look for
    them as often as Python does by itself, and once more among all objects at the end, would take
    up to a fifth of its time. Nor has it a use for plugins of pydantic, which would be looked for
    in every package that is installed, or for a second thread of numpy's: the matrices of a board
    are so small that threads would double the work and save no time.
    """
    gc.set_threshold(1_000_000)
    os.environ.setdefault("PYDANTIC_DISABLE_PLUGINS", "__all__")
    os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")
    code = run(sys.argv[1:])
    gc.freeze()
    sys.exit(code)


def run(arguments: list[str]) -> int:
    """Run one command and return its exit code; no error leaves a traceback."""
    for stream in (sys.stdout, sys.stderr):
        _spell_out_the_unprintable(stream)
    try:
        code = _exit_code(arguments)
        sys.stdout.flush()
    except ProvenanceError as problem:
        _complain(_in_options(problem))
        return 2
    except BrokenPipeError:
        _discard(sys.stdout)
        return 1
    except OSError as problem:
        _discard(sys.stdout)
        what = f"{problem.filename}: " if problem.filename else ""
        _complain(ProvenanceError(f"{what}{problem.strerror or problem}"))
        return 2
    return code


def _exit_code(arguments: list[str]) -> int:
    try:
        app(arguments, prog_name="provenance")
    except SystemExit as done:
        return done.code if isinstance(done.code, int) else 1
    return 0


def _spell_out_the_unprintable(stream: TextIO) -> None:
    """A character that the terminal's encoding lacks is spelt out, not an error."""
    if reconfigure := getattr(stream, "reconfigure", None):
        reconfigure(errors="backslashreplace")


def _discard(stream: TextIO) -> None:
    """Drop what could not be written, lest Python try again at exit."""
    os.dup2(os.open(os.devnull, os.O_WRONLY), stream.fileno())


if __name__ == "__main__":
    main()
