"""Every scheme: it writes what it reads, it explains itself, and the published tables hold."""

from __future__ import annotations

import importlib.metadata
import pickle
import re
import sys
from collections.abc import Iterator
from datetime import date
from pathlib import Path
from typing import Any

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from provenance.markings import schemes
from provenance.markings.expression import Expression
from provenance.markings.periods import calendar_years
from provenance.markings.reader import read_marking
from provenance.markings.schemes import (
    Proposal,
    Scheme,
    all_schemes,
    iec_letters,
    left_out_schemes,
    proposals_of,
    sample_of,
    scheme_of,
    year_week,
)
from provenance.markings.spreading import Frame, dated
from provenance.markings.weights import reasoned, weights

TODAY = date(2026, 1, 1)
MARKINGS = (Path(__file__).parents[2] / "docs" / "markings.md").read_text(encoding="utf-8")
days = st.dates(date(1960, 2, 1), date(2025, 11, 30))
iec_days = st.dates(date(1970, 1, 1), date(2025, 11, 30))
every_scheme = pytest.mark.parametrize("scheme", all_schemes(), ids=lambda scheme: scheme.key)


def is_used(scheme: Scheme, day: date) -> bool:
    """Whether a scheme was in use on a day: IEC 60062 and DIN 41314 have no year letter for the
    years before 1969; serial numbers that count from 1960 are read from 1970 to 2004."""
    if scheme.key == "serial_prefix":
        return date(1970, 1, 1) <= day <= date(2004, 12, 26)
    return scheme.key not in ("iec_letters", "letter_year_week") or day.year >= 1969


def spans(scheme: Scheme, token: str) -> Iterator[tuple[date, date]]:
    frame = Frame(1950, 2025, TODAY, None)
    for offer in scheme.propose(token):
        for first, last in dated(frame, offer[3:])[1]:
            yield date.fromordinal(first), date.fromordinal(last)


@every_scheme
@given(day=days)
def test_a_day_written_in_a_scheme_is_read_back(scheme: Scheme, day: date) -> None:
    assume(is_used(scheme, day))
    code = scheme.write(day)
    assert any(first <= day <= last for first, last in spans(scheme, code))


@every_scheme
@given(day=days)
def test_a_scheme_passes_between_processes(scheme: Scheme, day: date) -> None:
    assume(is_used(scheme, day))
    there, code = pickle.loads(pickle.dumps(scheme)), scheme.write(day)
    assert there.write(day) == code
    assert [*there.propose(code)] == [*scheme.propose(code)] != []


@every_scheme
@given(day=days)
def test_the_reader_keeps_the_true_span_of_a_code_beside_a_part(scheme: Scheme, day: date) -> None:
    """The whole way: the code alone on a part, the year roughly known."""
    assume(is_used(scheme, day))
    code = scheme.write(day)
    reading = read_marking(code, near=day.year, years=(1950, 2025), today=TODAY)
    assert any(one.first <= day <= one.last for one in reading.readings), (code, reading)


@every_scheme
def test_a_scheme_explains_itself(scheme: Scheme) -> None:
    assert scheme.name
    assert scheme.source
    assert "Source:" in scheme.description
    assert ">>>" in scheme.description
    assert re.fullmatch("[a-z_]+", scheme.key)


def test_keys_and_names_are_unique() -> None:
    assert len({scheme.key for scheme in all_schemes()}) == len(all_schemes())
    assert len({scheme.name for scheme in all_schemes()}) == len(all_schemes())


@every_scheme
@given(token=st.text("0123456789ABCDEFGHIJKLMNOPQRSTUVWXYZ'-/. ", max_size=12))
def test_a_scheme_proposes_only_what_it_can_place(scheme: Scheme, token: str) -> None:
    for offer in scheme.propose(token):
        assert offer.form.partition(".")[0] == scheme.key
        assert offer.form in weights(), f"{offer.form} has no weight"
        assert 0 <= offer.start < offer.end <= len(token)
        assert scheme.is_worth_trying(sample_of(token))
        assert scheme.fits(token)
        assert offer.cycle in (0, 10, 20, 100)


