"""What is worth saying about a finding, as plain values that a page or a note puts in sentences.

Knows how to choose: which origin a part is given and whether that is doubtful, which later works
deserve a sentence, what could not be read. Says the summary that the screen and the report share.
Leaves numbers, dates and lists to ``provenance.notes.words`` and works nothing out anew.
"""

from __future__ import annotations

from collections.abc import Iterable
from itertools import groupby
from typing import TYPE_CHECKING, Literal, NamedTuple

from provenance.inference.windows import STATED
from provenance.notes import words
from provenance.notes.bounded import bounded

if TYPE_CHECKING:
    from provenance.inference.finding import (
        Finding,
        LaterWork,
        PartFinding,
        PartReading,
        Window,
    )
    from provenance.survey.model import KnownWork, Survey

Kind = Literal["original", "later work", "replacement", "not original"]
Told = Literal["original", "later work", "replacement", "not original", "recorded work"]

ORIGIN_NAMES: dict[Told, str] = {
    "original": "original",
    "later work": "later work",
    "replacement": "replaced",
    "not original": "not original",
    "recorded work": "recorded work",
}
"""The word for each origin where there is room for one only: a table, a label in a plot."""

DOUBTFUL_BELOW = 0.66
"""Where neither 'original' nor 'not original' is so probable, the origin is called doubtful: the
lower bound of 'likely', IPCC 2010."""

MANNER_FROM = 0.90
"""How probable a later work, or a replacement on its own, must be of a part that is not original
for that manner to be told: 'very likely', IPCC 2010. Else the manner is open."""

TOLD_FROM = 0.33
"""A reading less probable than this is not told as the date of its part: 'unlikely', IPCC 2010."""

MENTIONED_FROM = 0.10
"""A later work or rival account at least this probable is mentioned: above 'very unlikely'."""

ASSUMED = "the origins below rest on little more than what was assumed beforehand"
"""What is said of the origins of parts on a board that nothing dates."""


class Standing(NamedTuple):
    """What a part is told to be, and how sure that is.

    First whether it is original, then by what manner it came if not: in a later work on its group
    or as a replacement on its own. Where the manner is open, or is none because the part is all of
    its group, it is told as not original.
    """

    part: PartFinding
    kind: Kind
    probability: float
    recorded: bool
    """True where a known work of the survey names the part."""
    lone: bool
    """True where the part is all of its fit group: a work on the one is a work on the other."""

    @property
    def doubtful(self) -> bool:
        """True where neither 'original' nor 'not original' is at least 'likely'."""
        original = self.part.origin.original
        return max(original, 1 - original) < DOUBTFUL_BELOW

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
    def fitted_later(self) -> bool:
        """True for a part said to be not original by a manner that is open, without a record."""
        return self.kind == "not original" and not self.doubtful and not self.recorded


def standing(part: PartFinding, *, recorded: bool = False, lone: bool = False) -> Standing:
    """What a part is told to be, by whether a known work names it and whether it is its group."""
    origin = part.origin
    later = 1 - origin.original
    kind: Kind = "original" if later <= origin.original else "not original"
    probability = max(origin.original, later)
    manner: Kind = "later work" if origin.later_work > origin.replacement else "replacement"
    most = max(origin.later_work, origin.replacement)
    # A manner is told by its own probability, which must be as good as that of 'not original'.
    as_sure = most >= MANNER_FROM * later and (most >= DOUBTFUL_BELOW or later < DOUBTFUL_BELOW)
    if kind == "not original" and as_sure and (manner == "later work" or not lone):
        kind, probability = manner, most
    return Standing(part, kind, probability, recorded and kind != "original", lone)


def recorded_refs(survey: Survey) -> frozenset[str]:
    """References of the surveyed parts that a known work names, on their own or by section."""
    named = {name for work in survey.works for name in work.parts}
    return frozenset(p.ref for p in survey.parts() if p.ref in named or p.section in named)


def record_of(finding: Finding) -> dict[str, str]:
    """The surveyed parts that a known work of the finding names, with the date of the last."""
    return {
        part.ref: work.edtf
        for work in finding.later_works
        if work.known
        for part in finding.parts
        if {part.ref, part.section, part.group} & {*work.parts, *work.groups}
    }


