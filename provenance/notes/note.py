"""The notes that a person signs: a listing, an owner's report, an archive entry.

Knows what each note is told and how long it may be. The wording is in ``templates/``, which a
user can replace file by file; the marks of Markdown, text and HTML are in ``paper``.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from datetime import date, timedelta
from functools import lru_cache
from html import unescape
from os import PathLike
from pathlib import Path
from typing import TYPE_CHECKING, Any, Generic, Literal, TypeVar, get_args

from jinja2 import (
    BaseLoader,
    ChoiceLoader,
    FileSystemLoader,
    PackageLoader,
    StrictUndefined,
    TemplateError,
)
from jinja2.sandbox import ImmutableSandboxedEnvironment
from markupsafe import Markup

from provenance.errors import ProvenanceError
from provenance.notes import reasons, words
from provenance.notes.bounded import bounded
from provenance.notes.cautions import CAUTIONS
from provenance.notes.grounds import conflict, dated_by, main_clause
from provenance.notes.histories import histories
from provenance.notes.observed import observed
from provenance.notes.paper import Format, Paper
from provenance.notes.statements import (
    FittedLater,
    assumed,
    date_read,
    despite_record,
    done_phrase,
    fitted_later,
    hand_made,
    in_place_of_date,
    origins_borne,
    recorded_refs,
    replaced,
    share,
    standings,
    told_claims,
    unread,
    when,
    window,
    with_parts,
)
from provenance.survey.prose import says_of
from provenance.weeks import edtf_interval

if TYPE_CHECKING:
    from provenance.inference.finding import Finding, Window
    from provenance.markings.houses import House
    from provenance.notes.statements import Claim, DespiteRecord, Replaced, Standing
    from provenance.survey.model import Board, Evidence, KnownWork, Survey

T = TypeVar("T")

Purpose = Literal["listing", "owner", "archive"]

LISTING_WORDS = 120
"""Most words of a listing, counted between blanks."""

THIS_TIME = timedelta(days=366)
"""A known work that ended within this of the survey's day is work done this time."""


@dataclass(frozen=True, slots=True)
class Brevity:
    """How much a note names: references and items in a list, words of a text from the survey; and
    whether it says when parts were fitted later."""

    names: int
    items: int
    words: int
    dates: bool = True


SAID_ANYWAY = ("Nothing on the board dates it", "No date could be read")
"""How those warnings begin that a listing says in its own words, and so does not count."""

IN_FULL = Brevity(names=1000, items=1000, words=1000)

LISTING_STEPS = (
    Brevity(names=6, items=4, words=16),
    Brevity(names=4, items=4, words=10),
    Brevity(names=6, items=4, words=16, dates=False),
    Brevity(names=4, items=3, words=10, dates=False),
    Brevity(names=3, items=2, words=7, dates=False),
    Brevity(names=2, items=1, words=5, dates=False),
    Brevity(names=0, items=0, words=3, dates=False),
)
"""A listing is tried at each step in turn, until it is short enough. The last names nothing that
can be long, so that the templates of this project always end within the limit."""


@dataclass(frozen=True, slots=True)
class ToldWork:
    """A later work as phrases: what, when, how probable."""

    subject: str
    when: str
    within: str
    """The probability of that window, given that it was fitted later."""
    edtf: str
    probable: str
    probability: float


@dataclass(frozen=True, slots=True)
class ToldPart:
    """A part as phrases."""

    ref: str
    section: str
    marking: str
    read: str
    read_probability: str
    origin: str
    probability: str
    probable: str
    original: str
    """The probability that it is original, and that it is not."""
    not_original: str
    fitted: str
    within: str
    fitted_edtf: str
    recorded: bool
    weights: tuple[str, ...]
    each: str = ""
    """'each ' where ``ref`` names several parts that were replaced on their own."""


