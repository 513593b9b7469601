"""The reader on invented markings: what a practitioner would read, and what they would doubt.

The shapes are common practice; the markings are made up. Part-number families and their first
years are from memory, as in the families table.
"""

from __future__ import annotations

import math
import random
import time
from contextlib import suppress
from datetime import date
from threading import Barrier, BrokenBarrierError, Thread
from typing import Any
from unittest.mock import patch

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from provenance.markings import reader, surroundings
from provenance.markings.explaining import explain
from provenance.markings.houses import house_of
from provenance.markings.reader import LONGEST, MOST_READINGS, read_marking, read_markings
from provenance.markings.reading import MarkingReading, Reading
from provenance.markings.schemes import all_schemes
from provenance.markings.spreading import NEGLIGIBLE
from provenance.markings.weights import weights
from tests.benchmarks.field_reading import Case, Design
from tests.benchmarks.field_reading import read as read_case

TODAY = date(2026, 1, 1)


def read(marking: str, near: int | None = None) -> MarkingReading:
    return read_marking(marking, near=near, today=TODAY)


def best_of(marking: str, near: int | None = None) -> Reading:
    """The best reading of a marking that has one."""
    best = read(marking, near).best
    assert best is not None
    return best


@pytest.mark.parametrize(
    ("marking", "text", "first"),
    [
        ("SN7432N 7841", "7841", "1978-10-08"),
        ("7432 7841", "7841", "1978-10-08"),
        ("SN7432N / 7841", "7841", "1978-10-08"),
        ("LM324N 8035A", "8035", "1980-08-24"),
        ("741 7613", "7613", "1976-03-21"),
        ("4116 7805", "7805", "1978-01-29"),
        ("LM7805 7912", "7912", "1979-03-18"),
        ("TMS4116-15NL 8119", "8119", "1981-05-03"),
        ("TK4116-3 H7922", "7922", "1979-05-27"),
        ("D8255AC-5 8221K9", "8221", "1982-05-16"),
        ("CD4066BE K8042", "8042", "1980-10-12"),
        ("8322 74LS245", "8322", "1983-05-22"),
        ("© 1979 QX 8012 A", "8012", "1980-03-16"),
        ("QXR-7841 MADE IN MALAYSIA 8112", "8112", "1981-03-15"),
        ("WK 41 78", "41 78", "1978-10-08"),
        ("NOV 78", "NOV 78", "1978-11-01"),
        ("XI/78", "XI/78", "1978-11-01"),
        ("12 NOV 78", "12 NOV 78", "1978-11-12"),
        ("97-11", "97-11", "1997-11-01"),
        ("78-41", "78-41", "1978-10-08"),
        ("1978-10-12", "1978-10-12", "1978-10-12"),
        ("781012", "781012", "1978-10-12"),
        ("137-7841", "7841", "1978-10-08"),
        ("4.433619 8405", "8405", "1984-01-29"),
        ("D/C 7841", "7841", "1978-10-08"),
        ("UPD765 82 14", "82 14", "1982-03-28"),
        ("ＳＮ７４３２ ７８４１", "７８４１", "1978-10-08"),
        ("QX555\t7841\r\nJAPAN", "7841", "1978-10-08"),
        ("QX555\x00 7841\x07", "7841", "1978-10-08"),
        ("8O41", "8O41", "1980-10-05"),
        ("7841.0", "7841", "1978-10-08"),
        ("P8255A-5 / K9335401 / (C) 1985", "933", "1989-08-13"),
        ("HM6264LP-15 / 6F21", "6F", "1986-06-01"),
        ("1820-0471 / 7841", "7841", "1978-10-08"),
        ("ER14505 3.6V / 2004-06", "2004-06", "2004-06-01"),
        ("CR2032 97-11", "97-11", "1997-11-01"),
        ("QX1770-PH 00-02 / 8545", "8545", "1985-11-03"),
        ("6522 / 4384", "4384", "1984-10-21"),
        ("9614 / 8423", "8423", "1984-06-03"),
        ("L298N / 88931", "8931", "1989-07-30"),
        ("QX68705 / QPXX8534", "8534", "1985-08-18"),
        ("DATE CODE 8123", "8123", "1981-05-31"),
        ("27C256 / 8845 / VER 4.10 / (C) 1989", "8845", "1988-10-30"),
        ("SN7400N / '8423", "8423", "1984-06-03"),
        ("“SN7400N” 8423", "8423", "1984-06-03"),
        ("235-7532H", "7532", "1975-08-03"),
        ("REV 1.2 / 21.11.84", "21.11.84", "1984-11-21"),
    ],
)
def test_the_best_reading_is_the_practitioners(marking: str, text: str, first: str) -> None:
    best = best_of(marking)
    assert (best.text, best.first.isoformat()) == (text, first)
    assert marking[best.start : best.end] == best.text


