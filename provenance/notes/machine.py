"""The account of several boards of one machine: each board, then all of them together.

Knows what is said of the machine as a whole; each board is told as it is on its own, by
``screen``, ``note``, ``record`` and ``report``. Whether the boards belong together was worked out
by ``provenance.census.machine``.
"""

from __future__ import annotations

from os import PathLike
from pathlib import Path
from typing import TYPE_CHECKING, Any
from uuid import NAMESPACE_OID, uuid5

from markupsafe import Markup

from provenance.notes import words
from provenance.notes.cautions import CAUTIONS
from provenance.notes.folding import bulleted, titled
from provenance.notes.note import (
    IN_FULL,
    Brevity,
    Purpose,
    finished,
    identity,
    note_body,
    refuse_unknown,
    render,
    shortest,
    told,
)
from provenance.notes.paper import Format
from provenance.notes.record import (
    CONTEXT,
    Json,
    attributed,
    identity_names,
    linked_art,
    maker_stated,
    statement,
    window_span,
)
from provenance.notes.screen import screen_text
from provenance.notes.statements import window

if TYPE_CHECKING:
    from provenance.census.machine import Belonging, MachineFinding
    from provenance.inference.finding import Finding
    from provenance.survey.model import Machine

__all__ = [
    "machine_linked_art",
    "machine_note",
    "machine_report_html",
    "machine_screen_text",
    "machine_summary",
]


def machine_summary(found: MachineFinding) -> tuple[str, ...]:
    """Whether the boards belong together, and when the machine was put together, in sentences."""
    many = len(found.boards)
    if many == 1:
        return (words.sentence("the machine has one board, so nothing is said of it together"),)
    both = "both boards" if many == 2 else f"all {words.number(many)} boards"
    said = [
        words.sentence(
            f"it is {words.probable(found.together)} that {both} were built for one machine, going "
            "by their dates"
        ),
    ]
    agree = [board for board in found.belonging if board.probability >= 0.5]
    if found.together >= 0.5 or (len(agree) > 1 and len(agree) < many):
        said.append("A board from another machine of the same age would look the same.")
    belonging = window(found.windows)
    if belonging and found.together >= 0.5:
        said.append(
            words.sentence(
                f"put together {words.when(belonging.first, belonging.last)}: "
                f"{words.probable(belonging.probability)}"
            )
        )
    if found.together < 0.5 and all(board.probability >= 0.5 for board in found.belonging):
        said.append("The dates do not say which of them is the stranger.")
    each = [
        f"{words.visible(board.title)}, {_belongs(board, finding)}"
        for board, finding in zip(found.belonging, found.boards, strict=True)
        if board.probability < 0.5 or found.together < 0.5 or not finding.build.dated
    ]
    if each:
        said.append(words.sentence(f"built for this machine: {'; '.join(each)}"))
    return tuple(said)


def _belongs(board: Belonging, finding: Finding) -> str:
    """How probable it is that a board was built for the machine; not where nothing dates it, for
    the figure is then what was assumed of any board."""
    return words.probable(board.probability) if finding.build.dated else "not known, undated"


def machine_screen_text(
    found: MachineFinding, machine: Machine, width: int = 80, colour: bool = False
) -> str:
    """The machine as text for a terminal: together first, then board by board."""
    title = titled(words.visible(found.title), width, colour)
    blocks = [f"{title}\n\n{bulleted(machine_summary(found), width)}\n"]
    blocks += [
        screen_text(finding, survey, width, colour)
        for finding, survey in zip(_told_apart(found), machine.boards, strict=True)
    ]
    return "\n\n".join(blocks)


def _told_apart(found: MachineFinding) -> tuple[Finding, ...]:
    """The boards by their titles, with a number where two have the same."""
    return tuple(
        finding.model_copy(update={"title": board.title})
        for finding, board in zip(found.boards, found.belonging, strict=True)
    )


def machine_note(
    found: MachineFinding,
    machine: Machine,
    for_: Purpose = "listing",
    format: Format = "md",
    templates: str | PathLike[str] | None = None,
) -> str:
    """A note on a machine as text, with a final newline; purposes, formats, templates and errors as
    in ``note``."""
    refuse_unknown(for_, format)
    folder = None if templates is None else Path(templates)
    title = words.visible(found.title)
    if for_ == "listing":
        body = shortest(
            "machine_listing.j2", format, folder, lambda step: _told(found, machine, step)
        )
    else:
        boards = [
            Markup(note_body(finding, survey, for_, format, folder, under=1, alone=False))
            for finding, survey in zip(_told_apart(found), machine.boards, strict=True)
        ]
        values = {
            **_told(found, machine, IN_FULL),
            "purpose": for_,
            "bodies": boards,
            "cautions": CAUTIONS,
            "method": found.boards[0].method,
        }
        body = render("machine.j2", format, folder, values)
    return finished(body, f"{title}: {for_}", format, folder)