@every_scheme
@given(data=st.data())
def test_no_shape_that_a_scheme_describes_is_passed_over(
    scheme: Scheme, data: st.DataObject
) -> None:
    """Shapes are drawn at random and from the scheme's own expressions, up to the longest token it
    is tried on."""
    module = importlib.import_module(f"provenance.markings.schemes.{scheme.key}")
    expressions = [value for value in vars(module).values() if isinstance(value, Expression)]
    assert isinstance(scheme.lengths, dict)
    assert scheme.forms
    longest = max(most for _, most in scheme.lengths.values())
    drawn = [st.from_regex(one.compiled, fullmatch=True) for one in expressions]
    sample = data.draw(st.one_of(st.text("0Aa'", max_size=5), *drawn))
    if len(sample) <= longest and list(scheme.forms(sample)):
        assert scheme.is_worth_trying(sample)
    for one in (f" {sample}", f"{sample} ", f"{sample}\n"):
        assert not list(scheme.forms(one)), one


EDGES = (
    ("7800", "year_week", "1978-01-01"),
    ("8153", "year_week", "1981-12-31"),
    ("H8153", "year_week_plant", "1981-12-31"),
    ("8153B", "year_week_lot", "1981-12-31"),
    ("153", "short_year_week", "1981-12-31"),
    ("H153", "short_year_week_plant", "1981-12-31"),
    ("1535401", "short_year_week_lot", "1981-12-31"),
    ("5381", "week_year", "1981-12-31"),
    ("1981-53", "full_year_week", "1981-12-31"),
    ("1981-W53", "iso_week", "1981-12-31"),
    ("N53", "letter_year_week", "1981-12-31"),
    ("84366", "year_day", "1984-12-31"),
    ("4366A", "year_day", "1984-12-31"),
    ("84001", "year_day", "1984-01-01"),
    ("97-12", "year_month", "1997-12-01"),
    ("9701", "year_month", "1997-01-01"),
    ("12/97", "month_year", "1997-12-01"),
    ("0197", "month_year", "1997-01-01"),
)


@pytest.mark.parametrize(("token", "key", "day"), EDGES)
def test_the_first_and_last_of_a_year_are_read(token: str, key: str, day: str) -> None:
    """ISO 8601-1:2019: 1981-12-31 is 1981-W53-4, and a leap year has a day 366. Week 00 is common
    practice."""
    reading = read_marking(token, near=int(day[:4]), today=TODAY)
    assert any(
        one.scheme == key and one.first <= date.fromisoformat(day) <= one.last
        for one in reading.readings
    )


@pytest.mark.parametrize(
    "token", ["7854", "H7854", "H7800", "854", "1981-W54", "81-54", "83366A", "84367A", "84000A"]
)
def test_what_no_year_has_is_not_read(token: str) -> None:
    """ISO 8601-1:2019: no week 54; day 366 in leap years alone. Week 00 of a plant is not met."""
    day_or_week = ("year_day", "year_week", "short_year_week", "year_week_plant", "iso_week")
    reading = read_marking(token, today=TODAY)
    assert not [one for one in reading.readings if one.scheme in day_or_week]


def test_weights_have_a_source_and_no_orphans() -> None:
    """Every weight belongs to a scheme, a circumstance, or a pair of the two."""
    keys = {scheme.key for scheme in all_schemes()} | {"house"}
    for key, odds in weights().items():
        assert odds > 0
        assert key.startswith("@") or re.split(r"[.@]", key)[0] in keys, key
    assert weights().keys() == reasoned().keys()


@every_scheme
def test_every_scheme_has_a_weight_and_is_in_the_docs(scheme: Scheme) -> None:
    assert scheme.key in {re.split("[.@]", key)[0] for key in weights()}
    assert f"| `{scheme.key}` |" in MARKINGS