@pytest.mark.parametrize(
    ("marking", "near", "first"),
    [
        ("XR555 841", 1978, "1978-10-08"),
        ("NE555N 231", 1982, "1982-07-25"),
        ("QC8H", 1988, "1988-08-01"),
        ("32K9Y", 1989, "1989-11-01"),
        ("L9", 1980, "1979-09-01"),
        ("Q419E9", 1989, "1989-05-01"),
        ("3.57C64", 1986, "1986-04-01"),
        ("6129A 8B07", 1998, "1998-11-01"),
        ("XR4558 8'64", 1988, "1988-06-01"),
        ("QV12 JAPAN H841 2 C", 1988, "1988-10-02"),
        ("QV-1005 8415401", 1988, "1988-10-02"),
        ("TMS4116-15NL 8 2 41", 1982, "1982-10-10"),
    ],
)
def test_a_rough_year_settles_the_decade(marking: str, near: int, first: str) -> None:
    best = best_of(marking, near)
    assert best.first <= date.fromisoformat(first) <= best.last


@pytest.mark.parametrize(
    "marking",
    ["7432", "SN7432N", "9316PC", "8255A", "MC6845P", "LM7805CT", "ICM7216DIPI", "2N3055",
     "(C) 1979",
     "© 1981", "LOT 68861", "4.433619 MHZ", "JAPAN", "REV C", "", "   ", "---", "?", "????", "QX",
     "9750B", "MN3207", "TL7705ACP", "3.6V 110MAH", "12V 10A 250V~", "470UF16V", "47uF 25V",
     "100NF 63V", "330 OHM 0.5W", "6A 250V", "220R", "no marking visible", "No", "no", "NO DATE"],
)  # fmt: skip
def test_no_date_is_more_probable_where_nothing_dates(marking: str) -> None:
    assert read(marking).best is None


@pytest.mark.parametrize("marking", ["3.6V 110MAH", "12V 10A 250V~", "47uF 25V", "6A 250VAC"])
def test_quantities_are_not_dates(marking: str) -> None:
    """Units of the SI brochure behind preferred values (IEC 60063) and usual ratings."""
    reading = read(marking)
    assert reading.no_date > 0.93
    assert all(token.taken_for != "date" for token in reading.tokens)


@pytest.mark.parametrize(
    ("marking", "text", "near"),
    [("1000UF 16V 7841", "7841", 1979), ("3V 110MAH 97-11", "97-11", 1997),
     ("63V 7841", "7841", 1979), ("XR555 8405NS", "8405", 1984), ("XR555 841V", "841", 1988),
     ("4.7K 5% 8322", "8322", 1983)],
)  # fmt: skip
def test_a_date_beside_a_quantity_is_still_read(marking: str, text: str, near: int) -> None:
    best = best_of(marking, near)
    assert best.text == text


def test_three_figures_beside_a_rated_voltage_are_doubted() -> None:
    """IEC 60062: two figures of the value and the power of ten."""
    assert read("103 50V", 1981).no_date > 3 * read("103 SD", 1981).no_date


@pytest.mark.parametrize("marking", ["no", "on", "It is no good", "none to be seen, no box"])
def test_small_words_are_no_letters_of_a_date(marking: str) -> None:
    """The letters of IEC 60062 are capitals."""
    assert read(marking).no_date > 0.99


def test_a_copyright_year_is_no_date_of_manufacture() -> None:
    reading = read("QX8048 © 1977 8012")
    kinds = {token.text: token.taken_for for token in reading.tokens}
    assert kinds["1977"] == "copyright year"
    assert all(one.text != "1977" for one in reading.readings)


def test_a_design_year_bounds_an_open_decade_from_below() -> None:
    reading = read("QX12 © 1985 841")
    early = sum(one.probability for one in reading.readings if one.first.year < 1985)
    assert early < 0.05


def test_a_family_bounds_the_decade_from_below() -> None:
    """The 555 is from 1972 (memory), so week 841 is not of 1968."""
    reading = read("NE555N 841")
    years = {one.first.year: one.probability for one in reading.readings}
    assert years[1978] > 10 * years.get(1968, 0.0)


@given(near=st.integers(1976, 2015))
def test_near_sharpens_softly(near: int) -> None:
    reading = read("XR555 841", near)
    best = reading.readings[0]
    assert abs(best.first.year - near) <= 5
    assert sum(one.probability for one in reading.readings if one.first.year != best.first.year) > 0


def test_one_unread_character_leaves_ten_years() -> None:
    reading = read("XR4558 7?21")
    years = {one.first.year for one in reading.readings if one.text == "7?21"}
    assert years >= set(range(1974, 1980))


@pytest.mark.parametrize("code", ["8l31", "l983", "783l"])
def test_a_small_l_among_figures_is_a_one(code: str) -> None:
    """Common practice: typewriters had no 1, and who learned on one still types an l."""
    best = read(f"74LS273N / {code}").best
    plain = read(f"74LS273N / {code.replace('l', '1')}").best
    assert best is not None
    assert plain is not None
    assert (best.first, best.last) == (plain.first, plain.last)


def test_an_unread_week_is_the_whole_year() -> None:
    best = read("QX12 78??").readings[0]
    assert best.first.year in (1977, 1978)
    assert best.last.year in (1978, 1979)
    assert (best.last - best.first).days > 350


