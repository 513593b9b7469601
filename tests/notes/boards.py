"""Made-up findings with their surveys, to test the wording on; all invented.

The numbers are set by hand, not worked out, so that these tests speak of the wording alone.
"""

from __future__ import annotations

import math
from datetime import date, timedelta
from typing import NamedTuple

from provenance.inference import finding as f
from provenance.survey.model import Survey

TODAY = date(2026, 5, 20)


class Case(NamedTuple):
    """A finding and the survey it is of."""

    finding: f.Finding
    survey: Survey


def windows(middle: date, half_weeks: float) -> tuple[f.Window, ...]:
    """Windows of whole weeks round a day; ``half_weeks`` is half the 90 per cent window."""
    made = []
    for probability, scale in ((0.5, 0.41), (0.8, 0.78), (0.9, 1.0), (0.95, 1.19)):
        reach = timedelta(weeks=max(1, round(half_weeks * scale)))
        start = middle - reach
        start -= timedelta(days=start.weekday())
        end = middle + reach
        end += timedelta(days=6 - end.weekday())
        made.append(f.Window(probability=probability, first=start, last=end))
    return tuple(made)


def weeks(middle: date, half_weeks: float) -> tuple[f.WeekProbability, ...]:
    """A bell over the weeks round a day."""
    spread = max(half_weeks / 1.645, 0.6)
    monday = middle - timedelta(days=middle.weekday())
    reach = math.ceil(3.5 * spread)
    heights = {k: math.exp(-0.5 * (k / spread) ** 2) for k in range(-reach, reach + 1)}
    total = sum(heights.values())
    return tuple(
        f.WeekProbability(week=monday + timedelta(weeks=k), probability=h / total)
        for k, h in heights.items()
    )


def interval(found: tuple[f.Window, ...]) -> str:
    """The 90 per cent window as EDTF."""
    return f"{found[2].first}~/{found[2].last}~"


def build(middle: date, half_weeks: float, *, dated: bool = True) -> f.Build:
    found = windows(middle, half_weeks)
    return f.Build(
        windows=found,
        edtf=interval(found),
        median=middle,
        dated=dated,
        weeks=weeks(middle, half_weeks),
    )


def work(
    probability: float, middle: date, half_weeks: float, group: str, *parts: str
) -> f.LaterWork:
    found = windows(middle, half_weeks)
    return f.LaterWork(
        probability=probability,
        windows=found,
        edtf=interval(found),
        median=middle,
        groups=(group,),
        parts=parts,
        weeks=weeks(middle, half_weeks),
    )


def part(  # noqa: PLR0917 - one row of a table
    ref: str,
    section: str,
    marking: str,
    read: tuple[str, str, str] | None,
    origin: tuple[float, float, float],
    fitted: tuple[f.Window, ...],
    weights: tuple[f.Weight, ...] = (),
) -> f.PartFinding:
    """A part; ``read`` is the characters, first and last day, or None where nothing was read."""
    reading = (
        f.PartReading(
            scheme="year-week",
            text=read[0],
            first=date.fromisoformat(read[1]),
            last=date.fromisoformat(read[2]),
            probability=0.97,
        )
        if read
        else None
    )
    original, later, replaced = origin
    return f.PartFinding(
        ref=ref,
        section=section,
        group=section,
        marking=marking,
        origin=f.Origin(original=original, later_work=later, replacement=replaced),
        reading=reading,
        no_date=0.03 if reading else 1.0,
        fitted=fitted,
        weights=weights
        or (f.Weight(source="date", decibans=9.5, why="its date lies among the others"),),
    )


def group(name: str, parts: tuple[f.PartFinding, ...]) -> f.GroupFinding:
    mine = tuple(p for p in parts if p.section == name)
    return f.GroupFinding(
        name=name,
        sections=(name,),
        parts=tuple(p.ref for p in mine),
        original=mine[0].origin.original,
        later_work=mine[0].origin.later_work,
        fitted=mine[0].fitted,
    )


def method(fingerprint: str = "3f" * 32) -> f.Method:
    return f.Method(
        version="0.1.0",
        today=TODAY,
        trade={"small series": 0.72, "mass production": 0.2, "one-off": 0.06, "workshop": 0.02},
        error_bound=1e-9,
        fingerprint=fingerprint,
    )


def week(code: str) -> tuple[str, str, str]:
    """A four-figure year-week code of the 1900s as its ISO week."""
    monday = date.fromisocalendar(1900 + int(code[:2]), int(code[2:]), 1)
    return code, monday.isoformat(), (monday + timedelta(days=6)).isoformat()


