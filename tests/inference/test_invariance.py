"""What must not change the answer: order, names of sections, the calendar, empty observations."""

from __future__ import annotations

from dataclasses import replace
from datetime import date
from itertools import pairwise
from typing import Any

import numpy as np
import pytest

from provenance.inference import date_board
from provenance.inference.episodes import Histories
from provenance.inference.evidence import gather
from provenance.inference.finding import Finding
from provenance.inference.lots import Lot
from provenance.inference.windows import stated
from provenance.survey.model import Survey
from provenance.weeks import monday, week_of
from tests.inference.fixed_readings import Dated, fixed_readings, week_span
from tests.inference.near import Array, close
from tests.inference.problems import random_problem

SECTIONS: dict[str, dict[str, str]] = {
    "processor": {"U1": "KV-01 / 8114", "U2": "74LS00N / 8112", "U3": "74LS04N / 8116"},
    "memory": {"U4": "4116-3 / 8115", "U5": "4116-3 / 8115", "U6": "4116-3 / 8109"},
    "sound": {"U7": "KV-09 / 8350", "U8": "LM-2 / 8347"},
    "supply": {"U9": "7805CT / 8111", "U10": "7812CT / 7938"},
}


def data(sections: dict[str, dict[str, str]] = SECTIONS, **more: object) -> dict[str, Any]:
    return {
        "today": "2026-06-14",
        "trade": "small series",
        "sections": {name: {"parts": dict(parts)} for name, parts in sections.items()},
        "relations": ["sound fitted after processor"],
        "evidence": [{"kind": "bare board code", "date": "1981-03"}],
        **more,
    }


def dated(survey: dict[str, Any]) -> Finding:
    return date_board(Survey.model_validate(survey))


def build_of(finding: Finding) -> dict[date, float]:
    return {w.week: w.probability for w in finding.build.weeks}


def origins_of(finding: Finding) -> dict[str, tuple[float, float, float]]:
    return {
        p.ref: (p.origin.original, p.origin.later_work, p.origin.replacement) for p in finding.parts
    }


def same(first: Finding, second: Finding, tolerance: float) -> None:
    """The two findings agree on the build, week by week, and on every part they share."""
    one, other = build_of(first), build_of(second)
    for week in one.keys() | other.keys():
        # Weeks of less than 0.001% are not listed.
        close(one.get(week, 0.0), other.get(week, 0.0), max(tolerance, 1.1e-5))
    shared = origins_of(first).keys() & origins_of(second).keys()
    assert shared
    for ref in shared:
        close(origins_of(first)[ref], origins_of(second)[ref], tolerance)
    assert first.build.median == second.build.median


def test_the_board_that_is_changed_has_something_to_say() -> None:
    """Guards the checks below against a board of which nothing follows."""
    finding = dated(data())
    origins = origins_of(finding)
    assert finding.build.dated
    assert origins["U7"][0] < 0.5 < origins["U1"][0]


def test_the_order_of_parts_and_sections_does_not_matter() -> None:
    turned = {name: dict(reversed(parts.items())) for name, parts in reversed(SECTIONS.items())}
    same(dated(data()), dated(data(turned)), 1e-9)


@pytest.mark.parametrize("seed", range(20))
def test_the_order_of_groups_does_not_matter(seed: int) -> None:
    rng = np.random.default_rng(seed)
    problem = random_problem(rng)
    turn = rng.permutation(problem.groups)
    place = {int(old): new for new, old in enumerate(turn)}
    turned = replace(
        problem,
        build=problem.build[:, turn],
        later=problem.later[turn],
        order=frozenset((place[i], place[j]) for i, j in problem.order),
    )
    first, second = Histories(problem), Histories(turned)
    close(first.build, second.build)
    close(first.original[turn], second.original)
    close(first.refitted[turn], second.refitted)


