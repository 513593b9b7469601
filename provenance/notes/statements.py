"""What is worth saying about a finding, as plain values that a page or a note puts in sentences.

Knows how to choose: which origin a part is given and whether that is doubtful, which later works
deserve a sentence, what could not be read. Says the summary that the screen and the report share.
Leaves numbers, dates and lists to ``provenance.notes.words`` and works nothing out anew.
"""

from __future__ import annotations

from collections.abc import Iterable
from typing import TYPE_CHECKING, Literal, NamedTuple

from provenance.notes import words

if TYPE_CHECKING:
    from provenance.inference.finding import (
        Account,
        Finding,
        LaterWork,
        PartFinding,
        PartReading,
        Window,
    )
    from provenance.survey.model import KnownWork, Survey

Kind = Literal["original", "later work", "replacement"]
Told = Literal["original", "later work", "replacement", "recorded work"]

ORIGIN_NAMES: dict[Told, str] = {
    "original": "original",
    "later work": "later work",
    "replacement": "replaced",
    "recorded work": "recorded work",
}
"""The word for each origin where there is room for one only: a table, a label in a plot."""

DOUBTFUL_BELOW = 0.66
"""An origin less probable than this is called doubtful: the lower bound of 'likely', IPCC 2010."""

MENTIONED_FROM = 0.10
"""A later work or rival account at least this probable is mentioned: above 'very unlikely'."""

SAID_WINDOW = 0.90
"""The window that is put in words; the others are printed in figures."""


class Standing(NamedTuple):
    """The most probable origin of a part, and how sure it is."""

    part: PartFinding
    kind: Kind
    probability: float
    recorded: bool
    """True where a known work of the survey names the part."""

    @property
    def doubtful(self) -> bool:
        """True where no origin is at least 'likely'."""
        return self.probability < DOUBTFUL_BELOW

    @property
    def open(self) -> bool:
        """True where it is doubtful and no recorded work settles it."""
        return self.doubtful and not self.recorded

    @property
    def told(self) -> Told:
        """What it is called: a recorded work that names it says more than its marks."""
        return "recorded work" if self.recorded else self.kind

    @property
    def single(self) -> bool:
        """True for a part said to have been replaced on its own, of which there is no record."""
        return self.kind == "replacement" and not self.doubtful and not self.recorded

    @property
    def or_later(self) -> float:
        """The probability that it came in a later work instead; 0 where too small to mention."""
        later = self.part.origin.later_work
        return later if self.single and later >= MENTIONED_FROM else 0.0


def standing(part: PartFinding, recorded: frozenset[str] = frozenset()) -> Standing:
    """The most probable origin of a part."""
    origin = part.origin
    options: tuple[tuple[float, Kind], ...] = (
        (origin.original, "original"),
        (origin.later_work, "later work"),
        (origin.replacement, "replacement"),
    )
    probability, kind = max(options, key=lambda option: option[0])
    return Standing(part, kind, probability, part.ref in recorded and kind != "original")


def recorded_refs(survey: Survey) -> frozenset[str]:
    """References of the surveyed parts that a known work names, on their own or by section."""
    named = {name for work in survey.works for name in work.parts}
    return frozenset(p.ref for p in survey.parts() if p.ref in named or p.section in named)


def _recorded_in(finding: Finding) -> frozenset[str]:
    """The same from the finding alone, whose known works name parts and sections too."""
    named = {
        name for work in finding.later_works if work.known for name in (*work.parts, *work.groups)
    }
    return frozenset(p.ref for p in finding.parts if named & {p.ref, p.section, p.group})


def standings(finding: Finding, survey: Survey | None) -> tuple[Standing, ...]:
    """The most probable origin of every part, in the order of the finding."""
    recorded = recorded_refs(survey) if survey else _recorded_in(finding)
    return tuple(standing(part, recorded) for part in finding.parts)


def by_section(found: Iterable[Standing]) -> dict[str, list[Standing]]:
    """The parts of each section, sections in the order in which they first come."""
    sections: dict[str, list[Standing]] = {}
    for one in found:
        sections.setdefault(one.part.section, []).append(one)
    return sections


def window(windows: Iterable[Window], probability: float = SAID_WINDOW) -> Window | None:
    """The window nearest to a probability, or None where there is none."""
    return min(windows, key=lambda w: abs(w.probability - probability), default=None)


def when(windows: Iterable[Window]) -> str:
    """The 90 per cent window in prose, or 'at an unknown date'."""
    said = window(windows)
    return words.when(said.first, said.last) if said else "at an unknown date"


def groups_phrase(names: Iterable[str], last: str = "and") -> str:
    """Sections or fit groups as a list in prose, control characters spelled out."""
    return words.listed((words.visible(name) for name in names), last=last)


