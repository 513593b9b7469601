"""Words for probabilities, weights, dates and lists."""

from __future__ import annotations

from datetime import date, timedelta

import pytest
from hypothesis import example, given
from hypothesis import strategies as st

from provenance.notes import words

IPCC_2010 = {
    "virtually certain": (99, 100),
    "extremely likely": (95, 100),
    "very likely": (90, 100),
    "likely": (66, 100),
    "more likely than not": (50, 100),
    "about as likely as not": (33, 66),
    "unlikely": (0, 33),
    "very unlikely": (0, 10),
    "extremely unlikely": (0, 5),
    "exceptionally unlikely": (0, 1),
}
"""Ranges in per cent. Source: IPCC 2010, Guidance Note on Consistent Treatment of Uncertainties,
table 1 and its footnote of additional terms."""

JEFFREYS_1961 = {"slight": 5, "substantial": 10, "strong": 15, "very strong": 20}
"""Decibans at which a grade ends. Source: Jeffreys 1961, Theory of Probability, appendix B: Bayes
factors of 10 to the powers one half, 1, 3/2 and 2."""


@given(st.floats(0, 1))
def test_the_word_lies_within_the_ipcc_range(probability: float) -> None:
    low, high = IPCC_2010[words.probability_word(probability)]
    assert low <= 100 * probability <= high


@pytest.mark.parametrize("word", IPCC_2010)
def test_every_ipcc_word_is_used(word: str) -> None:
    said = {words.probability_word(k / 1000) for k in range(1001)}
    assert word in said


@given(st.floats(0, 1))
@example(0.005)
@example(0.995)
def test_the_printed_word_fits_the_printed_number(probability: float) -> None:
    word, number = words.probable(probability).rstrip(")").split(" (")
    low, high = IPCC_2010[word]
    shown = float(number.removeprefix("over ").removeprefix("under ").rstrip("%"))
    assert low <= shown <= high
    assert abs(shown - 100 * probability) <= 0.51
    assert 0 < shown < 100


@pytest.mark.parametrize(("word", "end"), JEFFREYS_1961.items())
def test_the_grades_of_weight_end_where_jeffreys_ends_them(word: str, end: float) -> None:
    assert words.deciban_word(end - 0.01) == word
    assert words.deciban_word(-end + 0.01) == word
    assert words.deciban_word(end) != word


@given(st.dates(date(1950, 1, 1), date(2030, 1, 1)), st.integers(0, 20_000))
def test_a_date_in_prose_names_both_years(first: date, days: int) -> None:
    last = first + timedelta(days=days)
    for said in (words.when(first, last), words.about_when(first, last)):
        assert str(first.year) in said
        assert str(last.year) in said or words.when(first, last).startswith("in the week of")


@given(st.dates(date(1950, 1, 1), date(2030, 1, 1)), st.integers(29, 2190))
def test_a_long_span_is_never_said_narrower_than_it_is(first: date, days: int) -> None:
    """Read back the month names: the months said cover the first and the last day."""
    last = first + timedelta(days=days)
    said = words.when(first, last)
    if days >= 31 and "between" in said:
        start, end = said.removeprefix("between ").split(" and ")
        assert start.split()[0] == f"{first:%B}"
        assert end == f"{last:%B} {last.year}"


@given(st.dates(date(1950, 1, 1), date(2030, 1, 1)))
def test_the_week_of_a_monday_is_the_iso_week(day: date) -> None:
    """ISO 8601: the seven days from Monday; compared with ``date.fromisocalendar``."""
    year, week, _ = day.isocalendar()
    monday = date.fromisocalendar(year, week, 1)
    said = words.when(monday, date.fromisocalendar(year, week, 7))
    assert said == f"in the week of {monday.isoformat()}"


@pytest.mark.parametrize(
    ("first", "last", "text", "said"),
    [
        ("2026-05-01", "2026-05-31", "2026-05", "in May 2026"),
        ("2026-05-02", "2026-05-02", "2026-05-02", "on 2 May 2026"),
        (None, "1984-12-31", "../1984", "by December 1984"),
        (None, None, "../..", "at an unknown date"),
        ("1984-01-01", "1984-12-31", "1984%", "in 1984 (date approximate, date uncertain)"),
    ],
)
def test_stated_dates(first: str | None, last: str | None, text: str, said: str) -> None:
    days = [date.fromisoformat(day) if day else None for day in (first, last)]
    assert words.stated_when(days[0], days[1], text) == said


def test_a_span_that_ends_before_it_begins_is_refused() -> None:
    with pytest.raises(ValueError, match="cannot end"):
        words.when(date(1980, 1, 2), date(1980, 1, 1))


@given(st.text())
def test_what_is_shown_holds_no_control_or_direction_character(text: str) -> None:
    assert all(c.isprintable() for c in words.visible(text))


@given(st.lists(st.integers(1, 40).map(lambda n: f"U{n}"), unique=True, min_size=1))
def test_a_list_of_references_stands_for_every_one(refs: list[str]) -> None:
    named: set[str] = set()
    for run in words.runs(refs):
        ends = [int(end.removeprefix("U")) for end in run.split(" to ")]
        named |= {f"U{n}" for n in range(ends[0], ends[-1] + 1)}
    assert named == set(refs)


@given(st.lists(st.integers(1, 60).map(lambda n: f"U{n}"), unique=True, min_size=1))
def test_a_cut_list_counts_the_ones_it_leaves_out(refs: list[str]) -> None:
    said = words.refs(refs, limit=3)
    if not said.endswith(" others"):
        return
    shown, rest = said.rsplit(" and ", 1)
    named = 0
    for run in shown.split(", "):
        ends = [int(end.removeprefix("U")) for end in run.split(" to ")]
        named += ends[-1] - ends[0] + 1
    assert named + int(rest.split()[0]) == len(refs)
