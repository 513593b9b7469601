"""Headings, paragraphs, lists and tables in Markdown, plain text and HTML.

Knows how each format writes them and how text from a file is kept from being taken for markup.
A template says ``h``, ``p``, ``items`` and ``table`` and comes out in any of the three.
"""

from __future__ import annotations

import io
import re
import textwrap
from collections.abc import Callable, Iterable, Sequence
from typing import Literal

from markupsafe import Markup, escape

from provenance.notes.words import visible

Format = Literal["md", "txt", "html"]

TEXT_WIDTH = 80
"""Columns of plain text."""

_MARKDOWN = re.compile(r"[\\`*_\[\]<>&|~$]|(?<=:)//|(?<=www)\.|@")
_MARKDOWN_START = re.compile(r"^(?:[#+=>-]|[0-9]+(?=[.)]))")


def plain(value: object) -> str:
    """Text of a value with control characters spelled out."""
    return visible(str(value))


def markdown(value: object) -> str:
    r"""A value as literal text inside a Markdown line (CommonMark 0.31, 2.4 backslash escapes).

    >>> markdown("*a* <b> [c](d)")
    '\\*a\\* \\<b\\> \\[c\\](d)'
    """
    return _MARKDOWN.sub(lambda found: "".join(f"\\{c}" for c in found[0]), plain(value))


def _markdown_line(text: str) -> str:
    """A line that cannot be taken for a heading, a list or a rule."""
    line = " ".join(text.split())
    found = _MARKDOWN_START.match(line)
    if found is None:
        return line
    at = found.end() if found[0].isdecimal() else 0
    return f"{line[:at]}\\{line[at:]}"


class Paper:
    """One format: how it writes a value, a heading, a paragraph, a list and a table.

    ``value`` makes a text from a file literal; the others take text that ``value`` has been over,
    or, where marked ``Markup``, leave it as it is.
    """

    def __init__(self, form: Format, under: int = 0) -> None:
        """``under`` is the level of the heading below which everything stands; 0 for none."""
        self.form = form
        self.under = under

    def value(self, value: object) -> Markup:
        """A value as literal text of this format."""
        if isinstance(value, Markup):
            return value
        if self.form == "html":
            return escape(plain(value))
        return Markup(markdown(value) if self.form == "md" else plain(value))

    def functions(self) -> dict[str, Callable[..., Markup]]:
        """What a template may call, by name."""
        return {
            "h": self.heading,
            "p": self.paragraph,
            "ul": self.listed,
            "li": self.item,
            "items": self.items,
            "table": self.table,
        }

    def heading(self, level: int, text: object) -> Markup:
        """A heading; level 1 is the title."""
        said = " ".join(self.value(text).split())
        if self.form == "html":
            tag = f"h{level + self.under}"
            return Markup(f"<{tag}>{said}</{tag}>\n")
        if self.form == "md":
            return Markup(f"{'#' * (level + self.under)} {said}\n\n")
        lines = textwrap.wrap(said, TEXT_WIDTH) or [""]
        rule = ("=" if level + self.under == 1 else "-") * max(map(len, lines))
        return Markup("\n".join([*lines, rule]) + "\n\n")

    def paragraph(self, caller: Callable[[], str]) -> Markup:
        """The text between ``{% call p() %}`` and ``{% endcall %}`` as one paragraph."""
        said = " ".join(caller().split())
        if not said:
            return Markup("")
        if self.form == "html":
            return Markup(f"<p>{said}</p>\n")
        if self.form == "md":
            return Markup(f"{_markdown_line(said)}\n\n")
        return Markup(textwrap.fill(said, TEXT_WIDTH, break_on_hyphens=False) + "\n\n")

    def item(self, text: object) -> Markup:
        """One item of a list; belongs between ``{% call ul() %}`` and ``{% endcall %}``."""
        said = " ".join(self.value(text).split())
        if self.form == "html":
            return Markup(f"<li>{said}</li>\n")
        if self.form == "md":
            return Markup(f"- {_markdown_line(said)}\n")
        return Markup(
            textwrap.fill(
                said,
                TEXT_WIDTH,
                initial_indent="- ",
                subsequent_indent="  ",
                break_on_hyphens=False,
            )
            + "\n"
        )

    def listed(self, caller: Callable[[], str]) -> Markup:
        """A list of the items in between; nothing where there are none."""
        said = caller().strip()
        if not said:
            return Markup("")
        return Markup(f"<ul>\n{said}\n</ul>\n" if self.form == "html" else f"{said}\n\n")

    def items(self, texts: Iterable[object]) -> Markup:
        """A list of these texts; nothing where there are none."""
        return self.listed(lambda: "".join(map(self.item, texts)))

    def table(self, heads: Sequence[object], rows: Iterable[Sequence[object]]) -> Markup:
        """A table with a row of headings; nothing where there are no rows."""
        names = [self.value(head) for head in heads]
        cells = [[Markup(" ".join(self.value(cell).split())) for cell in row] for row in rows]
        if not cells:
            return Markup("")
        if self.form == "html":
            top = "".join(f'<th scope="col">{name}</th>' for name in names)
            body = "".join(
                "<tr>" + "".join(f"<td>{cell}</td>" for cell in row) + "</tr>\n" for row in cells
            )
            return Markup(
                f'<div class="wide" tabindex="0" role="group" aria-label="Table of {names[0]}">'
                f"<table>\n<thead><tr>{top}</tr></thead>\n<tbody>\n{body}</tbody>\n</table></div>\n"
            )
        if self.form == "md":
            lines = [names, [Markup("---")] * len(names), *cells]
            return Markup("\n".join(f"| {' | '.join(line)} |" for line in lines) + "\n\n")
        return _text_table([str(name) for name in names], cells)


def _text_table(names: list[str], cells: list[list[Markup]]) -> Markup:
    from rich.console import Console  # noqa: PLC0415 - only this format needs it
    from rich.table import Table  # noqa: PLC0415
    from rich.text import Text  # noqa: PLC0415

    table = Table(box=None, pad_edge=False, padding=(0, 2, 0, 0), header_style="")
    for name in names:
        table.add_column(Text(name), overflow="fold")
    for row in cells:
        table.add_row(*(Text(cell) for cell in row))
    console = Console(width=TEXT_WIDTH, file=io.StringIO(), color_system=None, legacy_windows=False)
    with console.capture() as captured:
        console.print(table)
    lines = [line.rstrip() for line in captured.get().splitlines()]
    return Markup("\n".join(lines) + "\n\n")
