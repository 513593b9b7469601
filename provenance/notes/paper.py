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

RULES = "=-~"
"""What underlines a heading of the first, second and third level in plain text."""

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
        rule = RULES[min(level + self.under, len(RULES)) - 1] * max(map(len, lines))
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
        said = re.sub(r"\n{2,}", "\n", caller().strip())
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


LEAST_COLUMN = 12
"""Columns of text that a table's column has at least, where it holds so long a word: enough for
'replacement' and for half an EDTF interval."""

_INTERVAL = re.compile(r"(?<=[0-9~?%]/)(?=[0-9.])")


def _longest_word(column: Iterable[str]) -> int:
    return max((len(word) for cell in column for word in _broken(cell).split()), default=1)


def _broken(cell: str) -> str:
    """A cell in which an interval of days is broken at its stroke."""
    return (
        _INTERVAL.sub("\n", cell)
        if re.fullmatch(r"[0-9~?%.-]{10,}/[0-9~?%.-]{10,}", cell)
        else cell
    )


def _text_table(names: list[str], cells: list[list[Markup]]) -> Markup:
    from rich.cells import cell_len  # noqa: PLC0415
    from rich.console import Console  # noqa: PLC0415 - only this format needs it
    from rich.table import Table  # noqa: PLC0415
    from rich.text import Text  # noqa: PLC0415

    columns = list(zip(names, *cells, strict=True))
    tight = sum(max(map(cell_len, column)) + 2 for column in columns) > TEXT_WIDTH
    least = [min(_longest_word(column), LEAST_COLUMN) for column in columns]
    fits = sum(least) + len(least) <= TEXT_WIDTH
    gap = 1 if tight else 2
    table = Table(box=None, pad_edge=False, padding=(0, gap, 0, 0), header_style="")
    for name, width in zip(names, least, strict=True):
        table.add_column(Text(name), overflow="fold", min_width=width if fits else None)
    for row in cells:
        table.add_row(*(Text(_broken(cell) if tight else cell) for cell in row))
    console = Console(width=TEXT_WIDTH, file=io.StringIO(), color_system=None, legacy_windows=False)
    with console.capture() as captured:
        console.print(table)
    lines = [line.rstrip() for line in captured.get().splitlines()]
    return Markup("\n".join(lines) + "\n\n")