def test_iec_60062_year_letters() -> None:
    """IEC 60062 (DIN 41314 before it): the letters of 1970 to 1989, repeated from 1990."""
    letters = dict(  # noqa: C408 - reads as the standard's table
        A=1970, B=1971, C=1972, D=1973, E=1974, F=1975, H=1976, J=1977, K=1978, L=1979,
        M=1980, N=1981, P=1982, R=1983, S=1984, T=1985, U=1986, V=1987, W=1988, X=1989,
    )  # fmt: skip
    for letter, year in letters.items():
        offer = next(one for one in iec_letters.propose(letter + "1") if one.form == "iec_letters")
        assert set(calendar_years(offer.year, 20, 1970, 2009)) == {year, year + 20}
    for unused in "GIOQYZ":
        assert not [one for one in iec_letters.propose(unused + "1") if "rev" not in one.form]


@pytest.mark.parametrize("code", ["M5", "N41", "X9", "9X"])
def test_no_year_letter_is_of_a_year_before_1969(code: str) -> None:
    """IEC 60062: the letters begin with A for 1970; 1969 is met on parts marked by DIN 41314."""
    letters = [
        one
        for one in read_marking(code, today=TODAY).readings
        if one.scheme in ("iec_letters", "letter_year_week")
    ]
    assert min(one.first for one in letters) >= date(1969, 1, 1)


def test_iec_60062_months() -> None:
    """IEC 60062: months 1 to 9, then O, N, D."""
    for month, sign in enumerate("123456789OND", 1):
        offer = next(iter(iec_letters.propose("K" + sign)))
        assert offer.number == month
    assert not [one for one in iec_letters.propose("K0") if one.form == "iec_letters"]


def test_iec_order_month_year_is_met_as_well() -> None:
    """IEC 60062, before about 1975: the month first."""
    assert any(one.form == "iec_letters.reversed" for one in iec_letters.propose("9L"))


@given(iec_days)
def test_iec_code_never_repeats_within_twenty_years(day: date) -> None:
    later = date(day.year + 19, day.month, 1)
    assert iec_letters.write(day) != iec_letters.write(later)


def test_mil_std_1285_form() -> None:
    """MIL-DTL-23971D 3.7.1: last two figures of the year, then the week with a leading zero."""
    assert year_week.write(date(1979, 2, 14)) == "7907"
    (offer,) = year_week.propose("7907")
    assert (offer.year, offer.number) == (79, 7)


def test_eia_example_through_the_reader() -> None:
    """ECIA, 'EIA Source Codes': 113-9910 is March 7-13, 1999."""
    best = read_marking("113-9910", today=TODAY).best
    assert best is not None
    assert (best.scheme, best.text) == ("eia", "9910")
    assert (best.first, best.last) == (date(1999, 3, 7), date(1999, 3, 13))


class _Entry:
    def __init__(self, name: str, load: Any) -> None:
        self.name, self.value, self._load = name, f"invented:{name}", load

    def load(self) -> Any:
        return self._load()


class _Foreign:
    """A scheme of an invented house: Q, then year and week with the figures turned about."""

    KEY, NAME, SOURCE = "turned_week", "turned year and week", "invented"

    @staticmethod
    def propose(token: str) -> Iterator[Proposal]:
        if len(token) == 6 and token[:2] == "QQ" and token[2:].isdigit():
            year, week = int(token[:1:-1][2:]), int(token[:1:-1][:2])
            if 1 <= week <= 53:
                yield Proposal("turned_week", 2, 6, year, 100, "week", week)

    @staticmethod
    def write(day: date) -> str:
        year, week, _ = day.isocalendar()
        return "QQ" + f"{week:02}{year % 100:02}"[::-1]


def _foreign(expression: object) -> type[_Foreign]:
    return type("_WithExpression", (_Foreign,), {"EXPRESSIONS": (expression,)})


