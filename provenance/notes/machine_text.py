"""Several boards of one machine on the screen: whether they belong together, then each board.

Knows the layout; how one board is told is in ``provenance.notes.screen``.
"""

from __future__ import annotations

import textwrap
from typing import TYPE_CHECKING

from provenance.notes import words
from provenance.notes.screen import screen_text
from provenance.notes.statements import window

if TYPE_CHECKING:
    from provenance.census import MachineFinding
    from provenance.survey.model import Machine


def machine_text(
    finding: MachineFinding, machine: Machine, width: int = 80, colour: bool = False
) -> str:
    """A machine's finding as text of at most ``width`` columns, with a final newline."""
    title = words.visible(finding.title)
    said = [f"The boards were built for one machine: {words.probable(finding.together)}."]
    if found := window(finding.windows):
        when = words.when(found.first, found.last)
        said.append(
            f"The boards that belong were put together {when}: {words.probable(found.probability)}."
        )
    said += [
        f"{words.visible(board.title)} was built for this machine: "
        f"{words.probable(board.probability)}."
        for board in finding.belonging
    ]
    said += [words.sentence(words.visible(warning)) for warning in finding.warnings]
    lines = textwrap.wrap(title, width)
    head = [*lines, "=" * max(map(len, lines)), ""]
    for sentence in said:
        head += textwrap.wrap(sentence, width, initial_indent="- ", subsequent_indent="  ")
    boards = (
        screen_text(board, survey, width, colour)
        for board, survey in zip(finding.boards, machine.boards, strict=True)
    )
    return "\n".join(["\n".join(head) + "\n", *boards])