def see_record(finding: Finding, refs: Iterable[str]) -> str:
    """Where it stands what was done to parts that known works name; empty unless all are named."""
    record = record_of(finding)
    dates = [record.get(ref, "") for ref in refs]
    if not dates or not all(dates):
        return ""
    said = words.listed(dict.fromkeys(map(words.visible, dates)))
    return f"see the recorded {'work' if len(set(dates)) == 1 else 'works'} of {said}"


def lone_refs(finding: Finding) -> frozenset[str]:
    """The parts that are each all of their fit group."""
    return frozenset(g.parts[0] for g in finding.groups if len(g.parts) == 1)


def standings(finding: Finding, survey: Survey | None) -> tuple[Standing, ...]:
    """What every part is told to be, in the order of the finding."""
    recorded = recorded_refs(survey) if survey else record_of(finding)
    lone = lone_refs(finding)
    return tuple(
        standing(part, recorded=part.ref in recorded, lone=part.ref in lone)
        for part in finding.parts
    )


def by_section(found: Iterable[Standing]) -> dict[str, list[Standing]]:
    """The parts of each section, sections in the order in which they first come."""
    sections: dict[str, list[Standing]] = {}
    for one in found:
        sections.setdefault(one.part.section, []).append(one)
    return sections


def window(windows: Iterable[Window], probability: float = STATED) -> Window | None:
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
    found = [s for s in standings(finding, None) if s.part.group in named]
    if sure:
        # A part whose manner is open is told by itself.
        found = [s for s in found if s.kind == "later work" or s.lone]
        probability = min(work.probability, *(held[name] for name in sure))
    else:
        probability = min(work.probability, sum(held.values())) if held else work.probability
    mine = {s.part.ref for s in found}
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
    """The later works that are probable enough to mention: those that are more likely than not
    first, each by date. A work on nothing but parts that known works name is none of them."""
    record = record_of(finding)
    found = [
        claim(finding, work)
        for work in finding.later_works
        if not work.known and not (work.parts and record.keys() >= set(work.parts))
    ]
    kept = [said for said in found if said.probability >= least]
    return tuple(sorted(kept, key=lambda said: (said.probability < 0.5, said.work.median)))


def told_claims(finding: Finding, found: Iterable[Standing]) -> tuple[Claim, ...]:
    """The claims that deserve a sentence of their own.

    A work of parts that are each told by themselves, replaced or not original, is told with those;
    so is what a work may have done to a group of such parts, with the dates of the parts.
    """
    alone = {s.part.ref for s in found if s.single or s.fitted_later}
    by_itself = {
        group.name for group in finding.groups if group.parts and alone.issuperset(group.parts)
    }
    told = []
    for said in claims(finding):
        work = said.work
        if rest := tuple(name for name in work.groups if name not in by_itself):
            work = work.model_copy(update={"groups": rest})
        if not (work.parts and alone.issuperset(work.parts)):
            told.append(claim(finding, work))
    return tuple(said for said in told if said.probability >= MENTIONED_FROM)


class FittedLater(NamedTuple):
    """Parts of one fit group that are not original, while the manner of each is open."""

    found: tuple[Standing, ...]
    group: str

    @property
    def refs(self) -> tuple[str, ...]:
        """Their references."""
        return tuple(s.part.ref for s in self.found)

    @property
    def least(self) -> float:
        """The least probability among them of being not original."""
        return min(s.probability for s in self.found)

    @property
    def probable(self) -> str:
        """The word for it, with what each of them reaches."""
        return words.probable(self.least, len(self.found))

    @property
    def fitted(self) -> tuple[Window, ...]:
        """When they were fitted."""
        return self.found[0].part.fitted

    @property
    def manner(self) -> str:
        """By what manners they can have come; empty where the group is the part."""
        if self.found[0].lone:
            return ""
        own = "its own" if len(self.found) == 1 else "their own"
        later = min(s.part.origin.later_work for s in self.found)
        return f"with a work on {self.group} ({words.each(later, len(self.found))}) or on {own}"