@dataclass(frozen=True, slots=True)
class ToldLater:
    """Parts that are not original while it is open how they came, as phrases."""

    refs: str
    probable: str
    manner: str
    """The manners it is open between; empty where they come to one thing."""
    when: str
    within: str
    edtf: str

    @property
    def fitted(self) -> str:
        """When, with its verb."""
        return f"fitted {self.when}" if self.manner else f"fitted later, {self.when}"

    @property
    def how(self) -> str:
        """The manners, or what they come to."""
        return self.manner or "fitted later"


@dataclass(frozen=True, slots=True)
class ToldDespite:
    """Parts that are not original though the record does not say what fitted them, as phrases."""

    refs: str
    marks: str
    probable: str
    when: str
    within: str
    edtf: str


@dataclass(frozen=True, slots=True)
class ToldKnown:
    """A known work as phrases."""

    when: str
    edtf: str
    done: str
    did: str
    """What was done, with its parts: 'U5 replaced', 'capacitors replaced (C7)'."""
    parts: str
    by: str
    note: str


@dataclass(frozen=True, slots=True)
class Named:
    """Several parts: how many, and their references in a list."""

    count: int
    refs: str
    least: str = ""
    """The least probability among them, with its word where there is one."""
    least_word: str = ""
    each: str = ""
    """The same as what each of them reaches."""

    @property
    def one(self) -> bool:
        """True for exactly one part."""
        return self.count == 1


@dataclass(frozen=True, slots=True)
class More(Generic[T]):
    """The first few of several, and how many there are in all."""

    shown: tuple[T, ...]
    count: int
    told: int | None = None
    """How many those shown stand for, where one may stand for several."""

    @property
    def rest(self) -> int:
        """How many are not shown."""
        return self.count - (len(self.shown) if self.told is None else self.told)


def note(
    finding: Finding,
    survey: Survey,
    for_: Purpose = "listing",
    format: Format = "md",
    templates: str | PathLike[str] | None = None,
) -> str:
    """A note on a board as text, with a final newline.

    ``for_`` is ``listing`` (one paragraph of at most 120 words), ``owner`` (a report of the work
    done this time) or ``archive`` (a record that can be repeated); ``format`` is ``md``, ``txt`` or
    ``html`` (a whole page). ``templates`` is a folder whose files are used before the project's
    own. Raises ProvenanceError for another purpose or format, where a template is at fault, or
    where a listing stays too long.
    """
    refuse_unknown(for_, format)
    folder = None if templates is None else Path(templates)
    body = note_body(finding, survey, for_, format, folder)
    return finished(body, f"{finding.title}: {for_}", format, folder)


def refuse_unknown(for_: str, format: str) -> None:
    """Raise ProvenanceError where there is no note for such a purpose, or in such a format."""
    for what, name, names in (
        ("note for", for_, get_args(Purpose)),
        ("format", format, get_args(Format)),
    ):
        if name not in names:
            fix = f"use {words.listed(names, last='or')}"
            raise ProvenanceError(f"there is no {what} {words.visible(str(name))!r}. Fix: {fix}")


def finished(body: str, title: str, format: Format, templates: Path | None) -> str:
    """The body of a note as a whole file: in HTML with a page round it."""
    if format != "html":
        return re.sub(r"\n{3,}", "\n\n", body.strip("\n")) + "\n"
    values = {"title": title, "body": Markup(body)}
    return render("page.j2", "html", templates, values).strip() + "\n"


def note_body(
    finding: Finding,
    survey: Survey,
    for_: Purpose,
    format: Format,
    templates: Path | None = None,
    *,
    under: int = 0,
    alone: bool = True,
) -> str:
    """The note without the page round it; its headings below level ``under``.

    A note that does not stand ``alone`` leaves its closing sections, the same for every board of a
    machine, to be said once for all of them.
    """
    if for_ != "listing":
        values = {**told(finding, survey, IN_FULL), "alone": alone}
        return render(f"{for_}.j2", format, templates, values, under)
    return shortest("listing.j2", format, templates, lambda step: told(finding, survey, step))