class Claim(NamedTuple):
    """What may be said of a later work that was inferred.

    A work is one occasion; how probable it is that anything was fitted then says little of each
    group. So the groups that are more likely than not to be later are named, with the least of
    their probabilities; where there is none, they are named as alternatives.
    """

    work: LaterWork
    names: tuple[str, ...]
    """Sections, or fit groups where only some of a section's parts went in."""
    alternatives: bool
    """True where only one of the names or another is meant."""
    parts: tuple[str, ...]
    probability: float
    possibly: tuple[tuple[str, float], ...]
    """Names that may belong to the same work, with their probabilities."""

    @property
    def subject(self) -> str:
        """The names in prose."""
        return groups_phrase(self.names, "or" if self.alternatives else "and")


def with_parts(names: str, parts: str) -> str:
    """Groups with their parts, both in prose; two brackets never meet.

    >>> with_parts("interface board", "U1 to U3"), with_parts("memory (socketed)", "U9")
    ('interface board (U1 to U3)', 'U9 in memory (socketed)')
    """
    if not (names and parts):
        return names or parts or "parts not named"
    return f"{parts} in {names}" if names.endswith(")") else f"{names} ({parts})"


def claim(finding: Finding, work: LaterWork) -> Claim:
    """What may be said of one later work."""
    later = {group.name: group.later_work for group in finding.groups}
    held = {name: later.get(name, work.probability) for name in work.groups}
    sure = [name for name, p in held.items() if p >= 0.5]
    named = sure or list(held)
    mine = {part.ref for part in finding.parts if part.group in named}
    if sure:
        mine &= {part.ref for part in finding.parts if part.origin.later_work >= 0.5}
        probability = min(work.probability, *(held[name] for name in sure))
    else:
        probability = min(work.probability, sum(held.values())) if held else work.probability
    return Claim(
        work=work,
        names=section_names(finding, named),
        alternatives=not sure and len(held) > 1,
        parts=tuple(ref for ref in work.parts if ref in mine or not finding.parts),
        probability=probability,
        possibly=tuple(
            (listed, held[name])
            for name in held
            if name not in named and held[name] >= MENTIONED_FROM
            for listed in section_names(finding, [name])
        ),
    )


def claims(finding: Finding, least: float = MENTIONED_FROM) -> tuple[Claim, ...]:
    """The later works that are probable enough to mention, likeliest first."""
    found = [claim(finding, work) for work in finding.later_works if not work.known]
    kept = [said for said in found if said.probability >= least]
    return tuple(sorted(kept, key=lambda said: -said.probability))


def told_claims(finding: Finding, found: Iterable[Standing]) -> tuple[Claim, ...]:
    """The claims that deserve a sentence of their own.

    A work that is less likely than not, and of parts that are each said to have been replaced on
    their own, is told with those parts.
    """
    single = {s.part.ref for s in found if s.single}
    return tuple(
        said
        for said in claims(finding)
        if said.probability >= 0.5 or not said.parts or not single.issuperset(said.parts)
    )


def section_names(finding: Finding, groups: Iterable[str]) -> tuple[str, ...]:
    """Fit groups by the names of their sections, where all of a section's groups are there."""
    asked = list(groups)
    by_name = {group.name: group for group in finding.groups}
    names: list[str] = []
    for name in asked:
        sections = by_name[name].sections if name in by_name else ()
        whole = [
            section
            for section in sections
            if all(group.name in asked for group in finding.groups if section in group.sections)
        ]
        names += whole if whole and len(whole) == len(sections) else [name]
    return tuple(dict.fromkeys(names))


def date_read(part: PartFinding) -> PartReading | None:
    """The reading of a part's date, or None where its marking most probably gave none."""
    return part.reading if part.no_date <= 0.5 else None


def unread(finding: Finding) -> tuple[PartFinding, ...]:
    """Parts whose marking most probably gave no date."""
    return tuple(part for part in finding.parts if date_read(part) is None)


def built_phrase(finding: Finding) -> str:
    """When the board was built, as a clause with its probability."""
    said = window(finding.build.windows)
    if said is None or not finding.build.dated:
        return "nothing on the board dates it"
    return f"built {words.when(said.first, said.last)}: {words.probable(said.probability)}"


def work_phrase(work: KnownWork, limit: int | None = 6) -> str:
    """A known work as a clause: when, what, on which parts, by whom."""
    done = words.visible(work.done).strip().rstrip(".")
    named = words.refs(work.parts, limit=limit)
    first, last = work.span()
    said = f"{words.stated_when(first, last, work.date)}, {done}"
    if named:
        said += f" ({named})"
    return f"{said}, by {words.visible(work.by)}" if work.by else said