def synthesiser() -> Case:
    """A six-voice studio synthesiser: two later works, one replacement, a known work, doubts."""
    survey = Survey.model_validate(
        {
            "board": {
                "title": "Six-voice studio synthesiser, main board",
                "maker": "Larkfield Electronic Instruments",
                "model": "Hexa Six",
                "revision": "C",
                "serial": "00412",
                "place": "Bench 2",
                "owner": "R. Tamsin",
            },
            "production": "1978/1983",
            "today": "2026-05-20",
            "sections": {
                "control": {
                    "mount": "soldered",
                    "joints": "factory",
                    "area": "left edge",
                    "parts": {
                        "U1": "NV8080A / 7912",
                        "U2": "NV2716 / 7914",
                        "U3": "NV74LS138 / 7909",
                        "U4": "NV74LS?? / ????",
                        "U5": "NV4051 / 7911",
                    },
                },
                "voice cards": {
                    "mount": "socketed",
                    "joints": "factory",
                    "area": "centre, six cards",
                    "parts": {
                        "U11": "ZQ3340 / 7913",
                        "U12": "ZQ3340 / 7913",
                        "U13": "ZQ3340 / 7914",
                        "U14": "ZQ3340 / 8431",
                        "U15": "ZQ3340 / 7912",
                        "U16": "ZQ3340 / 7913",
                    },
                },
                "interface board": {
                    "mount": "soldered",
                    "joints": "hand",
                    "area": "on posts, top right",
                    "parts": {
                        "U30": "NV74HC245 / 8322",
                        "U31": "NV74HC14 / 8319",
                        "U32": "NV6850 / 8324",
                    },
                },
                "power": {
                    "mount": "soldered",
                    "joints": "unclear",
                    "parts": {"U41": "RT7805 / 8011", "U42": "RT7905 / 7949"},
                },
            },
            "relations": ["interface board fitted after control"],
            "evidence": [
                {"kind": "bare board code", "marking": "7908"},
                {"kind": "inspection stamp", "date": "1979-05"},
                {
                    "kind": "document",
                    "says": "in use by",
                    "date": "1981-03-02",
                    "note": "studio invoice",
                },
            ],
            "works": [
                {
                    "date": "2026-05",
                    "parts": ["C7", "C8"],
                    "done": "capacitors replaced",
                    "by": "the present owner",
                },
            ],
            "notes": "Plays after warming up.",
        }
    )
    built, later, powered = date(1979, 5, 9), date(1983, 8, 3), date(1980, 6, 1)
    at_build, at_work = windows(built, 5), windows(later, 8)
    kept = (0.96, 0.03, 0.01)
    date_weight = f.Weight(source="date", decibans=11.2, why="7912 lies among the others")
    mount_weight = f.Weight(source="mount", decibans=1.4, why="soldered like its neighbours")
    parts = (
        *(
            part(ref, "control", marking, week(code), kept, at_build, (date_weight, mount_weight))
            for ref, marking, code in (
                ("U1", "NV8080A\n7912", "7912"),
                ("U2", "NV2716\n7914", "7914"),
                ("U3", "NV74LS138\n7909", "7909"),
            )
        ),
        part("U4", "control", "NV74LS??\n????", None, (0.9, 0.03, 0.07), at_build),
        part("U5", "control", "NV4051\n7911", week("7911"), kept, at_build),
        *(
            part(ref, "voice cards", f"ZQ3340\n{code}", week(code), (0.93, 0.04, 0.03), at_build)
            for ref, code in (("U11", "7913"), ("U12", "7913"), ("U13", "7914"))
        ),
        part(
            "U14",
            "voice cards",
            "ZQ3340\n8431",
            week("8431"),
            (0.004, 0.04, 0.956),
            windows(date(1985, 2, 6), 26),
            (
                f.Weight(source="date", decibans=-24.0, why="8431 is five years after the others"),
                f.Weight(source="mount", decibans=-1.5, why="a socket makes a change easy"),
            ),
        ),
        *(
            part(ref, "voice cards", f"ZQ3340\n{code}", week(code), (0.93, 0.04, 0.03), at_build)
            for ref, code in (("U15", "7912"), ("U16", "7913"))
        ),
        *(
            part(
                ref,
                "interface board",
                f"{marking}\n{code}",
                week(code),
                (0.01, 0.97, 0.02),
                at_work,
                (
                    f.Weight(source="date", decibans=-19.0, why=f"{code} is after the stamp"),
                    f.Weight(source="joints", decibans=-6.0, why="soldered by hand"),
                ),
            )
            for ref, marking, code in (
                ("U30", "NV74HC245", "8322"),
                ("U31", "NV74HC14", "8319"),
                ("U32", "NV6850", "8324"),
            )
        ),
        part(
            "U41",
            "power",
            "RT7805\n8011",
            week("8011"),
            (0.05, 0.55, 0.4),
            windows(powered, 20),
        ),
        part("U42", "power", "RT7905\n7949", week("7949"), (0.42, 0.55, 0.03), at_build),
    )
    works = (
        work(0.97, later, 8, "interface board", "U30", "U31", "U32"),
        work(0.55, powered, 20, "power", "U41", "U42"),
        f.LaterWork(
            probability=1.0,
            windows=(f.Window(probability=0.9, first=date(2026, 5, 1), last=date(2026, 5, 20)),),
            edtf="2026-05",
            median=date(2026, 5, 10),
            groups=(),
            parts=("C7", "C8"),
            known=True,
            done="capacitors replaced",
            by="the present owner",
        ),
    )
    best = f.Window(probability=0.9, first=at_build[2].first, last=at_build[2].last)
    fitted = f.Window(probability=0.9, first=at_work[2].first, last=at_work[2].last)
    power = windows(powered, 20)[2]
    accounts = (
        f.Account(
            probability=0.52,
            build=best,
            works=(
                f.AccountWork(groups=("power",), fitted=power),
                f.AccountWork(groups=("interface board",), fitted=fitted),
            ),
            replaced=("U14",),
        ),
        f.Account(
            probability=0.38,
            build=best,
            works=(f.AccountWork(groups=("interface board",), fitted=fitted),),
            replaced=("U14", "U41"),
        ),
        f.Account(probability=0.03, build=windows(date(1983, 8, 1), 9)[2], works=()),
    )
    return Case(
        f.Finding(
            title="Six-voice studio synthesiser, main board",
            build=build(built, 5),
            later_works=works,
            parts=parts,
            groups=tuple(group(name, parts) for name in survey.sections),
            accounts=accounts,
            comparisons=(
                f.Comparison(
                    first=0,
                    second=1,
                    observations=(
                        f.ObservationWeight(observation="the marking of U42", decibans=4.2),
                        f.ObservationWeight(observation="the marking of U41", decibans=-2.9),
                    ),
                ),
            ),
            carriers=(
                f.Carrier(
                    observation="the inspection stamp 1979-05",
                    build=windows(date(1979, 5, 30), 9)[2],
                    shift_weeks=3.0,
                    bits=0.61,
                ),
                f.Carrier(
                    observation="the marking of U2",
                    build=windows(date(1979, 5, 4), 6)[2],
                    shift_weeks=-0.2,
                    bits=0.05,
                ),
            ),
            inspections=(
                f.Inspection(
                    observation="the date code of U4",
                    how="Clean the top with alcohol and read it in raking light.",
                    caution="Power off and unplugged; wear an earthed wrist strap.",
                    expected_bits=0.21,
                    about="build",
                ),
                f.Inspection(
                    observation="the joints of the power section",
                    how="Look at the solder side for flux residue.",
                    caution="Mains section: leave it to a qualified person.",
                    expected_bits=0.34,
                    about="origin",
                ),
            ),
            rests_on=(
                "Nine dates between 7909 and 7914 on soldered and socketed parts",
                "The inspection stamp of 1979-05",
            ),
            warnings=("U41 and U42 carry dates after the inspection stamp",),
            method=method(),
        ),
        survey,
    )