def test_splitting_a_section_and_tying_it_together_changes_nothing() -> None:
    split = {name: dict(parts) for name, parts in SECTIONS.items()}
    split["memory bank 2"] = {"U6": split["memory"].pop("U6")}
    tied = data(
        split, relations=["sound fitted after processor", "memory bank 2 fitted with memory"]
    )
    same(dated(data()), dated(tied), 1e-9)


def test_splitting_a_section_without_tying_it_does_change_something() -> None:
    """Guards the check above."""
    split = {name: dict(parts) for name, parts in SECTIONS.items()}
    split["memory bank 2"] = {"U6": split["memory"].pop("U6")}
    first, second = origins_of(dated(data())), origins_of(dated(data(split)))
    assert max(abs(first["U6"][i] - second["U6"][i]) for i in range(3)) > 1e-3


@pytest.mark.parametrize(
    "marking",
    ["", "74LS138N", "label worn off"],
    ids=["one blank line", "a part number", "words"],
)
def test_a_part_whose_marking_holds_no_date_changes_nothing(marking: str) -> None:
    more = {name: dict(parts) for name, parts in SECTIONS.items()}
    more["memory"]["U99"] = marking or "-"
    with_part = dated(data(more))
    (added,) = [p for p in with_part.parts if p.ref == "U99"]
    assert added.no_date > 0.99
    # A part without a date is as probable whenever it was fitted, and whether or not it still is.
    same(dated(data()), with_part, 1e-6)


def spans(shift: int) -> tuple[dict[str, list[Dated]], list[dict[str, str]]]:
    """Fixed readings and a document, all moved by some weeks."""
    first = week_of(date(1981, 1, 5)) + shift
    readings: dict[str, list[Dated]] = {
        "A": [(week_span(first + 9), 0.9), (week_span(first - 511), 0.1)],
        "B": [(week_span(first + 12), 1.0)],
        "C": [(week_span(first + 3, 4), 0.8)],
        "D": [(week_span(first + 150), 0.97)],
        "E": [(week_span(first + 147), 0.6), (week_span(first + 11), 0.4)],
    }
    used = monday(first + 210).isoformat()
    return readings, [{"kind": "document", "says": "in use by", "date": used}]


def shifted(weeks: int) -> tuple[Finding, Array]:
    """The board moved by some weeks, today with it; and the build by weeks since the shift."""
    readings, evidence = spans(weeks)
    survey = Survey.model_validate(
        {
            "today": monday(week_of(date(1995, 1, 2)) + weeks).isoformat(),
            "sections": {
                "s": {"parts": {"U1": "A", "U2": "B"}},
                "t": {"parts": {"U3": "C"}},
                "u": {"parts": {"U4": "D", "U5": "E"}},
            },
            "evidence": evidence,
        }
    )
    with fixed_readings(readings):
        finding = date_board(survey)
    start = week_of(date(1981, 1, 5)) + weeks
    build = np.zeros(400)
    for week in finding.build.weeks:
        if 0 <= (place := week_of(week.week) - start + 100) < len(build):
            build[place] = week.probability
    return finding, build


@pytest.mark.parametrize("weeks", [1, 52, 417, 1461])
def test_shifting_every_date_shifts_the_answer(weeks: int) -> None:
    """The weeks considered begin in 1960 whatever the shift, so that the share that a misreading
    or a document has of them changes by that many weeks in three thousand."""
    (first, build), (second, moved) = shifted(0), shifted(weeks)
    grown = weeks / 1827
    close(build, moved, max(0.02 * grown, 2e-5))
    for ref, origin in origins_of(first).items():
        close(origin, origins_of(second)[ref], 0.25 * grown)
    close(week_of(second.build.median) - week_of(first.build.median), weeks, 0)