def shortest(
    name: str, format: Format, templates: Path | None, tell: Callable[[Brevity], dict[str, Any]]
) -> str:
    """A listing, named as fully as the limit of words lets it be."""
    count = 0
    for step in LISTING_STEPS:
        body = render(name, format, templates, tell(step))
        count = word_count(body, format)
        if count <= LISTING_WORDS:
            return body
    raise ProvenanceError(
        f"the listing has {count} words; {LISTING_WORDS} is the most. Fix: shorten the template "
        f"{name}"
    )


def word_count(body: str, format: Format) -> int:
    """Words between blanks, marks of HTML left out."""
    text = unescape(re.sub(r"<[^>]*>", " ", body)) if format == "html" else body
    return len(text.split())


@lru_cache(maxsize=8)
def _environment(
    form: Format, templates: Path | None, under: int = 0
) -> ImmutableSandboxedEnvironment:
    """Where templates run: sandboxed, the user's files first, every value made literal."""
    loaders: list[BaseLoader] = [PackageLoader("provenance.notes", "templates")]
    if templates is not None:
        loaders.insert(0, FileSystemLoader(templates))
    paper = Paper(form, under)
    environment = ImmutableSandboxedEnvironment(
        loader=ChoiceLoader(loaders),
        autoescape=form == "html",
        finalize=paper.value,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
    )
    environment.filters["row"] = _row
    environment.filters["row_text"] = lambda caution: f"{caution.about}: {caution.advice}"
    environment.filters["sentence_of"] = words.sentence
    environment.globals.update({**paper.functions(), **WORDING})
    return environment


def render(
    name: str, form: Format, templates: Path | None, values: dict[str, Any], under: int = 0
) -> str:
    """A template filled in; ProvenanceError where the template is at fault."""
    if templates is not None and not templates.is_dir():
        raise ProvenanceError(
            f"{templates}: no such folder of templates. Fix: name a folder that holds "
            f"any of listing.j2, owner.j2, archive.j2, page.j2"
        )
    try:
        return _environment(form, templates, under).get_template(name).render(values)
    except TemplateError as error:
        line = getattr(error, "lineno", None)
        where = f"{name}:{line}" if line else name
        raise ProvenanceError(
            f"{where}: {type(error).__name__}: {error}. Fix: compare the template with the "
            f"project's own"
        ) from None
    except (TypeError, ValueError, AttributeError, ArithmeticError, LookupError) as error:
        raise ProvenanceError(
            f"{name}: {error}. Fix: compare the template with the project's own"
        ) from None


def _row(thing: object, *names: str) -> tuple[object, ...]:
    """Some fields of a told thing, as a row of a table."""
    return tuple(getattr(thing, name) for name in names if not name.startswith("_"))


WORDING: dict[str, Callable[..., str]] = {
    "share": share,
    "counted": words.counted,
    "number": words.number,
    "percent": words.percent,
    "probable": words.probable,
    "sentence": words.sentence,
    "exactness": words.exactness,
    "listed": words.listed,
    "refs": words.refs,
    "day": words.day,
}
"""Functions of ``words`` that a template may call besides ``h``, ``p``, ``items``, ``table``."""


def edtf_text(first: date, last: date) -> str:
    """A span of days as EDTF, level 0: one day or an interval of days.

    >>> edtf_text(date(1979, 3, 1), date(1979, 3, 7))
    '1979-03-01/1979-03-07'
    """
    return first.isoformat() if first == last else f"{first.isoformat()}/{last.isoformat()}"


