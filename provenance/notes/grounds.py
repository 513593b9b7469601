"""What a short note says of the grounds of a build date, and of evidence that conflicts.

Knows what each kind of evidence is called in a sale listing, and how a warning says that pieces of
evidence do not go together. What the date rests on in full is told by the inference.
"""

from __future__ import annotations

import re
from typing import TYPE_CHECKING

from provenance.notes import words

if TYPE_CHECKING:
    from collections.abc import Sequence

    from provenance.inference.finding import Finding
    from provenance.survey.model import Survey

CALLED = {
    "bare board code": "board code",
    "inspection stamp": "stamp",
    "serial number": "serial number",
    "document": "papers",
    "photograph": "photograph",
}
"""Each kind of evidence in a word or two; any other goes by its own name."""

CONFLICTS = (
    " cannot both be right",
    " cannot all be right",
    " hardly agree",
    " hardly fit",
    " does not fit",
    " lies outside the production",
    " lies before the build",
)
"""How a warning says that pieces of evidence do not go together."""


def dated_by(finding: Finding, survey: Survey) -> str:
    """What puts the build where it is put, as subject and verb: codes, stamps and papers recorded.

    Evidence on one section alone, a serial number without a date, and what a warning says does not
    fit, is none of it.
    """
    from provenance.inference.testimony import named  # noqa: PLC0415 - loads numpy

    wrong = [said.casefold() for said in finding.warnings if " does not fit" in said]
    codes = any(p.bears_date and p.origin.original >= 0.5 for p in finding.parts)
    found = ["date codes"] if codes else []
    found += [
        CALLED.get(piece.kind, piece.kind)
        for piece in survey.evidence
        if piece.section is None
        and (piece.date or piece.kind != "serial number")
        and not any(said.startswith(named(piece).casefold()) for said in wrong)
    ]
    found = list(dict.fromkeys(found)) or ["production years"]
    one = len(found) == 1 and not found[0].endswith("s")
    return f"its {words.listed(found)} {'puts' if one else 'put'}"


def conflict(warnings: Sequence[str]) -> str | None:
    """The first of the warnings that says that evidence conflicts; None where none does."""
    return next((said for said in warnings if any(c in said for c in CONFLICTS)), None)


def main_clause(warning: str) -> str:
    """A warning without what follows from it.

    >>> main_clause("The stamp and the document cannot both be right; look at them again.")
    'The stamp and the document cannot both be right'
    """
    return re.split(r"; |: (?=[a-z])", warning, maxsplit=1)[0].rstrip(".")