def test_too_much_unread_is_said() -> None:
    assert any("unread" in doubt for doubt in read("QX12 7???").doubts)


def test_upside_down_is_flagged_not_guessed() -> None:
    reading = read("QX12 6819")
    assert reading.readings[0].text == "6819"
    assert any("6189" in doubt for doubt in reading.doubts)


def test_a_lost_zero_is_put_back_as_a_doubtful_reading() -> None:
    reading = read("731", 2007)
    assert any(one.first == date(2007, 7, 29) for one in reading.readings)
    restored = [one for one in reading.readings if any("zero" in why for why in one.why)]
    assert all(one.probability < 0.5 for one in restored)


@pytest.mark.parametrize("unread", ["????", "?", "A????", "79????"])
@pytest.mark.parametrize("family", ["2114", "8226", "7805"])
def test_a_family_before_what_cannot_be_read_is_the_part(family: str, unread: str) -> None:
    """Common practice: of a number that a family has and a worn line under it, the worn one is
    where the date was. A memory of the 1970s was not made in 2021."""
    beside = read(f"{family} / {unread}")
    assert beside.no_date > 0.9
    assert beside.no_date > read(family).no_date
    assert beside.tokens[1].taken_for == "unread"


def test_a_code_that_no_family_has_stays_a_date_before_what_cannot_be_read() -> None:
    """Common practice: a part number may be worn while the code is not."""
    best = best_of("7841 / ????")
    assert best.first.year == 1978
    assert best.probability > 0.9


def test_a_code_far_before_its_family_is_hardly_a_date() -> None:
    """First years are from memory, so a year or two early is but doubtful."""
    early, far = read("QX74HC00 / 8041"), read("QX74HC00 / 7041")
    assert early.no_date < 0.5 < far.no_date


def test_a_code_that_leaves_the_decade_open_is_weighed_as_one() -> None:
    reading = read("TK41256-15 / 637B KOREA")
    best = reading.best
    assert best is not None
    assert best.probability < reading.no_date < 0.5
    assert (best.first.year % 10, best.text) == (6, "637")


@pytest.mark.parametrize(
    ("seen", "meant"), [("78O4", "7804"), ("7B41", "7841"), ("I978", "1978"), ("8O4I", "8041")]
)
def test_letters_that_look_like_figures_are_tried(seen: str, meant: str) -> None:
    """0/O/D, 1/I, 5/S, 8/B, 2/Z, 6/G under a loupe."""
    true = read(f"QX12 {meant}").readings[0]
    spans = {(one.first, one.last): one.probability for one in read(f"QX12 {seen}").readings}
    assert (true.first, true.last) in spans
    assert spans[true.first, true.last] < true.probability


def test_nothing_is_read_from_the_future() -> None:
    today = date(1979, 6, 1)
    reading = read_marking("QX12 841 8412 7930", today=today)
    assert reading.readings
    assert all(one.first <= today for one in reading.readings)


def test_years_bound_the_readings() -> None:
    reading = read_marking("QX12 841", years=(1975, 1985), today=TODAY)
    assert reading.readings[0].first.year == 1978
    assert all(1974 <= one.first.year <= 1986 for one in reading.readings)
    assert read_marking("QX12 841", years=(1990, 1980), today=TODAY).readings == ()


def test_reading_explains_itself() -> None:
    reading = read("SN7432N 7841 JAPAN")
    kinds = [(token.text, token.taken_for) for token in reading.tokens]
    assert kinds == [("SN7432N", "part number"), ("7841", "date"), ("JAPAN", "country")]
    assert all(token.why for token in reading.tokens)
    assert reading.readings[0].why


def test_many_are_read_as_each_is() -> None:
    markings = [*mutated(300, 7), "SN7432N 7841", "SN7432N 7841"]
    reader.forget()
    one_by_one = [read(marking, 1984) for marking in markings]
    reader.forget()
    together = list(read_markings(markings, near=1984, today=TODAY))
    assert together == one_by_one
    assert [one.tokens for one in together] == [one.tokens for one in one_by_one]


@pytest.mark.parametrize("near", [None, 1984])
def test_a_token_is_read_as_its_numbers_say_whichever_of_its_kind_came_first(
    near: int | None,
) -> None:
    markings = mutated(200, 13)
    reader.forget()
    one_after_the_other = [read(marking, near) for marking in markings]
    for marking, found in zip(markings, one_after_the_other, strict=True):
        reader.forget()
        assert read(marking, near) == found, marking


def test_weights_are_fitted_on_the_odds_that_are_read() -> None:
    """The sums of the fit give the reader's 'no date', but for readings left out as negligible."""
    cases = [Case("invented", marking, 1984, None, "") for marking in mutated(200, 17)]
    design = Design(cases)
    odds = np.log([weights()[key] for key in design.keys])
    every = np.exp(design.offsets + design.matrix @ odds)
    for case, begin, end in zip(cases, design.bounds, design.bounds[1:], strict=False):
        no_date = every[begin] / every[begin:end].sum()
        left_out = read_case(case, case.near).no_date - no_date
        assert -1e-9 < left_out < min(NEGLIGIBLE * (end - begin), 0.01), case.marking