def fitted_later(finding: Finding, found: Iterable[Standing]) -> tuple[FittedLater, ...]:
    """The parts that are not original by a manner that is open, told together where they stand
    together and were fitted at the same time."""
    mine = [s for s in found if s.fitted_later]
    return tuple(
        FittedLater(tuple(some), groups_phrase(section_names(finding, [group])))
        for (group, _), some in groupby(mine, key=lambda s: (s.part.group, s.part.fitted))
    )


class Replaced(NamedTuple):
    """Parts that were each replaced on their own, of which those there now are of one time."""

    found: tuple[Standing, ...]

    @property
    def refs(self) -> tuple[str, ...]:
        """Their references."""
        return tuple(s.part.ref for s in self.found)

    @property
    def probable(self) -> str:
        """The word for the least of their probabilities, with what each of them reaches."""
        least = min(s.probability for s in self.found)
        return words.probable(least, len(self.found))

    @property
    def each(self) -> str:
        """What stands before 'replaced on its own' where they are several."""
        return "each " if len(self.found) > 1 else ""


def replaced(found: Iterable[Standing]) -> tuple[Replaced, ...]:
    """The parts said to have been replaced on their own, most probable first; those whose present
    parts were fitted in the same windows are told together."""
    alike: dict[tuple[Window, ...], list[Standing]] = {}
    for s in sorted(found, key=lambda s: -s.probability):
        if s.single:
            alike.setdefault(s.part.fitted, []).append(s)
    return tuple(Replaced(tuple(some)) for some in alike.values())


class DespiteRecord(NamedTuple):
    """Parts that are not original by their marks, while the recorded work that names them does not
    say that it fitted them: it was cleaned, checked or the like, and says nothing of its origin."""

    refs: tuple[str, ...]
    least: float
    """The least probability among them of being not original."""
    fitted: tuple[Window, ...]

    @property
    def probable(self) -> str:
        """The word for it, with what each of them reaches."""
        return words.probable(self.least, len(self.refs))