def all_original() -> Case:
    """A laboratory counter on which nothing was changed."""
    refs = [("U1", "8023"), ("U2", "8026"), ("U3", "8024"), ("U4", "8025")]
    survey = Survey.model_validate(
        {
            "board": {"title": "Laboratory counter", "serial": "7"},
            "today": "2026-05-20",
            "sections": {
                "counter": {
                    "mount": "soldered",
                    "parts": {ref: f"KD7490 / {code}" for ref, code in refs},
                }
            },
        }
    )
    middle, sure = date(1980, 8, 6), (0.985, 0.01, 0.005)
    parts = tuple(
        part(ref, "counter", f"KD7490\n{code}", week(code), sure, windows(middle, 6))
        for ref, code in refs
    )
    return Case(
        f.Finding(
            title="Laboratory counter",
            build=build(middle, 6),
            later_works=(),
            parts=parts,
            groups=(group("counter", parts),),
            accounts=(f.Account(probability=0.98, build=windows(middle, 6)[2], works=()),),
            comparisons=(),
            carriers=(),
            inspections=(),
            rests_on=("Four dates within three weeks",),
            warnings=(),
            method=method(),
        ),
        survey,
    )


def undated() -> Case:
    """A board that nothing dates."""
    survey = Survey.model_validate(
        {
            "board": {"title": "Relay controller"},
            "today": "2026-05-20",
            "sections": {"logic": {"parts": {"U1": "?", "U2": "KD7400"}}},
        }
    )
    wide = tuple(
        f.Window(probability=p, first=date(1960 + k, 1, 1), last=date(2026 - k, 5, 20))
        for p, k in ((0.5, 15), (0.8, 6), (0.9, 3), (0.95, 1))
    )
    parts = (
        part("U1", "logic", "?", None, (0.8, 0.1, 0.1), wide),
        part("U2", "logic", "KD7400", None, (0.8, 0.1, 0.1), wide),
    )
    return Case(
        f.Finding(
            title="Relay controller",
            build=f.Build(
                windows=wide,
                edtf="1963-01-01~/2023-05-20~",
                median=date(1993, 3, 1),
                dated=False,
                weeks=(),
            ),
            later_works=(),
            parts=parts,
            groups=(group("logic", parts),),
            accounts=(),
            comparisons=(),
            carriers=(),
            inspections=(),
            rests_on=(),
            warnings=("No marking on the board holds a date",),
            method=method(),
        ),
        survey,
    )