def told(finding: Finding, survey: Survey, brevity: Brevity) -> dict[str, Any]:
    """Everything a template may say, by name; docs/notes.md has the list."""
    finding = bounded(finding)
    found = standings(finding, survey)
    works = told_claims(finding, found)
    likely = [w for w in works if w.probability >= 0.5]
    unlikely = [w for w in works if w.probability < 0.5]
    singly = replaced(found)
    lately = [known for known in survey.works if _is_this_time(known, finding)]
    before = [known for known in survey.works if not _is_this_time(known, finding)]
    parts = tuple(_part(s) for s in found)
    touched = recorded_refs(survey)
    original = [s for s in found if s.kind == "original" and not s.doubtful]
    by_part = tuple(zip(found, parts, strict=True))
    doubts = [said for said in finding.warnings if not said.startswith(SAID_ANYWAY)]
    named = conflict(doubts) if brevity.items else None
    return {
        "title": _cut(finding.title, brevity.words + 2) or "Untitled board",
        "board": survey.board,
        "identity": _board_identity(survey),
        "notes": " ".join((survey.notes or "").split()),
        "dated": finding.build.dated,
        "built": _built(finding),
        "dated_by": dated_by(finding, survey),
        "stated": tuple(
            _cut(f"{item.kind} ({says_of(item.says, item.date)})", brevity.words)
            for item in survey.evidence
            if item.date and item.says and item.section is None
        )[: brevity.items],
        "dates": brevity.dates,
        "works": _more([_work(w, brevity) for w in likely], brevity),
        "possible_works": _more([_work(w, brevity) for w in unlikely], brevity),
        "replaced": More(
            tuple(_replaced(some, brevity) for some in singly[: brevity.items]),
            sum(len(some.found) for some in singly),
            sum(len(some.found) for some in singly[: brevity.items]),
        ),
        "fitted_later": _more([_later(s, brevity) for s in fitted_later(finding, found)], brevity),
        "despite_record": _more(
            [_despite(d, brevity) for d in despite_record(finding, survey, found)], brevity
        ),
        "known_works": More(
            tuple(_known(w, brevity) for w in _foremost(survey.works, brevity.items)),
            len(survey.works),
        ),
        "works_this_time": tuple(_known(w, brevity) for w in lately),
        "works_before": tuple(_known(w, brevity) for w in before),
        "original": _named(original, brevity),
        "later": _named([s for s in found if s.kind == "later work" and not s.doubtful], brevity),
        "not_original": _named([s for s in found if s.fitted_later], brevity),
        "doubtful": _named([s for s in found if s.open], brevity),
        "hand_made": _names(by_hand := hand_made(survey, found), brevity),
        "unread": _names([p.ref for p in unread(finding)], brevity),
        "kept": tuple(p for s, p in by_part if s.part.ref not in touched and not s.open),
        "unsettled": tuple(p for s, p in by_part if s.open),
        "touched": tuple(p for s, p in by_part if s.part.ref in touched),
        "parts": parts,
        "total": len(parts),
        "unchanged": bool(found)
        and origins_borne(finding)
        and not by_hand
        and not any(" hardly fit" in said for said in finding.warnings)
        and not works
        and all(s.kind == "original" and not s.doubtful for s in found),
        "accounts": tuple((words.percent(one.probability), one.said) for one in histories(finding)),
        "evidence": (
            *map(evidence_said, survey.evidence),
            *(_house(house) for house in survey.houses),
        ),
        "observed": observed(survey),
        "relations": tuple(f"{r.subject} {r.kind} {r.object}" for r in survey.relations),
        "rests_on": tuple(words.sentence(said) for said in finding.rests_on),
        "carriers": reasons.carrier_sentences(finding),
        "borne": origins_borne(finding),
        "assumed": words.sentence(assumed(finding)),
        "inspections": reasons.inspection_sentences(finding.inspections, gain=False),
        "warnings": tuple(words.sentence(said) for said in finding.warnings),
        "conflict": _cut(main_clause(named), brevity.words + 10) if named else "",
        "doubts": len(doubts) - (named is not None),
        "alone": True,
        "cautions": CAUTIONS,
        "scale_note": reasons.SCALE_NOTE,
        "method": finding.method,
        "trade_stated": survey.trade or "",
        "trade": tuple(
            (name, words.percent(share))
            for name, share in sorted(finding.method.trade.items(), key=lambda item: -item[1])
        ),
    }