@pytest.mark.parametrize(
    "expression",
    [
        re.compile("QQ[0-9]{4}"),
        re.compile(r"QQ\d{4}"),
        re.compile(r"\w{6}"),
        re.compile("qq[0-9]{4}", re.IGNORECASE),
        re.compile("(?i:qq)[0-9]{4}"),
        re.compile("QQ(?!00)[0-9]{4}"),
        re.compile(r"(Q)\1[0-9]{4}"),
        re.compile(r"(?P<letter>Q)(?P=letter)[0-9]{4}"),
        re.compile(r"QQ[\]0-9]{4}"),
        re.compile("QQ[]0-9]{4}"),
        re.compile("[^a-z]{6}"),
    ],
    ids=lambda expression: expression.pattern,
)
def test_a_packages_expression_of_any_kind_keeps_what_fits_it(expression: re.Pattern[str]) -> None:
    scheme = scheme_of(_foreign(expression))
    assert scheme.is_worth_trying(sample_of("QQ9732"))
    assert scheme.fits("QQ9732")
    assert not scheme.fits("QQ973")


@pytest.fixture
def installed(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> Iterator[list[_Entry]]:
    """Entries that an installed package has for schemes; a test adds its own."""
    entries: list[_Entry] = []
    monkeypatch.setattr(importlib.metadata, "entry_points", lambda **_: entries)
    monkeypatch.setattr(schemes, "_left_out", [])
    monkeypatch.syspath_prepend(tmp_path)
    announcing = tmp_path / "invented-1.0.dist-info"
    announcing.mkdir()
    text = "[provenance.schemes]\ngood = invented:good\n"
    (announcing / "entry_points.txt").write_text(text, encoding="utf-8")
    for cached in (schemes.all_schemes, schemes.worth_trying):
        cached.cache_clear()
    yield entries
    for cached in (schemes.all_schemes, schemes.worth_trying):
        cached.cache_clear()


class _Raising(_Foreign):
    KEY = "raising"

    @staticmethod
    def propose(token: str) -> Iterator[Proposal]:
        yield Proposal("raising", 0, len(token), int(token[2:]), 100, "week", 1)


class _Wrong(_Foreign):
    KEY = "wrong"

    @staticmethod
    def propose(token: str) -> Iterator[Any]:
        yield "wrong", 0, len(token), None, 100, "week", 1, 0


class _Negative(_Foreign):
    KEY = "negative"

    @staticmethod
    def propose(token: str) -> Iterator[Proposal]:
        yield Proposal("negative", 0, len(token), 78, 100, "week", -1)


def test_reading_goes_on_where_a_packages_scheme_fails(installed: list[_Entry]) -> None:
    installed += [_Entry("raises", lambda: _Raising), _Entry("yields", lambda: _Wrong)]
    installed += [_Entry("counts", lambda: _Negative)]
    assert proposals_of("QQABCD") == []
    read = {one.form for one in proposals_of("7841")}
    assert "year_week" in read
    assert "wrong" not in read
    counts, raises, yields = sorted(left_out_schemes())
    assert "counts failed on a token" in counts
    assert "ValueError" in counts
    assert "raises failed on a token" in raises
    assert "ValueError" in raises
    assert "yields failed on a token" in yields
    assert "TypeError" in yields
    assert [one.year for one in proposals_of("QQ9732") if one.form == "raising"] == [9732]


def test_packages_register_schemes(installed: list[_Entry]) -> None:
    def broken() -> Any:
        raise ImportError("no such module")

    installed += [
        _Entry("good", lambda: _Foreign),
        _Entry("twice", lambda: _Foreign),
        _Entry("broken", broken),
        _Entry("textual", lambda: _foreign("QQ[0-9]{4}")),
    ]
    assert schemes._announced()
    found = {scheme.key: scheme for scheme in all_schemes()}
    assert "turned_week" in found
    day = date(1979, 6, 6)
    assert any(first <= day <= last for first, last in spans(found["turned_week"], "QQ9732"))
    said = " ".join(left_out_schemes())
    assert "broken" in said
    assert "textual (invented:textual) cannot be used: TypeError" in said
    assert "taken" in said


def test_no_package_is_asked_where_none_has_schemes(
    monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    monkeypatch.setattr(sys, "path", [str(tmp_path)])
    assert not schemes._announced()
