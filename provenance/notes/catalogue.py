"""What the project knows, as lists on the screen: date schemes, part families, a checked survey.

Knows the layout of ``provenance schemes``, ``families`` and ``check``. Light to import.
"""

from __future__ import annotations

import textwrap
from collections.abc import Iterable, Iterator
from typing import TYPE_CHECKING

from provenance.notes import words

if TYPE_CHECKING:
    from provenance.graph import FitGroups
    from provenance.markings.families import Family
    from provenance.markings.schemes import Scheme
    from provenance.survey.model import Survey


def schemes_text(schemes: Iterable[Scheme], width: int = 80) -> str:
    """Each scheme's key and name with its source below.

    >>> from provenance.markings.schemes import all_schemes
    >>> print(schemes_text(all_schemes()).splitlines()[0])
    year_week: year and week, YYWW
    """
    return "".join(
        _entry(f"{scheme.key}: {scheme.name}", f"Source: {scheme.source}", width)
        for scheme in schemes
    )


def families_text(families: Iterable[Family], width: int = 80) -> str:
    """Each family's pattern, what it is and since when it has been made, with its source below."""
    return "".join(
        _entry(
            f"{family.pattern}: {family.what}; "
            + (f"first made {family.first_made}" if family.first_made else "first made: not known"),
            f"Source: {family.source}",
            width,
        )
        for family in families
    )


def _entry(heading: str, below: str, width: int) -> str:
    lines = textwrap.wrap(words.visible(heading), width, subsequent_indent="    ")
    lines += textwrap.wrap(
        words.visible(below), width, initial_indent="    ", subsequent_indent="    "
    )
    return "\n".join(lines) + "\n"


def checked_text(name: str, surveys: Iterable[tuple[Survey, FitGroups]]) -> str:
    """A valid survey in figures: a line for each board, and for what each of its works is taken to
    have done with recorded parts."""
    lines = [f"{words.visible(name)}: valid."]
    for survey, groups in surveys:
        title = words.visible(survey.board.title or "") or "Untitled board"
        counts = (
            words.counted(len(survey.parts()), "part"),
            words.counted(len(survey.sections), "section"),
            words.counted(len(groups.groups), "fit group"),
            words.counted(len(survey.relations), "relation"),
            words.counted(len(survey.evidence), "piece of evidence", "pieces of evidence"),
            words.counted(len(survey.works), "known work"),
        )
        said = f"- {title}: {words.listed(counts)}."
        lines += textwrap.wrap(said, 80, subsequent_indent="  ")
        for taken in _works_taken(survey):
            lines += textwrap.wrap(f"- {taken}", 80, subsequent_indent="  ")
    return "\n".join(lines) + "\n"


def _works_taken(survey: Survey) -> Iterator[str]:
    """Of each work that names recorded parts, which it is taken to have fitted by its words: those
    are no evidence of the build, and words that are not known would go unnoticed."""
    from provenance.inference.recorded import fitted_by  # noqa: PLC0415 - loads the models

    parts = survey.parts()
    for work in survey.works:
        named = [p.ref for p in parts if p.ref in work.parts or p.section in work.parts]
        if not named:
            continue
        fitted = set(fitted_by(work.done, work.parts, parts))
        new = words.refs([ref for ref in named if ref in fitted], limit=6)
        kept = words.refs([ref for ref in named if ref not in fitted], limit=6)
        told = [f"to have fitted {new}"] if new else []
        told += [f"not to have fitted {kept}"] if kept else []
        done = words.clipped(words.visible(work.done), 8, 60)
        yield f"Work of {words.visible(work.date)} ({done}): taken {words.listed(told)}."
