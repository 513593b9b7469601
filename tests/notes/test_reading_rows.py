"""Rows of readings: whatever is marked, they are CSV, and say what the reading says."""

from __future__ import annotations

import csv
import io
from datetime import date

import pytest
from hypothesis import given
from hypothesis import strategies as st

from provenance.markings.houses import House
from provenance.markings.reader import read_marking, read_markings
from provenance.notes import reading_rows
from provenance.notes.reading_rows import COLUMNS, read_rows, write_rows
from provenance.notes.spreadsheet import cell

TODAY = date(2026, 1, 1)
markings = st.text(st.sampled_from(list("7841NH ,;\"'=+-@\\t/\r\n\x1b'Ω?")), max_size=24)


def rows_of(*texts: str) -> list[list[str]]:
    out = io.StringIO()
    write_rows([read_marking(text, today=TODAY) for text in texts], out.write)
    return list(csv.reader(io.StringIO(out.getvalue()), strict=True))


@given(texts=st.lists(markings | st.sampled_from(['7841, "B"', "LF353N 7,841", "X 7841"])))
def test_rows_are_csv_whatever_is_marked(texts: list[str]) -> None:
    """RFC 4180: a cell with a comma, a quotation mark or a line end stands in quotation marks."""
    header, *rows = rows_of(*texts)
    assert tuple(header) == COLUMNS
    assert [row[0] for row in rows] == [str(number) for number in range(1, len(texts) + 1)]
    for text, row in zip(texts, rows, strict=True):
        best = read_marking(text, today=TODAY).best
        assert row[1] == cell(text)
        assert row[2] == (cell(best.text) if best else "")
        assert row[4:6] == ([best.first.isoformat(), best.last.isoformat()] if best else ["", ""])


@pytest.mark.parametrize("name", ["ours", 'ours, "the old one"'])
def test_the_name_of_a_house_scheme_stays_one_cell(name: str) -> None:
    house = House(name, "K{year1}{week}")
    out = io.StringIO()
    write_rows([read_marking("K841", houses=[house], today=TODAY)], out.write)
    _, row = csv.reader(io.StringIO(out.getvalue()), strict=True)
    assert row[3] == f"house: {name}"


@pytest.mark.parametrize("as_json", [False, True])
@pytest.mark.parametrize("count", [0, 3, 5, 6, 40])
def test_several_processes_write_the_rows_that_one_writes(
    monkeypatch: pytest.MonkeyPatch, count: int, as_json: bool
) -> None:
    monkeypatch.setattr(reading_rows, "ALONE", 5)
    monkeypatch.setattr(reading_rows, "BLOCK", 3)
    markings = [f'QX74{number:02} "{7800 + number}", A' for number in range(count)]
    by_one, by_three = io.StringIO(), io.StringIO()
    read_rows(markings, read_markings, by_one.write, as_json=as_json)
    read_rows(markings, read_markings, by_three.write, as_json=as_json, processes=3)
    assert by_three.getvalue() == by_one.getvalue()
    assert by_one.getvalue().count("\n") == count + (not as_json)
