"""What on a board does not add up, in sentences: for a person to look at again.

Knows which combinations of probabilities and records are worth a second look. Changes nothing.
"""

from __future__ import annotations

from collections.abc import Sequence

from provenance.inference.contradictions import contradictions
from provenance.inference.finding import PartFinding, Window
from provenance.inference.posterior import Posterior
from provenance.inference.testimony import named
from provenance.inference.windows import share, stated
from provenance.survey.prose import begun, listed

UNLIKELY = 0.05
"""A recorded thing less probable than this under the result is pointed out."""
NOTICEABLE = 0.02
"""An error bound over this is pointed out."""


def warnings_of(
    posterior: Posterior, parts: Sequence[PartFinding], build: tuple[Window, ...], dated: bool
) -> tuple[str, ...]:
    """Every warning of a board, most important first."""
    evidence = posterior.evidence
    survey = evidence.survey
    found = []
    if not dated:
        found.append("Nothing on the board dates it: the build window is only what was assumed.")
    window = stated(build)
    first, last = survey.production_span()
    if (first and window.last < first) or (last and window.first > last):
        found.append(
            f"The build window {window.first} to {window.last} lies outside the production "
            f"years {survey.production}."
        )
    found += contradictions(posterior)
    for number, piece in enumerate(survey.evidence):
        if piece.section is None and (right := posterior.reliance(number)) < UNLIKELY:
            found.append(
                f"{begun(named(piece))} does not fit the rest of the board: it is right with "
                f"probability {share(right)}."
            )
    for part in parts:
        if part.ref in evidence.known and part.reading is not None:
            work = survey.works[evidence.known[part.ref]]
            done = work.span()[1]
            if done and part.reading.first > done:
                found.append(
                    f"{part.ref} reads {part.reading.text}, later than the work of {work.date} "
                    "that is recorded as having fitted it."
                )
    if (bound := posterior.histories.error_bound) > NOTICEABLE:
        found.append(
            f"The board has {len(evidence.groups.groups)} fit groups, too many to weigh every "
            f"history; the stated probabilities can be off by up to {bound:.0%}."
        )
    unread = [p.ref for p in parts if p.reading is None and "?" in p.marking]
    if unread:
        found.append(f"No date could be read on {listed(unread)}, where characters are missing.")
    return tuple(found)
