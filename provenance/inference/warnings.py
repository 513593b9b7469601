"""What on a board does not add up, in sentences: for a person to look at again.

Knows which combinations of probabilities and records are worth a second look. Changes nothing.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator, Sequence
from datetime import date, timedelta
from itertools import pairwise

from provenance.inference.contradictions import contradictions
from provenance.inference.delays import middle_week
from provenance.inference.evidence import BoardEvidence
from provenance.inference.finding import PartFinding, Window
from provenance.inference.lots import dated as dated_by
from provenance.inference.posterior import Posterior
from provenance.inference.testimony import named, off
from provenance.inference.windows import months, share, spells, stated
from provenance.markings.reader import FAMILY_SLACK
from provenance.survey.prose import begun, listed
from provenance.weeks import sunday, week_of

UNLIKELY = 0.05
"""Evidence that is less probably right than this is pointed out, and nothing rests on it."""
NOTICEABLE = 0.02
"""An error bound over this is pointed out."""
LEAST_SPELL = 0.01
"""A spell of the build less probable than this is not told."""
DECADE = 521.8
"""Weeks in ten years."""
GIVEN_UP = 0.2
"""A part on which the board makes 'no date' more probable than this is pointed out, if its
marking by itself reads as a date but for half of this."""
YEARS_APART = 156
"""Weeks between two clusters of codes in one section that may be two fittings, three years."""
SEVERAL = 3
"""Least number of different markings in each of the two."""
MOST_NAMED = 6


def warnings_of(
    posterior: Posterior, parts: Sequence[PartFinding], build: tuple[Window, ...], dated: bool
) -> tuple[str, ...]:
    """Every warning of a board, most important first."""
    evidence = posterior.evidence
    survey = evidence.survey
    found = []
    if not dated:
        found.append(
            "Nothing on the board dates it: the build window is only what was stated or assumed."
        )
    window = stated(build)
    first, last = survey.production_span()
    if (first and window.last < first) or (last and window.first > last):
        found.append(
            f"The build window {window.first} to {window.last} lies outside the production "
            f"years {survey.production}."
        )
    if dated:
        found += _spells(posterior)
        found += _works_before(evidence, window)
    found += contradictions(posterior)
    for number, piece in enumerate(survey.evidence):
        if piece.section is not None and not evidence.touched[number]:
            found.append(
                f"{begun(named(piece))} is not weighed: no part of {piece.section} is recorded "
                "whose origin is open."
            )
        right = posterior.reliance(number)
        if right is not None and right < UNLIKELY:
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
    found += _given_up(evidence, parts, window)
    found += _two_fittings(evidence, parts)
    if (bound := posterior.histories.error_bound) > NOTICEABLE:
        found.append(
            f"The board has {len(evidence.groups.groups)} fit groups, too many to weigh every "
            f"history; the stated probabilities can be off by up to {bound:.0%}, by a bound that "
            "is loose where many groups may be later."
        )
    unread = [p.ref for p in parts if not p.bears_date and "?" in p.marking]
    if unread:
        found.append(f"No date could be read on {listed(unread)}, where characters are missing.")
    return tuple(found)


def _spells(posterior: Posterior) -> Iterator[str]:
    """That the build falls into spells more than a year apart, each with its share."""
    all_of_them = spells(posterior.build, posterior.evidence.grid.start, posterior.evidence.today)
    found = [spell for spell in all_of_them if spell.probability >= LEAST_SPELL]
    if len(found) < 2:
        return
    told = [f"{months(s.first, s.last)} ({share(s.probability)})" for s in found]
    # By where they begin: the last may be cut off by today.
    decades = [(b.first - a.first) / timedelta(weeks=DECADE) for a, b in pairwise(found)]
    is_decade_open = all(round(n) and abs(n - round(n)) < 0.1 for n in decades)
    # A code that leaves it open says more of the year than that.
    is_decade_open &= all(s.last - s.first < timedelta(weeks=DECADE / 2) for s in found)
    what = "The decade is open" if is_decade_open else "The build falls into separate spells"
    yield f"{what}: {listed(told, last='or')}."


def _works_before(evidence: BoardEvidence, build: Window) -> Iterator[str]:
    """Recorded works that were done before the board was built."""
    for work in evidence.survey.works:
        done = work.span()[1]
        if done is None:
            continue
        # An approximate date may lie off by twice its standard deviation.
        doubt = timedelta(weeks=2 * off(work.date.rpartition("/")[2], evidence.defaults))
        if done + doubt < build.first:
            yield (
                f"The recorded work of {work.date} lies before the build window "
                f"({months(build.first, build.last)}): one of the two dates is wrong, or the "
                "work was done on another board."
            )


def _given_up(
    evidence: BoardEvidence, parts: Sequence[PartFinding], build: Window
) -> Iterator[str]:
    """Parts whose markings read as a date that the board does not bear out."""
    early: dict[tuple[str, str, int], list[str]] = defaultdict(list)
    doubtful = []
    is_later = False
    for part in parts:
        alone = evidence.alone[part.ref]
        # What was read in part only is pointed out as such.
        if part.ref in evidence.known or "?" in part.marking or (best := alone.best) is None:
            continue
        since = dated_by(alone).since
        if part.reading is None and week_of(best.last) < since:
            made = sunday(since).year + FAMILY_SLACK
            # A week may begin in one month and end in the next.
            day = sunday(middle_week(best))
            when = months(best.first, best.last) if best.span.days > 31 else months(day, day)
            early[best.text, when, made].append(part.ref)
        elif part.no_date > GIVEN_UP and alone.no_date < GIVEN_UP / 2:
            doubtful.append(part.ref)
            lag = best.first - build.last
            is_later |= best.last > build.first and lag < timedelta(weeks=YEARS_APART)
    for (text, when, made), refs in early.items():
        one = len(refs) == 1
        yield (
            f"{listed(refs, limit=MOST_NAMED)} {'reads' if one else 'read'} {text} ({when}), "
            f"before {'its' if one else 'their'} family was made (about {made}): look at the "
            f"{'marking' if one else 'markings'} again."
        )
    if doubtful:
        one = len(doubtful) == 1
        causes = [
            f"the {'mark was' if one else 'marks were'} copied down wrongly",
            f"the {'part was' if one else 'parts were'} replaced",
        ]
        if is_later:
            causes.append("the board was built later than its other codes say")
        yield (
            f"The {'date' if one else 'dates'} on {listed(doubtful, limit=MOST_NAMED)} "
            f"{'hardly fits' if one else 'hardly fit'} the board: either "
            f"{listed(causes, last='or')}."
        )


def _two_fittings(evidence: BoardEvidence, parts: Sequence[PartFinding]) -> Iterator[str]:
    """Sections of one fit group whose codes lie in two clusters years apart."""
    sections: dict[tuple[str, str], list[tuple[date, date, PartFinding]]] = defaultdict(list)
    for part in parts:
        reading = part.reading
        stayed = part.ref not in evidence.known and part.origin.replacement < 0.5
        if stayed and reading and reading.probability >= 0.5:
            dates = (reading.first, reading.last)
            sections[part.section, part.group].append((*dates, part))
    for (section, _), codes in sections.items():
        codes.sort(key=lambda code: code[:2])
        gaps = [later[0] - sooner[1] for sooner, later in pairwise(codes)]
        widest = max(gaps, default=timedelta())
        if widest < timedelta(weeks=YEARS_APART):
            continue
        cut = gaps.index(widest) + 1
        clusters = codes[:cut], codes[cut:]
        # Two clusters, and not stock of every age: each is narrower than what lies between.
        if all(
            len({part.marking for _, _, part in cluster}) >= SEVERAL
            and cluster[-1][1] - cluster[0][0] < widest
            for cluster in clusters
        ):
            older, newer = (
                f"{months(cluster[0][0], cluster[-1][1])} "
                f"({listed((part.ref for _, _, part in cluster), limit=MOST_NAMED)})"
                for cluster in clusters
            )
            yield (
                f"The codes of {section} lie in two clusters years apart, {older} and {newer}: "
                "they may be two fittings. Split the section if the two differ in joints, flux "
                "or sockets."
            )