@pytest.mark.parametrize("near", [None, 1984])
def test_the_best_reading_is_the_first_whichever_is_asked_for_first(near: int | None) -> None:
    for marking in mutated(1000, 11):
        reader.forget()
        best = read(marking, near).best
        reader.forget()
        whole = read(marking, near)
        first = whole.readings[0] if whole.readings else None
        code = [one for one in whole.readings if first and one[5:7] == first[5:7]]
        told = sum(one.probability for one in code if first and one.scheme == first.scheme)
        assert best == (first if told > whole.no_date else None), marking


def test_what_was_read_before_changes_nothing() -> None:
    """Readings are kept by what bounds them, and house schemes take part each time."""
    house = house_of({"name": "studio A", "pattern": "K{year1}{week}-##"})
    marking = "QX12 K841-07"
    plain, housed = read(marking), read_marking(marking, today=TODAY, houses=[house])
    assert plain != housed
    assert read(marking) == plain
    assert read_marking(marking, today=TODAY, years=(1980, 1989)).readings != plain.readings
    assert read_marking(marking, today=TODAY, houses=[house]) == housed


def test_a_reading_is_kept_from_the_second_time_on() -> None:
    reader.forget()
    first, second, third = read_markings(["QX12 7841"] * 3, today=TODAY)
    assert first == second
    assert first is not second
    assert third is second


class Overtaken(MarkingReading):
    """A reading that another thread has read to the end when this one first asks for a part."""

    _text = ""
    _is_overtaken = False

    @property
    def marking(self) -> str:
        if not self._is_overtaken:
            self._is_overtaken = True
            assert self.readings
        return self._text

    @marking.setter
    def marking(self, text: str) -> None:
        self._text = text


def test_a_reading_that_threads_share_is_the_same_to_both() -> None:
    def first_of(_: str, kept: tuple[Reading, ...], most: int) -> tuple[Reading, ...]:
        return kept[:most]

    plain = read("QX12 841")
    asked = [
        Overtaken.given_later("QX12 841", plain.no_date, explain, first_of, plain.readings)
        for _ in range(2)
    ]
    assert asked[0].best == plain.best
    assert asked[1].readings == plain.readings


def test_lines_are_counted() -> None:
    tokens = read("QX12\n7841 / JAPAN").tokens
    assert [(token.text, token.line) for token in tokens] == [
        ("QX12", 0), ("7841", 1), ("JAPAN", 2),
    ]  # fmt: skip


def test_a_house_scheme_takes_part() -> None:
    house = house_of({"name": "studio A", "pattern": "Q{week}{year1}*", "years": "1976/1984"})
    plain = read("XR555 Q418X")
    housed = read_marking("XR555 Q418X", today=TODAY, houses=[house])
    assert plain.best is None or plain.best.first.year != 1978
    assert housed.best is not None
    assert housed.best.scheme == "house: studio A"
    assert {one.first.year for one in housed.readings if "house" in one.scheme} == {1978}


def well_formed(marking: str, reading: MarkingReading) -> None:
    assert math.isclose(
        math.fsum(one.probability for one in reading.readings) + reading.no_date, 1.0, abs_tol=1e-9
    )
    assert len(reading.readings) <= MOST_READINGS
    assert len({(one.first, one.last) for one in reading.readings}) == len(reading.readings)
    falling = [one.probability for one in reading.readings]
    assert falling == sorted(falling, reverse=True)
    for one in reading.readings:
        assert 0 < one.probability <= 1
        assert one.first <= one.last
        assert one.first <= TODAY
        assert one.text == marking[one.start : one.end]
    for token in reading.tokens:
        assert token.text
        assert 0 <= token.start < token.end <= len(marking)


@given(st.text(max_size=60))
def test_any_text_is_read_without_complaint(text: str) -> None:
    well_formed(text, read(text))


@given(st.lists(st.text("0123456789ABCDEKO?'-/.©", min_size=1, max_size=9), max_size=6))
def test_anything_like_a_marking_is_read_without_complaint(tokens: list[str]) -> None:
    marking = " ".join(tokens)
    well_formed(marking, read(marking))


@given(st.text(max_size=30), st.integers(1900, 2200), st.integers(1900, 2200))
def test_any_bounds_are_taken(text: str, near: int, edge: int) -> None:
    read_marking(text, near=near, years=(1960, edge), today=TODAY)