def account_phrase(finding: Finding, account: Account) -> str:
    """One history of the board as a clause, without its probability."""
    said = f"built {words.when(account.build.first, account.build.last)}"
    for work in account.works:
        fitted = words.when(work.fitted.first, work.fitted.last)
        said += f"; {groups_phrase(section_names(finding, work.groups))} fitted later, {fitted}"
    if account.replaced:
        said += f"; {words.refs(account.replaced, limit=6)} replaced"
    return said if account.works or account.replaced else f"{said}; nothing fitted later"


def summary(finding: Finding, survey: Survey | None = None) -> tuple[str, ...]:
    """The finding in a few sentences: when built, what was changed and when, what is in doubt.

    Without the survey the recorded works are told from the finding, less fully.
    """
    found = standings(finding, survey)
    said = [_build_sentence(finding)]
    said += _works_sentences(finding, found)
    said += _replacement_sentences(found)
    if finding.build.dated:
        said += _original_sentences(found)
    elif found:
        said.append("So the origins below rest on little more than what was assumed beforehand.")
    said += [words.sentence(f"recorded work: {known}") for known in _known(finding, survey)]
    missing = [part.ref for part in unread(finding)]
    if missing:
        subject = words.counted(len(missing), "part")
        said.append(
            words.sentence(f"no date was found on {subject}: {words.refs(missing, limit=6)}")
        )
    return tuple(said)


def _known(finding: Finding, survey: Survey | None) -> list[str]:
    if survey is not None:
        return [work_phrase(work) for work in survey.works]
    said = []
    for work in (work for work in finding.later_works if work.known):
        by = f", by {words.visible(work.by)}" if work.by else ""
        done = words.visible(work.done or "worked on").rstrip(".")
        said.append(f"{when(work.windows)}, {done} ({words.refs(work.parts, limit=6)}){by}")
    return said


def _build_sentence(finding: Finding) -> str:
    said = window(finding.build.windows)
    if not finding.build.dated or said is None:
        assumed = (
            f" That it was built {when(finding.build.windows)} is only what was assumed beforehand."
        )
        return "Nothing on this board dates it, so no build date can be given." + (
            assumed if said else ""
        )
    half = window(finding.build.windows, 0.5)
    closer = ""
    if half and half.probability < said.probability:
        closer = (
            f" Within that, {words.when(half.first, half.last)}: "
            f"{words.probable(half.probability)}."
        )
    return words.sentence(built_phrase(finding)) + closer


def _works_sentences(finding: Finding, found: tuple[Standing, ...]) -> list[str]:
    said = []
    for claimed in told_claims(finding, found):
        opening = "later work" if claimed.probability >= 0.5 else "not ruled out as later work"
        told = f"{opening}: {with_parts(claimed.subject, words.refs(claimed.parts, limit=4))}"
        told += f": {words.probable(claimed.probability)}"
        fitted = window(claimed.work.windows)
        if fitted:
            told += (
                f"; if so, fitted {words.when(fitted.first, fitted.last)}: "
                f"{words.probable(fitted.probability)}"
            )
        for name, probability in claimed.possibly:
            told += f"; perhaps {words.visible(name)} too ({words.percent(probability)})"
        said.append(words.sentence(told))
    return said


def _replacement_sentences(found: tuple[Standing, ...]) -> list[str]:
    return [
        words.sentence(
            f"{words.visible(s.part.ref)} replaced on its own: {words.probable(s.probability)}"
            + (f", or in a later work ({words.percent(s.or_later)})" if s.or_later else "")
            + f"; the part there now was fitted {when(s.part.fitted)}"
            + (f": {words.probable(said.probability)}" if (said := window(s.part.fitted)) else "")
        )
        for s in found
        if s.single
    ]


def share(count: int, total: int) -> str:
    """Some of the recorded parts, or all of them, as the subject of a sentence.

    >>> share(3, 16), share(2, 2), share(4, 4), share(1, 1)
    ('three of 16 recorded parts', 'both recorded parts', 'all four recorded parts', 'the one \
recorded part')
    """
    if total == 1:
        return "the one recorded part"
    if count == total:
        return "both recorded parts" if total == 2 else f"all {words.number(total)} recorded parts"
    return f"{words.number(count)} of {words.number(total)} recorded parts"


def _original_sentences(found: tuple[Standing, ...]) -> list[str]:
    said = []
    original = [s for s in found if s.kind == "original" and not s.doubtful]
    if original:
        least = min(s.probability for s in original)
        many = share(len(original), len(found))
        verb = "is" if len(original) == 1 else "are"
        word = words.printed_word(least)
        said.append(
            words.sentence(
                f"{many} {verb} {word} to be original ({words.each(least, len(original))})"
            )
        )
    doubtful = [s.part.ref for s in found if s.doubtful]
    if doubtful:
        said.append(
            words.sentence(f"origin not settled: {words.refs(doubtful, limit=6)} (see the table)")
        )
    return said
