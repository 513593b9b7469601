"""Random findings with their surveys, for tests of properties; any text may stand anywhere."""

from __future__ import annotations

from datetime import date, timedelta

from hypothesis import strategies as st

from provenance.inference import finding as f
from provenance.survey.model import Board, KnownWork, Part, Section, Survey
from tests.notes import boards

DAYS = st.dates(date(1961, 1, 1), date(2024, 12, 31))
NASTY = st.sampled_from(
    [
        boards.HOSTILE,
        "*a* _b_ `c`",
        "=1+1",
        "\x1b[31mx",
        "a\u202eb",
        "７９１２",
        "| a | b",
        "\u0301e",
    ]
)
NAMES = st.one_of(
    st.sampled_from(["U1", "U2", "U3", "U10", "IC7", "R5", "X", "main memory", "power"]),
    NASTY,
    st.text(min_size=1, max_size=40),
).filter(lambda text: bool(text.strip()) and "\n" not in text)
TEXTS = st.one_of(NASTY, st.text(max_size=200), st.just("capacitors replaced " * 30))


@st.composite
def windows(draw: st.DrawFn) -> tuple[f.Window, ...]:
    """The four windows, each within the next."""
    return boards.windows(draw(DAYS), draw(st.integers(1, 400)))


@st.composite
def origins(draw: st.DrawFn) -> f.Origin:
    """Three probabilities that sum to one."""
    low, high = sorted((draw(st.floats(0, 1)), draw(st.floats(0, 1))))
    return f.Origin(original=low, later_work=high - low, replacement=1 - high)


@st.composite
def cases(draw: st.DrawFn) -> boards.Case:
    """A finding and its survey; the numbers agree only as far as the models ask."""
    sections = draw(st.dictionaries(NAMES, st.lists(NAMES, unique=True, max_size=6), max_size=4))
    taken: set[str] = set()
    entries: dict[str, Section] = {}
    parts: list[f.PartFinding] = []
    for name, refs in sections.items():
        fresh = [ref for ref in refs if ref not in taken]
        taken.update(fresh)
        markings = {ref: draw(TEXTS) or "?" for ref in fresh}
        entries[name] = Section.model_construct(
            parts={ref: Part.model_construct(marking=text) for ref, text in markings.items()}
        )
        for ref, marking in markings.items():
            start = draw(DAYS)
            probability = draw(st.floats(0, 1))
            reading = f.PartReading(
                scheme="year-week",
                text=marking[:4],
                first=start,
                last=start + timedelta(days=draw(st.integers(0, 400))),
                probability=probability,
            )
            parts.append(
                f.PartFinding(
                    ref=ref,
                    section=name,
                    group=name,
                    marking=marking,
                    origin=draw(origins()),
                    reading=draw(st.sampled_from([reading, None])),
                    no_date=1 - probability,
                    fitted=draw(windows()),
                    weights=(
                        f.Weight(source="date", decibans=draw(st.floats(-40, 40)), why=draw(TEXTS)),
                    ),
                )
            )
    works = tuple(
        f.LaterWork(
            probability=draw(st.floats(0, 1)),
            windows=(found := draw(windows())),
            edtf=boards.interval(found),
            median=found[0].first,
            groups=(name,),
            parts=tuple(p.ref for p in parts if p.section == name),
        )
        for name in entries
        if draw(st.booleans())
    )
    known = tuple(
        KnownWork.model_construct(
            date="2025-03",
            parts=tuple(draw(st.lists(NAMES, min_size=1, max_size=8))),
            done=draw(TEXTS) or "cleaned",
            by=draw(st.one_of(st.none(), TEXTS)),
            note=None,
        )
        for _ in range(draw(st.integers(0, 3)))
    )
    title = draw(TEXTS)
    survey = Survey.model_construct(
        board=Board.model_construct(title=title or None, owner=draw(TEXTS), maker=draw(TEXTS)),
        sections=entries,
        works=known,
    )
    accounts = tuple(
        f.Account(
            probability=p,
            build=draw(windows())[2],
            works=tuple(f.AccountWork(groups=w.groups, fitted=w.windows[2]) for w in works),
            replaced=tuple(p.ref for p in parts[:2]),
        )
        for p in (0.6, 0.3)
    )
    built = boards.build(draw(DAYS), draw(st.integers(1, 400)), dated=draw(st.booleans()))
    finding = f.Finding(
        title=title,
        build=built,
        later_works=works,
        parts=tuple(parts),
        groups=tuple(boards.group(name, tuple(parts)) for name in entries if entries[name].parts),
        accounts=draw(st.sampled_from([(), accounts[:1], accounts])),
        comparisons=(),
        carriers=(
            f.Carrier(
                observation=draw(TEXTS),
                build=built.windows[2],
                shift_weeks=draw(st.floats(-500, 500)),
                bits=draw(st.floats(0, 20)),
            ),
        ),
        inspections=(
            f.Inspection(
                observation=draw(TEXTS),
                how=draw(TEXTS),
                caution="Power off.",
                expected_bits=draw(st.floats(0, 5)),
                about="build",
            ),
        ),
        rests_on=(draw(TEXTS),),
        warnings=(draw(TEXTS),),
        method=boards.method(),
    )
    return boards.Case(finding, survey)