def _cut(text: str, most: int) -> str:
    return words.clipped(words.visible(text), most, 12 * most)


def _more(items: Sequence[T], brevity: Brevity) -> More[T]:
    return More(tuple(items[: brevity.items]), len(items))


def _foremost(works: Sequence[KnownWork], most: int) -> list[KnownWork]:
    """Of the works those that fitted something, and of these those that ended last, in the order
    of the survey: where not all can be told, a buyer asks about them first."""
    from provenance.inference.recorded import fitting  # noqa: PLC0415 - loads the models

    def told_first(work: KnownWork) -> tuple[bool, date]:
        first, last = work.span()
        return bool(fitting(work.done)), last or first or date.min

    kept = sorted(range(len(works)), key=lambda at: told_first(works[at]), reverse=True)[:most]
    return [works[at] for at in sorted(kept)]


def _is_this_time(known: KnownWork, finding: Finding) -> bool:
    first, last = known.span()
    end = last or first
    return end is not None and end >= finding.method.today - THIS_TIME


def identity(board: Board) -> tuple[tuple[str, str], ...]:
    """What identifies a board or a machine, but for its title, as rows of a table."""
    fields = (
        ("Maker, as stated", board.maker),
        ("Model, as stated", board.model),
        ("Revision", board.revision),
        ("Serial number", board.serial),
        ("Place", board.place),
        ("Owner", board.owner),
    )
    return tuple((name, value) for name, value in fields if value)


def _board_identity(survey: Survey) -> tuple[tuple[str, str], ...]:
    title, years = survey.board.title, survey.production
    return (
        *((("Title", title),) if title else ()),
        *identity(survey.board),
        *((("Production years, as stated", years),) if years else ()),
    )


def _built(finding: Finding) -> dict[str, Any]:
    said = window(finding.build.windows)
    return {
        "when": when(finding.build.windows),
        "about": words.about_when(said.first, said.last) if said else "at an unknown date",
        "probable": words.probable(said.probability) if said else "",
        "edtf": finding.build.edtf,
        "median": finding.build.median,
        "windows": tuple(_window(w) for w in finding.build.windows),
    }


def _within(windows: Sequence[Window]) -> str:
    said = window(windows)
    return words.probable(said.probability) if said else "no window"


def _window(found: Window) -> tuple[str, str, str]:
    return (
        words.percent(found.probability),
        words.when(found.first, found.last),
        _inferred(found),
    )


def _inferred(found: Window | None) -> str:
    """A window that was inferred, as EDTF: both ends approximate, as in the records."""
    return edtf_interval(found.first, found.last, approximate=True) if found else ""


def _ref_list(names: Sequence[str], brevity: Brevity) -> str:
    if brevity.names == 0:
        return words.counted(len(names), "part") if names else ""
    return words.refs([_name(name, brevity) for name in names], limit=brevity.names)


def _name(name: str, brevity: Brevity) -> str:
    """A reference, or a part named in words, short in a listing and whole in the longer notes."""
    return words.visible(name) if brevity == IN_FULL else _cut(name, min(3, brevity.words))


def _work(said: Claim, brevity: Brevity) -> ToldWork:
    named = _ref_list(said.parts, brevity)
    groups = words.listed(
        [_cut(name, brevity.words) for name in said.names],
        limit=max(1, brevity.names),
        last="or" if said.alternatives else "and",
    )
    return ToldWork(
        subject=with_parts(groups, named),
        when=when(said.work.windows),
        within=_within(said.work.windows),
        edtf=said.work.edtf,
        probable=words.probable(said.probability),
        probability=said.probability,
    )


