"""House schemes described by a user: what is taken, and what is refused in plain words."""

from __future__ import annotations

from datetime import date

import pytest
from hypothesis import given
from hypothesis import strategies as st

from provenance.errors import ProvenanceError
from provenance.markings.houses import house_of, houses_from_yaml
from provenance.markings.reader import read_marking

TODAY = date(2026, 1, 1)


@pytest.mark.parametrize(
    ("pattern", "token", "first", "last"),
    [
        ("K{year2}{week}", "K7841", "1978-10-08", "1978-10-15"),
        ("{year4}/{month}", "1978/11", "1978-11-01", "1978-11-30"),
        ("{letters}{year1}{month_letter}{figures}", "QX8L07", "1978-11-01", "1978-11-30"),
        ("{year1}{month_sign}-{figures}", "8N-07", "1978-11-01", "1978-11-30"),
        ("{day}{month}{year2}@", "121178Q", "1978-11-12", "1978-11-12"),
        ("{year2}{day_of_year}##", "7831607", "1978-11-12", "1978-11-12"),
        ("P{year2}", "P78", "1978-01-01", "1978-12-31"),
    ],
)
def test_fields(pattern: str, token: str, first: str, last: str) -> None:
    house = house_of({"name": "invented", "pattern": pattern, "years": "1975/1980"})
    reading = read_marking(f"QX12 {token}", today=TODAY, houses=[house])
    best = reading.best
    assert best is not None
    assert best.scheme == "house: invented"
    assert (best.first.isoformat(), best.last.isoformat()) == (first, last)


def test_file_of_houses() -> None:
    text = """
houses:
  - name: invented studio
    pattern: "K{year1}{week}-{figures}"
    years: 1978/1984
    source: the studio's parts ledger
"""
    (house,) = houses_from_yaml(text)
    assert (house.first, house.last) == (1978, 1984)
    assert house.source == "the studio's parts ledger"
    assert houses_from_yaml(text.replace("houses:", "").replace("\n  ", "\n")) == (house,)


@pytest.mark.parametrize(
    ("entry", "said"),
    [
        ({"pattern": "K{year1}"}, "needs a name"),
        ({"name": "a"}, "needs a name and a pattern"),
        ({"name": "a", "pattern": "K{week}"}, "needs one of"),
        ({"name": "a", "pattern": "{year1}{year2}"}, "needs one of"),
        ({"name": "a", "pattern": "{year1}{weeks}"}, "did you mean {week}"),
        ({"name": "a", "pattern": "{year1}{year1}"}, "stands twice"),
        ({"name": "a", "pattern": "{year2}{week}{month}"}, "{week} and {month} both say"),
        ({"name": "a", "pattern": "{year2}{day}"}, "{day} needs a month"),
        ({"name": "a", "pattern": "{year1}", "years": "seventies"}, "years"),
        ({"name": "a", "pattern": "{year1}", "year": "1978"}, "unknown key 'year'"),
        ({"name": "a", "pattern": "{year1}" + "Q" * 100}, "longer than"),
        ({"name": "a", "pattern": ["{year1}"]}, "not plain text"),
    ],
)
def test_mistakes_are_named(entry: dict[str, object], said: str) -> None:
    with pytest.raises(ProvenanceError, match=said.replace("{", r"\{")):
        house_of(entry)


@pytest.mark.parametrize("text", ["3", "- 3", "a: b", "[", "", "- {name: [a, b], pattern: c}"])
def test_files_that_hold_no_houses(text: str) -> None:
    with pytest.raises(ProvenanceError):
        houses_from_yaml(text)


@given(st.text(max_size=40), st.text(max_size=12))
def test_any_pattern_is_taken_or_refused(pattern: str, token: str) -> None:
    try:
        house = house_of({"name": "invented", "pattern": pattern})
    except ProvenanceError:
        return
    read_marking(token, today=TODAY, houses=[house])