def mutated(count: int, seed: int) -> list[str]:
    """Random markings, and true ones with characters changed, dropped, doubled or moved."""
    draw = random.Random(seed)
    alphabet = (
        "0123456789" * 3 + "ABCDEFGHIJKLMNOPQRSTUVWXYZabcmx?'’-/.,:;()[]©ⓂΩµ７Ａ\t\n\x00\u2028٣ß"
    )
    schemes = all_schemes()
    parts = ("SN7432N", "TK4116-3", "XR555", "QX12", "8255A", "LM7805CT", "JAPAN", "(C)", "LOT")
    made = []
    for _ in range(count):
        if draw.random() < 0.4:
            made.append("".join(draw.choices(alphabet, k=draw.randrange(24))))
            continue
        day = date(1960, 2, 1).toordinal() + draw.randrange(23000)
        pieces = [draw.choice(parts), draw.choice(schemes).write(date.fromordinal(day))]
        draw.shuffle(pieces)
        marking = list(draw.choice((" ", "  ", "\n", " / ")).join(pieces))
        for _ in range(draw.randrange(4)):
            at = draw.randrange(len(marking))
            marking[at] = draw.choice(("", draw.choice(alphabet), marking[at] * 2))
        made.append("".join(marking))
    return made


def read_all(count: int, seed: int) -> None:
    for marking in mutated(count, seed):
        reading = read(marking)
        total = math.fsum(one.probability for one in reading.readings) + reading.no_date
        assert abs(total - 1.0) < 1e-9, marking


def test_random_and_mutated_markings_never_raise() -> None:
    read_all(10_000, 1978)


@pytest.mark.calibration
def test_a_million_random_and_mutated_markings_never_raise() -> None:
    for seed in range(20):
        read_all(50_000, seed)
        reader.forget()