def _told(found: MachineFinding, machine: Machine, brevity: Brevity) -> dict[str, Any]:
    boards = [
        {
            **told(finding, survey, brevity),
            "title": words.clipped(words.visible(board.title), max(2, brevity.words // 2), 40),
            "belongs": _belongs(board, finding),
            "stranger": board.probability < 0.5,
        }
        for finding, survey, board in zip(
            found.boards, machine.boards, found.belonging, strict=True
        )
    ]
    shown = boards[: max(0, brevity.items)]
    return {
        "title": words.clipped(words.visible(found.title), brevity.words + 2, 90),
        "identity": identity(machine.machine),
        "summary": machine_summary(found),
        "many": len(boards),
        "together": words.probable(found.together),
        "fits": found.together >= 0.5,
        "stranger_unknown": found.together < 0.5
        and all(board.probability >= 0.5 for board in found.belonging),
        "boards": shown,
        "rest": len(boards) - len(shown),
        # Of the boards that are not shown; those that are tell their own.
        "works_on_record": sum(len(survey.works) for survey in machine.boards[len(shown) :]),
        "total": sum(len(finding.parts) for finding in found.boards),
    }


def machine_linked_art(found: MachineFinding, machine: Machine) -> Json:
    """The machine as JSON-LD in the Linked Art profile, its boards as its parts.

    A board that more likely than not was built for another machine is still a part of this one, as
    it is found; its own statement says how probable it is that it belongs.
    """
    prints = "/".join(finding.method.fingerprint for finding in found.boards)
    boards = []
    for finding, survey, board in zip(found.boards, machine.boards, found.belonging, strict=True):
        record = linked_art(finding, survey)
        del record["@context"]  # Said once, for the whole.
        said = f"Built for this machine: {_belongs(board, finding)}."
        record["referred_to_by"].append(statement(said, "provenance"))
        boards.append(record)
    made: Json = {"type": "Production", "_label": "Assembly", **maker_stated(machine.machine)}
    if found.together >= 0.5 and (span := window_span(found.windows)):
        made["timespan"] = span
    whole: Json = {
        "@context": CONTEXT,
        "id": f"urn:uuid:{uuid5(NAMESPACE_OID, prints)}",
        "type": "HumanMadeObject",
        "_label": words.visible(found.title),
        "identified_by": identity_names(found.title, machine.machine.serial),
        "produced_by": made,
        "part": boards,
        "referred_to_by": [statement(" ".join(machine_summary(found)), "provenance")],
    }
    if stated := list(attributed(machine.machine)):
        whole["attributed_by"] = stated
    return whole


def machine_report_html(found: MachineFinding, machine: Machine) -> str:
    """The report on a machine as a whole page of HTML: together, then board by board."""
    from provenance.notes.report import board_body, page  # noqa: PLC0415 - draws, so loads much

    values = _told(found, machine, IN_FULL)
    bodies = [
        Markup(board_body(finding, survey, f"b{at}-", top=3))
        for at, (finding, survey) in enumerate(
            zip(found.boards, machine.boards, strict=True), start=1
        )
    ]
    titles = [words.visible(board.title) for board in found.belonging]
    body = render(
        "report_machine.j2",
        "html",
        None,
        {
            **values,
            "rows": tuple(
                (
                    f"b{at}",
                    title,
                    board["built"]["when"] if board["dated"] else "nothing dates it",
                    board["belongs"],
                )
                for at, (title, board) in enumerate(
                    zip(titles, values["boards"], strict=True), start=1
                )
            ),
            "bodies": tuple(zip(titles, bodies, strict=True)),
        },
    )
    method = found.boards[0].method
    prints = ", ".join(finding.method.fingerprint for finding in found.boards)
    return page(
        title=words.visible(found.title) or "Untitled machine",
        kind="Report on a machine",
        identity=values["identity"],
        contents=[
            ("together", "Together"),
            *((f"b{at}", title) for at, title in enumerate(titles, start=1)),
        ],
        body=body,
        method=method,
        footer=f"Fingerprints of the surveys (SHA-256): {prints}.",
    )