def many_parts() -> Case:
    """An arcade board with dozens of parts in six sections, one bank changed."""
    sections = {
        "video": 24,
        "sound": 9,
        "program store": 12,
        "work store": 8,
        "inputs": 10,
        "clock": 2,
    }
    entries: dict[str, dict[str, str]] = {}
    parts: list[f.PartFinding] = []
    built, later = date(1983, 3, 2), date(1986, 10, 1)
    number = 0
    for section, count in sections.items():
        entries[section] = {}
        for _ in range(count):
            number += 1
            changed = section == "work store"
            code = f"{86 if changed else 82}{33 + number % 7:02d}"
            entries[section][f"IC{number}"] = f"MB74LS{number} / {code}"
            parts.append(
                part(
                    f"IC{number}",
                    section,
                    f"MB74LS{number}\n{code}",
                    week(code),
                    (0.02, 0.95, 0.03) if changed else (0.94, 0.04, 0.02),
                    windows(later if changed else built, 7),
                )
            )
    survey = Survey.model_validate(
        {
            "board": {"title": "Arcade board"},
            "today": "2026-05-20",
            "sections": {name: {"parts": mine} for name, mine in entries.items()},
        }
    )
    changed_refs = tuple(p.ref for p in parts if p.section == "work store")
    return Case(
        f.Finding(
            title="Arcade board",
            build=build(built, 7),
            later_works=(work(0.95, later, 7, "work store", *changed_refs),),
            parts=tuple(parts),
            groups=tuple(group(name, tuple(parts)) for name in sections),
            accounts=(),
            comparisons=(),
            carriers=(),
            inspections=(),
            rests_on=("57 dates in late 1982",),
            warnings=(),
            method=method(),
        ),
        survey,
    )


HOSTILE = "<script>alert(1)</script>"


def hostile() -> Case:
    """A board whose every text tries to be something else: markup, control codes, a formula.

    A survey file with control codes is refused before it comes so far; the finding has them still.
    """
    finding, survey = all_original()
    bad = {
        "title": f"{HOSTILE} *bold* [x](y)",
        "owner": "=HYPERLINK(1)",
        "maker": f"A {HOSTILE} | B",
        "serial": "[31m1\u202e2",
    }
    marking = f"{HOSTILE}\n\x1b[2J=1+1"
    worked = {
        "date": "2025",
        "parts": ["U1", "@SUM(A1)"],
        "done": f"new {HOSTILE} `code`",
        "by": "<b>me</b>",
    }
    survey = Survey.model_validate(
        {
            "board": bad,
            "today": "2026-05-20",
            "sections": {
                "<i>logic</i>": {"parts": dict.fromkeys(("U1", "U2", "U3", "=U4"), HOSTILE)}
            },
            "works": [worked],
        }
    )
    parts = tuple(
        p.model_copy(
            update={"marking": marking, "ref": ref, "section": "<i>logic</i>", "group": HOSTILE}
        )
        for p, ref in zip(finding.parts, ("U1", "U2", "U3", "=U4"), strict=True)
    )
    return Case(
        finding.model_copy(
            update={
                "title": bad["title"],
                "parts": parts,
                "rests_on": (HOSTILE,),
                "warnings": (f"{HOSTILE}\x1b[1m",),
                "groups": (
                    finding.groups[0].model_copy(
                        update={
                            "name": HOSTILE,
                            "sections": ("<i>logic</i>",),
                            "parts": tuple(p.ref for p in parts),
                        }
                    ),
                ),
            }
        ),
        survey,
    )


CASES = {
    "synthesiser": synthesiser,
    "all original": all_original,
    "undated": undated,
    "many parts": many_parts,
    "hostile": hostile,
}