@pytest.mark.parametrize(
    "piece",
    ["7841 ", "9" * 50, "A1" * 30 + " ", "QX4558 7?21 ", "(((((", "?" * 40, "8'3", "© 1979 ",
     "ﷺ",
     "1-1-1-1-", "12 10 78 ", "\n7", "NOV 78 "],
)  # fmt: skip
def test_cost_is_linear_and_capped(piece: str) -> None:
    """Ten times the text costs at most about ten times as much; what is beyond the cap, nothing."""

    def cost(length: int) -> float:
        text = (piece * (length // len(piece) + 1))[:length]
        best = math.inf
        for _ in range(3):
            start = time.process_time()
            read(text)
            best = min(best, time.process_time() - start)
        return best

    read((piece * LONGEST)[:LONGEST])
    short, long, huge = cost(LONGEST // 10), cost(LONGEST), cost(LONGEST * 10)
    assert long < 40 * short + 0.02
    assert huge < 4 * long + 0.02


def test_what_is_beyond_the_cap_is_said() -> None:
    assert any("first 4000 characters" in doubt for doubt in read("7" * 5000).doubts)


@pytest.mark.parametrize(("marking", "first"), [("12.86", "1986-12-01"), ("09.81", "1981-09-01")])
def test_two_figures_a_dot_and_the_year_are_a_month(marking: str, first: str) -> None:
    """Common practice; a week is written with a stroke."""
    best = best_of(f"QX12 {marking}")
    assert (best.scheme, best.first.isoformat()) == ("month_year", first)


def test_one_figure_a_dot_and_two_are_a_month_only_where_they_are_no_week() -> None:
    schemes = {one.scheme for one in read("QX12 7.83").readings}
    assert "month_year" in schemes
    assert "month_year" not in {one.scheme for one in read("QX12 8.41").readings}
    assert read("5.60").best is None  # As likely a value.


@pytest.mark.parametrize(
    ("marking", "text"),
    [
        ("47UF 63V / 8513(M)", "8513"),
        ("QX18F45-I/P / 09317RT", "0931"),
        ("QX3030 TM / PQ84QAB9214", "9214"),
    ],
)
def test_what_follows_or_stands_before_year_and_week(marking: str, text: str) -> None:
    """Common practice: capacitors, microcontrollers, programmable logic."""
    best = best_of(marking)
    assert best.text == text


@pytest.mark.parametrize(
    ("marking", "text"),
    [("PGM 1235 / MAY 1985", "MAY 1985"), ("PGM 1235 / 14 JUN 1984", "14 JUN 1984")],
)
def test_a_month_by_name_with_the_full_year_outweighs_a_number(marking: str, text: str) -> None:
    best = best_of(marking)
    assert best.text == text
    assert best.probability > 0.7


@pytest.mark.parametrize("marking", ["220-240V 50HZ", "INPUT 100-120V 50-60HZ 1.5A"])
def test_a_range_is_a_quantity(marking: str) -> None:
    """Usual rated voltages and frequencies of supplies."""
    assert read(marking).best is None


def test_a_number_sign_is_no_part_of_a_date() -> None:
    best = best_of("QXX7026 / #8143")
    assert best.text == "8143"


def test_figures_from_a_spreadsheet_are_read_as_if_they_were_marked() -> None:
    best = best_of("SN7400N / 7841.0")
    assert (best.text, best.first) == ("7841", date(1978, 10, 8))
    assert read("7432.0").best is None  # A gate by itself, as 7432 is.


@pytest.mark.parametrize(
    ("marking", "first"),
    [
        ("К155ЛА3 / 0786", "1986-07-01"),
        ("KR580VM80A 0989", "1989-09-01"),
        ("РЭС-12 / 0877", "1977-08-01"),
        ("К50-6 200мкФ 25В / 0584", "1984-05-01"),
        ("П213А / 5.72", "1972-05-01"),
    ],
)
def test_parts_with_cyrillic_letters_bear_month_and_year(marking: str, first: str) -> None:
    """Common practice; in Latin letters as well, where the numbering is known."""
    best = best_of(marking)
    assert best.first.isoformat() == first


def test_year_and_week_on_a_part_with_cyrillic_letters_stay_so() -> None:
    best = best_of("К561ЛА7 / 8736")
    assert best.scheme == "year_week"


def test_a_letter_and_figures_beside_a_flame_class_are_the_number_of_a_file() -> None:
    """IEC 60695-11-10: classes V-0 to V-2. The file of the maker is common practice."""
    assert read("94V-0 E63217").best is None
    best = best_of("94V-0 E63217 8436")
    assert best.text == "8436"


def test_a_bare_board_bears_no_part_number() -> None:
    assert read("94V-0 7820").no_date < 0.1 < read("7820").no_date


def test_a_bare_board_bears_week_and_year_as_well() -> None:
    best = best_of("94V-0 / 2988")
    assert (best.scheme, best.first.year) == ("week_year", 1988)


@pytest.mark.parametrize(
    ("marking", "text"),
    [
        ("22uF 25V / K9", "K9"),
        ("33u 16V S8", "S8"),
        ("5.0688 MHz 30pF / 0481", "0481"),
        ("4u7 63V 7.83", "7.83"),
    ],
)
def test_a_code_behind_values(marking: str, text: str) -> None:
    """IEC 60062: two signs on capacitors; week or month before year is common practice."""
    best = best_of(marking)
    assert best.text == text


def test_the_safety_class_of_a_capacitor_is_no_date() -> None:
    """IEC 60384-14: classes X1 to Y4."""
    assert read("0.1uF 275V~ / X2").best is None


def test_signs_that_do_not_touch_the_values_are_no_date() -> None:
    assert read("24VDC 10A / A1 A2").no_date > read("24VDC 10A / A2").no_date


@pytest.mark.parametrize(
    ("marking", "first", "last"),
    [
        ("WEEK 23 1984", "1984-06-04", "1984-06-10"),
        ("WK 5 1982", "1982-02-01", "1982-02-07"),
        ("12.KW 86", "1986-03-17", "1986-03-23"),
        ("38. KW 1983", "1983-09-19", "1983-09-25"),
        ("KW 12/86", "1986-03-17", "1986-03-23"),
    ],
)
def test_a_week_by_name(marking: str, first: str, last: str) -> None:
    """The weeks are those of ISO 8601-1:2019."""
    best = best_of(marking)
    assert best.first <= date.fromisoformat(first)
    assert date.fromisoformat(last) <= best.last
    assert best.probability > 0.5


def test_month_and_full_year_stay_a_month() -> None:
    best = best_of("12/1984")
    assert best.scheme == "month_year"


def test_figures_and_a_letter_that_stand_first_are_more_likely_the_part() -> None:
    first, last = read("2241C 3107"), read("3107 2241C")
    assert first.readings[0].text == last.readings[0].text == "2241"
    assert first.no_date > 1.5 * last.no_date
    assert any("stand first" in why for why in first.readings[0].why)


@pytest.mark.parametrize(
    "marking", ["RN55C 7151 F", "RN55D 1003F", "CRCW1206 8201", "MR25 8202 1%"]
)
def test_the_value_of_a_film_resistor_is_no_date(marking: str) -> None:
    """IEC 60062: three figures and the power of ten; behind the type on MIL parts
    (memory)."""
    assert read(marking).best is None


@pytest.mark.parametrize("marking", ["RN60D 4992F 8215", "RN55C1002F 8215", "RN55C / 8215"])
def test_the_date_of_a_film_resistor_stands_behind_the_value(marking: str) -> None:
    best = best_of(marking)
    assert best.text == "8215"


def test_the_number_of_a_body_is_no_date() -> None:
    """Decision 768/2008/EC: the number of the notified body follows the CE marking
    (memory)."""
    assert read("CE 0123").best is None
    best = best_of("DC 5V 2A / CE / 0312")
    assert best.text == "0312"


def test_the_decade_of_what_is_hardly_a_date_is_no_doubt() -> None:
    reading = read("U3 P/N 4021-7745")
    assert reading.no_date > 0.8
    assert reading.doubts == ()


def test_a_doubt_of_the_decade_asks_for_the_other_parts_only() -> None:
    """The first year of a part that is known is counted in already."""
    said = "742 leaves the decade open; the other parts settle it."
    assert said in read("22uF 16V 742").doubts


@pytest.mark.parametrize(
    ("code", "left"),
    [("9?17", "year"), ("79?1", "week or month"), ("7?41", "year"), ("?917", "decade")],
)
def test_a_doubt_says_what_of_the_date_is_open(code: str, left: str) -> None:
    """Of four figures for year and week (common practice) one unread is left open."""
    assert (
        f"{code} leaves the {left} open; the other parts settle it." in read(f"QX12 {code}").doubts
    )


@pytest.mark.parametrize("code", ["801", "852", "253", "9K"])
def test_the_first_and_last_weeks_leave_but_the_decade_open(code: str) -> None:
    said = f"{code} leaves the decade open; the other parts settle it."
    assert said in read(f"2SC2564 / {code}").doubts


def test_what_fits_a_scheme_beside_no_date_is_told_as_that() -> None:
    token = read("REV 8412").tokens[1]
    assert (token.taken_for, token.why) == (
        "possible date",
        "figures only; fits a scheme, but is more likely none",
    )


@pytest.mark.parametrize("marking", ["7404\nFRANCE", "QUEXI\n7410", "P8048H\n© QUEXI 1977", "2114"])
def test_the_only_number_on_a_part_is_its_part_number_where_a_family_has_it(marking: str) -> None:
    """Every part has a number, and a family is known by this one: common practice."""
    assert read_marking(marking).best is None
    assert read_marking(f"{marking}\n8145").best.text == "8145"  # type: ignore[union-attr]


def test_of_decades_that_are_as_probable_the_one_about_1985_comes_first() -> None:
    readings = read_marking("QX4558 544", today=date(2026, 1, 1)).readings
    assert len({one.probability for one in readings[:4]}) == 1
    assert [one.first.year for one in readings[:4]] == [1985, 1975, 1995, 2005]


def test_a_decade_that_is_known_comes_first_whatever_is_usual() -> None:
    best = read_marking("QX4558 544", near=2003, today=date(2026, 1, 1)).best
    assert best
    assert best.first.year == 2005


def test_threads_that_meet_the_same_tokens_first_number_their_roles_alike() -> None:
    """Each thread waits where a role is made until the others have come there too."""
    markings = ["QX4558 7841", "© 1984 QX", "W1 7841 JAPAN"]
    expected = [str(read_marking(one)) for one in markings]
    made, roles = surroundings.Role, list(surroundings._roles)
    gathered = Barrier(3)

    def slowly(*fields: Any) -> surroundings.Role:
        with suppress(BrokenBarrierError):
            gathered.wait(0.02)
        return made(*fields)

    def read_all(found: list[str]) -> None:
        found += [str(read_marking(one)) for one in markings]

    for store in (surroundings.met, surroundings._numbers, surroundings._roles):
        store.clear()
    surroundings._copyright_signs.clear()
    reader.forget()
    found: list[list[str]] = [[], [], []]
    threads = [Thread(target=read_all, args=(one,)) for one in found]
    with patch.object(surroundings, "Role", slowly):
        for thread in threads:
            thread.start()
        for thread in threads:
            thread.join()
    assert found == [expected] * 3
    assert len(surroundings._roles) == len(set(surroundings._roles)) <= len(roles)


@pytest.mark.parametrize(
    ("marking", "text"),
    [("C8080A H8048B", "8048"), ("7805CT H8017B", "8017"), ("8017 7805CT", "8017")],
)
def test_of_two_numbers_of_families_the_first_is_the_part_if_it_is_written_as_much_like_one(
    marking: str, text: str
) -> None:
    """Common practice: the part number stands above the date; letters behind it are its package."""
    best = read(marking).best
    assert best
    assert best.text == text


@pytest.mark.parametrize(
    ("marking", "first"),
    [
        ("MC6809EP\nR5B\nQQ8350", "1983-12-04"),
        ("MC14013BCP\nQQJC8829", "1988-07-10"),
        ("MC68000P8\n4G38M\nQQQL8702", "1987-01-04"),
    ],
)
def test_letters_with_year_and_week_behind_the_part_number_are_the_date(
    marking: str, first: str
) -> None:
    """Common practice, though 8300 and 8800 are families too, and the mask's number fits a code."""
    best = best_of(marking)
    assert str(best.first) == first
    assert best.probability > 0.5


def test_letters_and_figures_that_stand_alone_stay_a_part_number() -> None:
    assert read("QQ8350").no_date > 0.9


@pytest.mark.parametrize("marking", ["C1815\nGR 6G", "2SK30A\nGR 6G", "A1015\nY 6G"])
def test_a_small_transistor_bears_year_figure_and_month_letter(marking: str) -> None:
    """Common practice for parts of 2S numbering."""
    reading = read(marking)
    decades = [one for one in reading.readings if one.text == "6G" and one.first.month == 7]
    assert {one.first.year for one in decades} >= {1976, 1986, 1996}
    assert sum(one.probability for one in decades) > reading.no_date


@pytest.mark.parametrize(
    "marking", ["D2764\n(C) MAKER '81", "P8035L\n© MAKER '77", "8284A © THE MAKER '78"]
)
def test_a_year_with_an_apostrophe_behind_a_copyright_sign_is_a_design_year(marking: str) -> None:
    assert read(marking).best is None
    assert [token.taken_for for token in read(marking).tokens][-1] == "copyright year"


def test_year_and_month_are_as_usual_as_a_week_on_parts_with_cyrillic_letters() -> None:
    """Common practice: both are met. Twelve may be either; nobody can tell from one part."""
    reading = read("К565РУ5Г\n8412")
    assert [str(one.first) for one in reading.readings[:2]] == ["1984-12-01", "1984-03-18"]
    assert all(0.3 < one.probability < 0.7 for one in reading.readings[:2])


def test_a_number_below_the_parts_that_can_be_week_and_year_only() -> None:
    """Common practice: below the number of a part stands its date."""
    assert str(best_of("QVX1227-03\n1684").first) == "1984-04-15"
    assert str(best_of("SN7432N\n7831").first) == "1978-07-30"


def test_a_serial_number_counts_its_years_from_1960() -> None:
    """Common practice of laboratory instruments: memory. Beyond its years it is a lot."""
    assert str(best_of("10851-60151\n2532A04567").first) == "1985-08-04"
    assert str(best_of("SN7432N\n9245A01234").first) == "1992-11-01"


@pytest.mark.parametrize("marking", ["QD1234\nQAAXAB9508", "SN7432N\nW99G8824\nSINGAPORE"])
def test_a_long_lot_may_end_with_year_and_week(marking: str) -> None:
    assert best_of(marking).scheme == "year_week_plant"


@pytest.mark.parametrize("marking", ["104", "473", "107\n10V"])
def test_three_figures_that_are_a_value_by_themselves_are_rather_no_date(marking: str) -> None:
    """IEC 60062 writes values of small parts so; common practice."""
    assert read(marking).no_date > 0.4
    assert read("841").no_date < 0.1


def test_a_place_on_the_board_is_no_date() -> None:
    """IEEE 315 and common practice: letters of its kind, and a number."""
    for place in ("IC14", "JP2", "TR84", "VR8301"):
        assert read(place).best is None
        assert read(place).tokens[0].taken_for == "place"


@pytest.mark.parametrize("marking", ["S8050 D", "S9013", "A1015 GR"])
def test_a_number_that_is_listed_with_its_letter_is_the_part(marking: str) -> None:
    reading = read(marking)
    assert reading.best is None
    assert "transistor" in reading.tokens[0].why


def test_year_and_day_behind_the_word_for_a_date() -> None:
    assert str(best_of("DATE 88213").first) == "1988-07-31"
    assert best_of("DATE 8821").scheme == "year_week"


def test_what_cannot_be_read_between_figures_is_rather_a_figure() -> None:
    assert best_of("LM339N\nP86?1").scheme == "year_week_plant"


def test_a_code_that_is_a_later_familys_number_too_dates_the_part_before_it() -> None:
    """6811 is a processor of 1985; on a part of 1968 it can be the week alone."""
    best = best_of("MC830P\n6811")
    assert str(best.first) == "1968-03-10"


@pytest.mark.parametrize(
    ("marking", "first", "last"),
    [
        ("LY2\nDC24V\n昭和58年10月", "1983-10-01", "1983-10-31"),
        ("1987年製", "1987-01-01", "1987-12-31"),
        ("平成元年3月", "1989-03-01", "1989-03-31"),
    ],
)
def test_year_and_month_in_japanese(marking: str, first: str, last: str) -> None:
    """JIS X 0301: Showa 1 is 1926, Heisei 1 is 1989."""
    best = best_of(marking)
    assert (str(best.first), str(best.last)) == (first, last)


def test_a_country_in_three_letters_bounds_the_decade() -> None:
    """The letters of ISO 3166 came to packages about 2000: memory."""
    years = {one.first.year for one in read("L7805CV\nCC0UP V5\nCHN 412").readings[:3]}
    assert years == {2004, 2014, 2024}
    assert {one.first.year for one in read("L7805CV\nKOREA 412").readings[:5]} >= {1984, 1994}


def test_memories_of_a_numbering_with_a_leading_5_bear_lots_of_six_figures() -> None:
    """Memory; other lots of six figures stay undated."""
    assert best_of("M5L2764K\n424103").scheme == "short_year_week_lot"
    assert read("AM2764DC\n424103").best is None


@pytest.mark.parametrize("marking", ["INSPECTED\nAUG 17 1979", "AUG 17, 1979", "17 AUG 1979"])
def test_a_day_before_or_behind_the_months_name(marking: str) -> None:
    assert str(best_of(marking).first) == "1979-08-17"


def test_with_a_gap_year_and_week_are_the_usual() -> None:
    assert str(best_of("74LS161AN 84 07").first) == "1984-02-12"
    assert str(best_of("BR2325 84-07").first) == "1984-07-01"  # As on a battery.


def test_east_european_circuits_bear_year_letter_and_month() -> None:
    """IEC 60062: X is 1989, after DIN 41314. Common practice of that numbering."""
    assert str(best_of("U880D X1").first) == "1989-01-01"


def test_month_and_year_with_a_gap_on_a_part_with_cyrillic_letters() -> None:
    assert str(best_of("К50-6 50мкФ 16В\nXI 79").first) == "1979-11-01"


def test_of_two_codes_the_first_is_rather_the_parts() -> None:
    assert best_of("M1543C\nB1 9852 TH17").text == "9852"