def test_twenty_eight_years_later_the_codes_say_the_same() -> None:
    """The calendar repeats after 28 years between 1901 and 2099; the markings are read anew."""

    def board(years: int) -> Finding:
        parts = {f"U{n}": f"KV-{n} / {1969 + years + n % 2}-W1{n}" for n in range(4)}
        parts = {ref: _year_week(marking) for ref, marking in parts.items()}
        last = date(1975 + years, 6, 14)
        return dated(
            {
                "today": last.isoformat(),
                "production": f"{1967 + years}/{1972 + years}",
                "trade": "mass production",
                "sections": {"main": {"parts": parts}},
            }
        )

    early, late = board(0), board(28)
    shift = date(1999, 1, 4) - date(1971, 1, 4)
    for one, other in zip(early.build.windows, late.build.windows, strict=True):
        assert abs((other.first - one.first) - shift).days <= 7
        assert abs((other.last - one.last) - shift).days <= 7
    assert abs((late.build.median - early.build.median) - shift).days <= 7


def _year_week(marking: str) -> str:
    """``KV-1 / 1971-W11`` as a code of four figures, the year's last two first."""
    name, code = marking.split(" / ")
    year, week = code.split("-W")
    return f"{name} / {year[2:]}{week}"


def test_the_order_of_recorded_works_does_not_matter() -> None:
    """A part that was replaced twice is the one of the later work."""
    works = [
        {"date": "1990-05", "parts": ["U7"], "done": "replaced"},
        {"date": "2001", "parts": ["U7"], "done": "replaced"},
        {"date": "1999-02", "parts": ["U9"], "done": "checked"},
    ]
    one, other = dated(data(works=works)), dated(data(works=works[::-1]))
    assert one.parts == other.parts
    assert one.later_works == other.later_works
    assert {w.first.year for p in one.parts if p.ref == "U7" for w in p.fitted} == {2001}


def test_production_years_do_not_change_what_a_marking_says() -> None:
    """They speak of the build once; with every part again, they would outweigh all of its parts."""
    markings = {"U1": "LM741CN / 7923", "U2": "LM301AN / 921", "U3": "LM311N / 79?8"}

    def lots(production: str) -> tuple[Lot, ...]:
        sections = {"main": {"parts": markings}}
        survey = {"today": "2026-01-01", "production": production, "sections": sections}
        return gather(Survey.model_validate(survey)).lots

    for one, other in zip(lots("1977/1983"), lots("1984/1990"), strict=True):
        assert [r.first for r in one.readings] == [r.first for r in other.readings]
        close(one.at_build, other.at_build)


def test_five_hundred_parts_are_dated() -> None:
    rng = np.random.default_rng(5)
    sections = {
        f"card {card}": {
            f"U{card}{number:02}": f"74LS{number:02}N / 82{rng.integers(10, 31)}"
            for number in range(50)
        }
        for card in range(10)
    }
    finding = dated(data(sections, relations=[], evidence=[]))
    assert len(finding.parts) == 500
    window = stated(finding.build.windows)
    assert date(1982, 6, 1) < window.first < window.last < date(1984, 6, 1)
    assert all(np.isfinite(origins_of(finding)[p.ref]).all() for p in finding.parts)
    for part in finding.parts:
        close(sum(origins_of(finding)[part.ref]), 1.0, 1e-9)


@pytest.mark.parametrize(("marking", "alike"), [("KV-12", "ab"), ("KV-12 / 8412", "abcd")])
def test_accounts_that_are_equally_probable_keep_the_order_of_the_survey(
    marking: str, alike: str
) -> None:
    base = {"mount": "soldered", "parts": {f"U{n}": f"74LS00N / 811{n}" for n in range(5)}}
    added = {name: {"mount": "socketed", "parts": {f"{name.upper()}1": marking}} for name in alike}
    finding = dated({"today": "2020-05-04", "sections": {"base": base, **added}})
    works = [(a.probability, a.works[0].groups) for a in finding.accounts if len(a.works) == 1]
    pairs = [(x, y) for x, y in pairwise(works) if len(x[1]) == len(y[1])]
    assert pairs
    for (one, groups), (other, others) in pairs:
        close(one, other, 1e-9)
        assert groups < others