def _part(found: Standing, brevity: Brevity = IN_FULL) -> ToldPart:
    part = found.part
    read = date_read(part)
    unsaid = in_place_of_date(part)
    fitted = window(part.fitted)
    return ToldPart(
        ref=_name(part.ref, brevity),
        section=_cut(part.section, brevity.words),
        marking=part.marking,
        read=edtf_text(read.first, read.last) if read else unsaid.said,
        read_probability=words.percent(read.probability if read else unsaid.probability),
        origin=found.told,
        probability="on record" if found.recorded else words.percent(found.probability),
        probable="on record" if found.recorded else words.probable(found.probability),
        original=words.percent(part.origin.original),
        not_original=words.percent(1 - part.origin.original),
        fitted=when(part.fitted),
        within=_within(part.fitted),
        fitted_edtf=_inferred(fitted),
        recorded=found.recorded,
        weights=reasons.part_reasons(part),
    )


def _replaced(some: Replaced, brevity: Brevity) -> ToldPart:
    """Parts replaced on their own, told as one."""
    told = _part(some.found[0], brevity)
    named = _ref_list(some.refs, brevity)
    return replace(told, ref=named, probable=some.probable, each=some.each)


def _later(said: FittedLater, brevity: Brevity) -> ToldLater:
    fitted = window(said.fitted)
    return ToldLater(
        refs=_ref_list(said.refs, brevity),
        probable=said.probable,
        manner=_cut(said.manner, brevity.words + 14),
        when=when(said.fitted),
        within=_within(said.fitted),
        edtf=_inferred(fitted),
    )


def _despite(said: DespiteRecord, brevity: Brevity) -> ToldDespite:
    fitted = window(said.fitted)
    return ToldDespite(
        refs=_ref_list(said.refs, brevity),
        marks="its marks" if len(said.refs) == 1 else "their marks",
        probable=said.probable,
        when=when(said.fitted),
        within=_within(said.fitted),
        edtf=_inferred(fitted),
    )


def _known(work: KnownWork, brevity: Brevity) -> ToldKnown:
    first, last = work.span()
    done = _cut(work.done, brevity.words).strip().rstrip(".")
    parts = _ref_list(work.parts, brevity)
    return ToldKnown(
        when=words.stated_when(first, last, work.date),
        edtf=work.date,
        done=done,
        did=done_phrase(done, parts),
        parts=parts,
        by=_cut(work.by or "", brevity.words),
        note=work.note or "",
    )


def _named(found: Sequence[Standing], brevity: Brevity) -> Named:
    names = _names([s.part.ref for s in found], brevity)
    if not found:
        return names
    least = min(s.probability for s in found)
    return Named(
        names.count,
        names.refs,
        words.percent(least),
        words.printed_word(least),
        words.each(least, len(found)),
    )


def _names(refs: Sequence[str], brevity: Brevity) -> Named:
    return Named(len(refs), _ref_list(refs, brevity))


def _house(house: House) -> str:
    """A date scheme of the survey's own, with what is known of it."""
    first = date(house.first, 1, 1) if house.first else None
    last = date(house.last, 12, 31) if house.last else None
    pieces = [f"house date scheme {house.name}", house.pattern]
    if first or last:
        pieces.append(f"used {edtf_interval(first, last)}")
    if house.source:
        pieces.append(f"source: {house.source}")
    return ", ".join(pieces)


def evidence_said(item: Evidence) -> str:
    """A piece of evidence as recorded: what it is, what it says and where it is kept."""
    pieces: list[str] = [item.kind]
    if item.marking:
        pieces.append(f"marked {words.visible(item.marking)}")
    if item.says or item.date:
        pieces.append(says_of(item.says, item.date or "").rstrip())
    if item.section:
        pieces.append(f"for {item.section}")
    if item.reliability is not None:
        pieces.append(f"taken as {words.percent(item.reliability)} reliable")
    if item.note:
        pieces.append(item.note)
    return ", ".join(pieces)
