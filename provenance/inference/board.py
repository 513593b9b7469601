"""From a survey to its finding: the main call of the library.

Knows the order of the steps and how marginals are gathered into what is reported. The model is
in ``evidence`` and ``episodes``; the shape of the result is in ``finding``.
"""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date

import networkx as nx
import numpy as np

from provenance import __version__
from provenance.graph import FitGroup
from provenance.inference.accounts import accounts, comparisons, rated
from provenance.inference.defaults import DEFAULTS, Defaults
from provenance.inference.evidence import gather
from provenance.inference.explain import DATED, rests_on, with_reasons
from provenance.inference.finding import (
    Build,
    Finding,
    GroupFinding,
    LaterWork,
    Method,
    PartFinding,
    Window,
)
from provenance.inference.origins import done, part_findings
from provenance.inference.posterior import Posterior
from provenance.inference.recorded import by_date
from provenance.inference.stock import PROFILES, Profile
from provenance.inference.warnings import warnings_of
from provenance.inference.windows import by_week, edtf, median, windows
from provenance.survey.files import fingerprint
from provenance.survey.model import Survey

REPORTED = 0.1
"""A later work less probable than this is not reported."""
SAME_WORK = 0.5
"""Two groups are told as one work if they share one with this probability, given that the less
probable of them is later."""
CERTAIN = 1e-3
"""A group later with less than this probability shares the build's windows."""
UNLIKELY = 0.2
"""An origin of a group less probable than this is not put on the calendar."""


def date_board(
    survey: Survey,
    *,
    today: date | None = None,
    reasons: bool = False,
    defaults: Defaults = DEFAULTS,
    profiles: Sequence[Profile] = PROFILES,
) -> Finding:
    """What the markings and evidence of one board say of its build and of later work.

    ``today`` bounds every date (default: the survey's day). ``reasons`` adds what carries the
    result and what to look at next, which takes some tens of further runs. ``defaults`` and
    ``profiles`` replace the numbers that docs/defaults.md lists, but for the stock of later works.
    Probabilities are between 0 and 1, weights in decibans. Raises GraphError where relations
    contradict each other, ProvenanceError where what is recorded as certain leaves no history,
    ValueError where a number of ``defaults`` or ``profiles`` is out of its range, or no profile is
    of the trade that the survey states.
    """
    return dated(survey, today=today, reasons=reasons, defaults=defaults, profiles=profiles)[0]


def dated(
    survey: Survey,
    *,
    today: date | None = None,
    reasons: bool = False,
    defaults: Defaults = DEFAULTS,
    profiles: Sequence[Profile] = PROFILES,
) -> tuple[Finding, Posterior]:
    """What ``date_board`` gives, and what it was worked out from."""
    evidence = gather(survey, today=today, defaults=defaults, profiles=profiles)
    posterior = Posterior(evidence)
    start, now = evidence.grid.start, evidence.today
    found = windows(posterior.build, start, now)
    is_dated = posterior.bits >= DATED
    groups, fitted = _groups(posterior, found)
    parts = part_findings(posterior, fitted)
    rivals = rated(posterior)
    finding = Finding(
        title=survey.board.title or survey.board.model or "Untitled board",
        build=Build(
            windows=found,
            edtf=edtf(found),
            median=median(posterior.build, start, now),
            dated=is_dated,
            weeks=by_week(posterior.build, start),
        ),
        later_works=(*_later_works(posterior), *_known_works(posterior, parts)),
        parts=parts,
        groups=groups,
        accounts=accounts(posterior, rivals, found),
        comparisons=comparisons(posterior, rivals),
        carriers=(),
        inspections=(),
        rests_on=rests_on(posterior, parts),
        warnings=warnings_of(posterior, parts, found, is_dated),
        method=Method(
            version=__version__,
            today=now,
            trade=posterior.trades,
            error_bound=posterior.histories.error_bound,
            fingerprint=fingerprint(survey),
        ),
    )
    if reasons:
        finding = with_reasons(finding, posterior)
    return finding, posterior


