"""The table of words: what stands beside a date, and what it says of the figures behind it.

What the words mean is common practice; the markings are made up.
"""

from __future__ import annotations

from datetime import date

import pytest

from provenance import read_marking
from provenance.markings.shapes import words
from provenance.markings.surroundings import _BEFORE

KINDS = {*_BEFORE, "copyright"}


def test_every_word_is_in_capitals_and_of_a_known_kind() -> None:
    assert set(words().values()) <= KINDS
    assert all(word == word.upper() for word in words() if word.isascii())
    assert not any(" " in word for word in words())


@pytest.mark.parametrize(
    "word",
    ["P/N", "P/N:", "PN", "PART", "PART NO.", "ASSY", "ASSEMBLY", "MODEL", "TYPE", "CHKSUM",
     "CKSUM", "SUM", "UL", "ID", "DWG", "FIRMWARE", "S.N."],
)  # fmt: skip
def test_a_number_behind_these_words_is_no_date(word: str) -> None:
    """Nothing but the word and the figures; without the word they are the 12th week of 1984."""
    assert read_marking("8412").best is not None
    assert read_marking(f"{word} 8412").best is None


@pytest.mark.parametrize("word", ["BAUD", "BPS"])
def test_a_number_before_a_rate_is_no_date(word: str) -> None:
    assert read_marking(f"9600 {word}").best is None


@pytest.mark.parametrize("word", ["DATE", "DATED", "D/C", "MANUFACTURED", "WK", "KW", "WEEK"])
def test_words_for_dates_and_weeks_make_a_date_likelier(word: str) -> None:
    assert read_marking(f"{word} 8412").no_date < read_marking("QQXX 8412").no_date


@pytest.mark.parametrize("word", ["KW", "WK", "WEEK"])
def test_week_and_year_behind_a_word_for_a_week(word: str) -> None:
    best = read_marking(f"{word} 12 86").best
    assert best is not None
    assert best.first <= date(1986, 3, 20) <= best.last  # Week 12 by ISO 8601: 17 to 23 March.


@pytest.mark.parametrize("country", ["SPAIN", "DENMARK", "AUSTRALIA"])
def test_a_country_leaves_the_date_before_it(country: str) -> None:
    best = read_marking(f"SN7432N 8412 {country}").best
    assert best is not None
    assert best.text == "8412"