def despite_record(
    finding: Finding, survey: Survey, found: Iterable[Standing]
) -> tuple[DespiteRecord, ...]:
    """What a record would hide: a part is told as recorded work whatever the work did to it.

    Those that one work fitted are told together, and parts told with a later work are left out.
    """
    from provenance.inference.recorded import fitted_by  # noqa: PLC0415 - loads the models

    on_board = survey.parts()
    explained = {
        ref for work in survey.works for ref in fitted_by(work.done, work.parts, on_board)
    } | {ref for said in claims(finding) for ref in said.parts}
    inferred = [work for work in finding.later_works if not work.known]
    told: dict[tuple[str, tuple[Window, ...]], list[Standing]] = {}
    for s in found:
        if not s.recorded or s.doubtful or s.part.ref in explained:
            continue
        mine = [w for w in inferred if s.kind == "later work" and s.part.ref in w.parts]
        fitted = max(mine, key=lambda w: w.probability).windows if mine else s.part.fitted
        told.setdefault((s.part.group, fitted), []).append(s)
    return tuple(
        DespiteRecord(
            refs=tuple(s.part.ref for s in some),
            least=min(1 - s.part.origin.original for s in some),
            fitted=fitted,
        )
        for (_, fitted), some in told.items()
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
    """The reading of a part's date; None where its marking most probably gave none, or so many that
    no single one of them is told."""
    read = part.reading
    return read if read and part.bears_date and read.probability >= TOLD_FROM else None


class Unsaid(NamedTuple):
    """What is told of a part in place of one date, and how probable that is."""

    said: str
    seen: str
    """The same where it stands by itself."""
    clause: str
    probability: float


def in_place_of_date(part: PartFinding) -> Unsaid:
    """What is told of a part of which ``date_read`` gives nothing: that no date was read, or that
    several fit."""
    if not part.bears_date:
        return Unsaid("no date", "no date read", "no date was read in the marking", part.no_date)
    several = "several dates"
    return Unsaid(several, several, f"{several} fit the marking", 1 - part.no_date)


def unread(finding: Finding) -> tuple[PartFinding, ...]:
    """Parts whose marking most probably gave no date."""
    return tuple(part for part in finding.parts if not part.bears_date)


def origins_borne(finding: Finding) -> bool:
    """Whether origins rest on dates: on a board that nothing dates, or of which no part bears a
    date, they are what was assumed of any board, unless more likely than not otherwise."""
    return finding.build.dated and len(unread(finding)) < len(finding.parts)


def assumed(finding: Finding) -> str:
    """That the origins are assumed, and why; a clause."""
    if finding.build.dated:
        return f"no part bears a date, so {ASSUMED}"
    return f"nothing dates the board, so {ASSUMED}"


def built_phrase(finding: Finding) -> str:
    """When the board was built, as a clause with its probability."""
    said = window(finding.build.windows)
    if said is None or not finding.build.dated:
        return "nothing on the board dates it"
    return f"built {words.when(said.first, said.last)}: {words.probable(said.probability)}"


AFTER_PARTICIPLE = frozenset(
    (
        "and",
        "again",
        "as",
        "at",
        "by",
        "during",
        "for",
        "from",
        "in",
        "on",
        "under",
        "while",
        "with",
    )
)
"""Words that may follow a participle which has no subject before it, as in 'replaced by ...'."""


def done_phrase(done: str, parts: str) -> str:
    """What a known work did, with its parts: as the subject where the words have none.

    >>> done_phrase("replaced", "U5"), done_phrase("Cleaned and tested", "U1 and U2")
    ('U5 replaced', 'U1 and U2 cleaned and tested')
    >>> done_phrase("capacitors replaced", "C7"), done_phrase("cleaned", "")
    ('capacitors replaced (C7)', 'cleaned')
    """
    if not parts:
        return done
    first, *more = done.split(maxsplit=2) or [""]
    bare = first.rstrip(",").endswith("ed") and (
        not more or first.endswith(",") or more[0].casefold() in AFTER_PARTICIPLE
    )
    return f"{parts} {done[:1].lower()}{done[1:]}" if bare else f"{done} ({parts})"


def work_phrase(work: KnownWork, limit: int | None = 6) -> str:
    """A known work as a clause: when, what, on which parts, by whom."""
    done = words.visible(work.done).strip().rstrip(".")
    first, last = work.span()
    did = done_phrase(done, words.refs(work.parts, limit=limit))
    said = f"{words.stated_when(first, last, work.date)}, {did}"
    return f"{said}, by {words.visible(work.by)}" if work.by else said


def summary(finding: Finding, survey: Survey | None = None) -> tuple[str, ...]:
    """The finding in a few sentences: when built, what was changed and when, what is in doubt.

    Without the survey the recorded works are told from the finding, less fully.
    """
    finding = bounded(finding)
    found = standings(finding, survey)
    said = [_build_sentence(finding)]
    said += _works_sentences(finding, found)
    said += _fitted_later_sentences(finding, found)
    said += _replacement_sentences(found)
    said += _despite_record_sentences(finding, survey, found)
    if origins_borne(finding):
        said += [*_original_sentences(found), *_hand_made_sentences(survey, found)]
    elif found:
        so = assumed(finding) if finding.build.dated else f"so {ASSUMED}"
        said.append(words.sentence(so))
    said += [words.sentence(f"recorded work: {known}") for known in _known(finding, survey)]
    missing = [part.ref for part in unread(finding)]
    if missing:
        subject = words.counted(len(missing), "part")
        said.append(
            words.sentence(f"no date was taken from {subject}: {words.refs(missing, limit=6)}")
        )
    return tuple(said)


def _known(finding: Finding, survey: Survey | None) -> list[str]:
    if survey is not None:
        return [work_phrase(work) for work in survey.works]
    said = []
    for work in (work for work in finding.later_works if work.known):
        by = f", by {words.visible(work.by)}" if work.by else ""
        done = words.visible(work.done or "worked on").rstrip(".")
        did = done_phrase(done, words.refs(work.parts, limit=6))
        said.append(f"{when(work.windows)}, {did}{by}")
    return said


def _build_sentence(finding: Finding) -> str:
    said = window(finding.build.windows)
    if not finding.build.dated or said is None:
        assumed = (
            f" That it was built {when(finding.build.windows)} is only what was stated or assumed "
            "beforehand."
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
        if claimed.probability < 0.5 and not origins_borne(finding):
            continue
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


def _fitted_later_sentences(finding: Finding, found: tuple[Standing, ...]) -> list[str]:
    return [
        words.sentence(
            f"{words.refs(said.refs, limit=4)} not original: {said.probable}; "
            f"{_fitted(said.fitted, 'fitted' if said.manner else 'fitted later,')}"
            + (f"; {said.manner}" if said.manner else "")
        )
        for said in fitted_later(finding, found)
    ]


def _replacement_sentences(found: tuple[Standing, ...]) -> list[str]:
    return [
        words.sentence(
            f"{words.refs(some.refs, limit=6)} {some.each}replaced on its own: {some.probable}; "
            + _fitted(
                some.found[0].part.fitted,
                f"the {'parts there now were' if some.each else 'part there now was'} fitted",
            )
        )
        for some in replaced(found)
    ]


def hand_made(survey: Survey, found: Iterable[Standing]) -> tuple[str, ...]:
    """Parts that are told as original though their joints, unlike most of their section's, are made
    by hand, and no known work names them: a sign of later work, whatever their marks say."""
    by_hand = {part.ref for part in survey.parts() if part.joints == "hand"}
    sections = {
        name for name, s in survey.sections.items() if 2 * len(by_hand & {*s.parts}) < len(s.parts)
    }
    unnamed = by_hand - recorded_refs(survey)
    return tuple(
        s.part.ref
        for s in found
        if s.part.ref in unnamed
        and s.part.section in sections
        and s.kind == "original"
        and not s.doubtful
    )


def _hand_made_sentences(survey: Survey | None, found: tuple[Standing, ...]) -> list[str]:
    refs = hand_made(survey, found) if survey else ()
    if not refs:
        return []
    which = "its marks say" if len(refs) == 1 else "their marks say"
    seen = f"hand-made joints were seen on {words.refs(refs, limit=6)}"
    return [words.sentence(f"{seen}, whatever {which}: a sign of later work")]


def _despite_record_sentences(
    finding: Finding, survey: Survey | None, found: tuple[Standing, ...]
) -> list[str]:
    if survey is None:
        return []
    return [
        words.sentence(
            f"{words.refs(said.refs, limit=4)} not original by "
            f"{'its' if len(said.refs) == 1 else 'their'} marks: {said.probable}; "
            f"{_fitted(said.fitted, 'fitted later,')}; the record does not say by what work"
        )
        for said in despite_record(finding, survey, found)
    ]


def _fitted(windows: Iterable[Window], verb: str) -> str:
    """When parts were fitted, with its probability where there is a window."""
    said = window(windows)
    if said is None:
        return f"{verb} {when(())}"
    return f"{verb} {words.when(said.first, said.last)}: {words.probable(said.probability)}"


def share(count: int, total: int) -> str:
    """Some of the recorded parts, or all of them, as the subject of a sentence.

    >>> share(3, 7), share(3, 16)
    ('three of seven recorded parts', '3 of 16 recorded parts')
    >>> share(2, 2), share(4, 4), share(1, 1)
    ('both recorded parts', 'all four recorded parts', 'the one recorded part')
    """
    if total == 1:
        return "the one recorded part"
    if count == total:
        return "both recorded parts" if total == 2 else f"all {words.number(total)} recorded parts"
    whole = words.number(total)  # In words or in figures, the two alike.
    return f"{count if whole.isdecimal() else words.number(count)} of {whole} recorded parts"


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
    if doubtful := [s for s in found if s.open]:
        named = words.refs([s.part.ref for s in doubtful], limit=6)
        said.append(words.sentence(f"origin not settled: {named} ({_how_open(doubtful)})"))
    return said


def _how_open(doubtful: list[Standing]) -> str:
    """How probable one part is to be original; of several, where it stands."""
    if len(doubtful) > 1:
        return "see the table"
    return f"original: {words.percent(doubtful[0].part.origin.original)}"