def _groups(
    posterior: Posterior, build: tuple[Window, ...]
) -> tuple[tuple[GroupFinding, ...], dict[tuple[int, bool], tuple[Window, ...]]]:
    """Every fit group, and its windows if original and if not."""
    evidence, histories = posterior.evidence, posterior.histories
    start, now = evidence.grid.start, evidence.today
    found: dict[str, GroupFinding] = {}
    fitted: dict[tuple[int, bool], tuple[Window, ...]] = {}
    for number, group in enumerate(evidence.groups.groups):
        original = float(histories.original[number].sum())
        # Only the likelier origin of a group or of one of its parts is ever put on the calendar.
        if original > 1 - CERTAIN:
            fitted[number, True] = build
        elif original > UNLIKELY:
            fitted[number, True] = windows(
                posterior.built(histories.original_by(number)), start, now
            )
        if 1 - original > UNLIKELY:
            later = posterior.fitted_later(histories.refitted[number])
            fitted[number, False] = windows(later, start, now)
        when = fitted.get((number, original >= 0.5), ())
        found[group.name] = _group(group, original, when)
    return tuple(found.get(g.name) or _group(g, 0.0, ()) for g in evidence.every_group), fitted


def _group(group: FitGroup, original: float, fitted: tuple[Window, ...]) -> GroupFinding:
    return GroupFinding(
        name=group.name,
        sections=group.sections,
        parts=group.refs,
        mount=group.mount,
        original=original,
        later_work=1 - original,
        fitted=fitted,
    )


def _later_works(posterior: Posterior) -> tuple[LaterWork, ...]:
    """Later works that are likely enough to report, groups that share one told together."""
    evidence, histories = posterior.evidence, posterior.histories
    later = histories.refitted.sum(axis=1)
    likely = [s for s, p in enumerate(later) if p >= REPORTED]
    shared: nx.Graph[int] = nx.Graph()
    shared.add_nodes_from(likely)
    for i, a in enumerate(likely):
        for b in likely[i + 1 :]:
            enough = SAME_WORK * min(later[a], later[b])
            # Never more than each has in a cell of its own.
            most = np.minimum(histories.refitted[a], histories.refitted[b]).sum()
            if most >= enough and histories.together(a, b) >= enough:
                shared.add_edge(a, b)
    works = []
    for members in nx.connected_components(shared):
        when = posterior.fitted_later(histories.refitted[sorted(members)].sum(axis=0))
        found = windows(when, evidence.grid.start, evidence.today)
        groups = [evidence.groups.groups[s] for s in sorted(members)]
        works.append(
            LaterWork(
                probability=histories.any_refitted(members),
                windows=found,
                edtf=edtf(found),
                median=median(when, evidence.grid.start, evidence.today),
                groups=tuple(g.name for g in groups),
                parts=tuple(ref for g in groups for ref in g.refs if ref not in evidence.known),
                weeks=by_week(when, evidence.grid.start),
            )
        )
    return tuple(sorted(works, key=lambda w: w.median))


def _known_works(posterior: Posterior, parts: Sequence[PartFinding]) -> tuple[LaterWork, ...]:
    """The works that the survey records, taken as given, in the order in which they were done."""
    survey = posterior.evidence.survey
    groups = {p.ref: p.group for p in parts}
    known = []
    for number in by_date(survey.works):
        work = survey.works[number]
        when = done(posterior, work)
        sections = {p.ref for p in parts if p.section in work.parts}
        refs = tuple(dict.fromkeys((*(r for r in work.parts if r in groups), *sorted(sections))))
        named = tuple(r for r in work.parts if r not in survey.sections)
        known.append(
            LaterWork(
                probability=1.0,
                windows=(when,),
                edtf=work.date,
                median=date.fromordinal((when.first.toordinal() + when.last.toordinal()) // 2),
                groups=tuple(dict.fromkeys(groups[r] for r in refs if r in sections)),
                parts=tuple(dict.fromkeys((*named, *refs))),
                known=True,
                done=work.done,
                by=work.by,
            )
        )
    return tuple(known)
