"""The report: one self-contained page with everything that was found of a board.

Knows how the page is put together. The wording of its parts comes from ``statements``,
``reasons`` and ``note``, the pictures from ``plots``, the records from ``record``. The page asks
nothing of any network, and a policy in it forbids it to.
"""

from __future__ import annotations

import base64
import hashlib
from collections.abc import Sequence
from dataclasses import dataclass
from importlib.resources import files
from typing import TYPE_CHECKING, Any

from markupsafe import Markup, escape

from provenance.notes import words
from provenance.notes.bounded import bounded
from provenance.notes.histories import histories
from provenance.notes.note import IN_FULL, ToldPart, note, note_body, render, told
from provenance.notes.plots import plot_svg
from provenance.notes.reasons import (
    BITS_NOTE,
    comparison_sentences,
    inspection_sentences,
    part_blocks,
)
from provenance.notes.record import finding_json, json_text, linked_art, parts_csv
from provenance.notes.statements import (
    ORIGIN_NAMES,
    date_read,
    in_place_of_date,
    standings,
    summary,
)

if TYPE_CHECKING:
    from provenance.inference.finding import Finding, Method
    from provenance.notes.statements import Standing
    from provenance.survey.model import Survey

SHAPES = {
    "original": "■",
    "later work": "◆",
    "replacement": "▲",
    "not original": "▼",
    "recorded work": "●",
}
HOLLOW = {"original": "□", "later work": "◇", "replacement": "△", "not original": "▽"}
CSS = {
    "original": "original",
    "later work": "later",
    "replacement": "replaced",
    "not original": "later",
    "recorded work": "recorded",
}
"""The signs of the plots as characters, and the class of each origin in the style sheet."""

CONTENTS = (
    ("summary", "Summary"),
    ("timeline-heading", "Timeline"),
    ("map-heading", "Board map"),
    ("parts", "Parts"),
    ("accounts", "Rival accounts"),
    ("reasons", "Reasons and cautions"),
    ("notes", "Notes"),
    ("records", "Records"),
)


@dataclass(frozen=True, slots=True)
class Row:
    """A part's row in the table, with the keys that it is sorted by."""

    part: ToldPart
    read: str
    read_sort: str
    read_number: float
    name: str
    shape: str
    css: str
    number: float
    doubtful: bool
    decibans: float
    weight: str


def report_html(finding: Finding, survey: Survey) -> str:
    """The report on one board as a whole page of HTML, with a final newline."""
    return page(
        title=words.visible(finding.title) or "Untitled board",
        kind="Report on a board",
        identity=tuple(
            (name, value)
            for name, value in told(finding, survey, IN_FULL)["identity"]
            if value != finding.title
        ),
        contents=CONTENTS,
        body=board_body(finding, survey),
        method=finding.method,
        footer=(
            f"Fingerprint of the survey (SHA-256): {finding.method.fingerprint}. "
            f"Stated probabilities are computed {words.exactness(finding.method.error_bound)}."
        ),
    )


def page(
    *,
    title: str,
    kind: str,
    identity: object,
    contents: Sequence[tuple[str, str]],
    body: str,
    method: Method,
    footer: str,
) -> str:
    """A body of HTML as a whole page with the style sheet, the script and the policy."""
    script = _asset("report.js")
    digest = base64.b64encode(hashlib.sha256(script.encode()).digest()).decode()
    values: dict[str, Any] = {
        "title": title,
        "kind": kind,
        "identity": identity,
        "contents": contents,
        "body": Markup(body),
        "css": Markup(_asset("report.css")),
        "script": Markup(script),
        "script_hash": f"sha256-{digest}",
        "today": method.today,
        "version": method.version,
        "footer": footer,
    }
    return render("report.j2", "html", None, values).strip() + "\n"


def _asset(name: str) -> str:
    return (files("provenance.notes") / "templates" / name).read_text(encoding="utf-8")


def board_body(finding: Finding, survey: Survey, id_: str = "", top: int = 2) -> str:
    """The sections of one board, under headings of level ``top``.

    ``id_`` goes before every anchor, for several boards on a page; the same without its hyphen is
    the anchor of the board's own heading.
    """
    exact, finding = finding, bounded(finding)
    values = told(finding, survey, IN_FULL)
    found = standings(finding, survey)
    values |= {
        "id": id_,
        "top": top,
        # Names the board in each landmark: on a page of several, no two may be called the same.
        "within": f"{id_.removesuffix('-')} " if id_ else "",
        "summary": summary(finding, survey),
        "blocks": part_blocks(found),
        "inspections": inspection_sentences(finding.inspections),
        "bits_note": BITS_NOTE if finding.carriers or finding.inspections else "",
        "timeline": Markup(plot_svg(finding, "timeline", id_)),
        "map": Markup(plot_svg(finding, "board", id_)),
        "rows": tuple(_row(s, part) for s, part in zip(found, values["parts"], strict=True)),
        "rivals": _rivals(finding),
        "comparisons": comparison_sentences(finding, in_full=False),
        "listing": " ".join(note(finding, survey, "listing", "txt").split()),
        "owner": Markup(note_body(finding, survey, "owner", "html", under=top)),
        "archive": Markup(note_body(finding, survey, "archive", "html", under=top)),
        "records": (
            ("Linked Art (JSON-LD)", "linked-art", _lines(json_text(linked_art(exact, survey)))),
            ("Parts (CSV)", "csv", _lines(parts_csv(exact))),
            ("The whole finding (JSON)", "json", _lines(finding_json(exact))),
        ),
    }
    return render("report_board.j2", "html", None, values)


def _lines(text: str) -> Markup:
    """Text whose line ends stay; everything else about it is made harmless."""
    return Markup("\n").join(escape(words.visible(line)) for line in text.splitlines())


def _row(found: Standing, part: ToldPart) -> Row:
    reading = date_read(found.part)
    unsaid = in_place_of_date(found.part)
    decibans = sum(weight.decibans for weight in found.part.weights)
    return Row(
        part=part,
        read=words.compact(reading.first, reading.last) if reading else unsaid.said,
        read_sort=reading.first.isoformat() if reading else "9999",
        read_number=reading.probability if reading else unsaid.probability,
        name=ORIGIN_NAMES[found.told],
        shape=(HOLLOW if found.open else SHAPES)[found.told],
        css=CSS[found.told],
        number=found.probability,
        doubtful=found.open,
        decibans=decibans,
        weight="" if found.recorded else words.decibans_text(decibans).split()[0],
    )


def _rivals(finding: Finding) -> tuple[tuple[str, str, str], ...]:
    found = histories(finding)
    return tuple(
        (
            words.percent(one.probability),
            words.odds(found[0].probability, one.probability) if at else "",
            words.sentence(one.said),
        )
        for at, one in enumerate(found)
    )
