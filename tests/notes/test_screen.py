"""The answer on the screen."""

from __future__ import annotations

import re

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from rich.cells import cell_len

from provenance.errors import ProvenanceError
from provenance.inference import date_board
from provenance.markings.schemes import year_week
from provenance.notes import words
from provenance.notes.note import note
from provenance.notes.reasons import why_text
from provenance.notes.screen import NARROWEST, screen_text
from provenance.survey.model import Survey
from tests.notes import boards
from tests.notes.strategies import cases

ANSI = re.compile(r"\x1b\[[0-9]*m")
SLOW = settings(max_examples=20, suppress_health_check=[HealthCheck.too_slow])


def test_lines_fit_80_columns(case: boards.Case) -> None:
    assert max(map(cell_len, screen_text(*case).splitlines())) <= 80


@SLOW
@given(cases(), st.integers(NARROWEST, 140))
def test_lines_fit_any_width_and_hold_no_control_character(case: boards.Case, width: int) -> None:
    text = screen_text(*case, width=width)
    for line in text.split("\n"):
        assert cell_len(line) <= width
        assert all(c.isprintable() for c in line)


@SLOW
@given(cases())
def test_colour_changes_nothing_but_colour(case: boards.Case) -> None:
    coloured = screen_text(*case, colour=True)
    assert ANSI.sub("", coloured) == screen_text(*case)


def test_the_summary_comes_first_then_the_parts_then_the_grounds(
    synthesiser: boards.Case,
) -> None:
    text = screen_text(*synthesiser)
    places = [
        text.index(said)
        for said in (
            "Built between April and June 1979: very likely (90%)",
            "Later work: interface board (U30 to U32): extremely likely (97%)",
            "U14 replaced on its own",
            "Part Marking",
            "What the result rests on",
            "What else it could be",
            "What to look at next",
        )
    ]
    assert places == sorted(places)


def test_every_part_has_a_row(case: boards.Case) -> None:
    text = screen_text(*case)
    for part in case.finding.parts:
        assert re.search(rf"(?m)^[ *?+] {re.escape(words.visible(part.ref))} ", text)


def test_a_board_that_nothing_dates_is_not_given_a_date() -> None:
    text = screen_text(*boards.undated())
    assert "no build date can be given" in " ".join(text.split())
    assert "Built between" not in text
    assert "likely to be original" not in text


def test_known_works_are_told() -> None:
    text = " ".join(screen_text(*boards.synthesiser()).split())
    assert "in May 2026, capacitors replaced (C7 and C8), by the present owner" in text


def test_inspection_advice_carries_the_cautions() -> None:
    text = " ".join(screen_text(*boards.synthesiser()).split())
    for danger in ("unplugged", "discharged", "qualified people", "leaking", "lead", "static"):
        assert danger in text


def test_why_of_a_part_gives_each_weight_in_words_and_decibans() -> None:
    text = " ".join(why_text(*boards.synthesiser(), ref="U14").split())
    assert "decisive evidence for later (-24 decibans): 8431 is five years after" in text
    assert "slight evidence for later (-1.5 decibans)" in text


def test_why_of_the_board_says_what_carries_it_and_compares_the_accounts() -> None:
    text = " ".join(why_text(*boards.synthesiser()).split())
    assert "Without the inspection stamp 1979-05, the build would fall between" in text
    assert "odds 1.4 to 1" in text
    assert "The marking of U42: slight evidence for account 1 (+4.2 decibans)" in text


def test_why_of_the_board_tells_parts_together_that_differ_only_in_their_dates() -> None:
    text = " ".join(why_text(*boards.synthesiser()).split())
    assert text.count("soldered like its neighbours") == 1
    assert "U1 to U3, control: original, extremely likely (each at least 96%)" in text
    for ref in ("U1 (NV8080A / 7912)", "U2 (NV2716 / 7914)", "U3 (NV74LS138 / 7909)"):
        assert f"{ref}: 79" in text
    assert "one bit halves" in text


def test_why_says_a_scheme_by_its_name() -> None:
    """The scheme's own module is where its name stands."""
    finding, survey = boards.synthesiser()
    read = finding.parts[0].reading
    assert read
    part = finding.parts[0].model_copy(
        update={"reading": read.model_copy(update={"scheme": year_week.KEY})}
    )
    found = finding.model_copy(update={"parts": (part,)})
    assert f"was read as {year_week.NAME}" in " ".join(why_text(found, survey).split())


def test_a_part_that_a_recorded_work_names_is_marked_as_such() -> None:
    finding, survey = boards.synthesiser()
    work = survey.works[0].model_copy(update={"parts": ("U14",), "done": "contacts cleaned"})
    text = screen_text(finding, survey.model_copy(update={"works": (work,)}))
    assert re.search(r"(?m)^\+ U14 .* recorded work$", text)
    assert "+ a recorded work names it" in text


def test_a_part_whose_year_is_open_is_not_called_undated() -> None:
    """Common practice: of ``9?17`` the decade can be read, so the part bears a date."""
    parts = {f"U{n}": f"74LS{100 + 3 * n}N / {8148 + n % 3}" for n in range(1, 7)}
    swapped = {"marking": "74LS04N / 9?17", "joints": "hand"}
    main = {"mount": "soldered", "joints": "factory", "parts": parts | {"U9": swapped}}
    survey = Survey.model_validate({"today": "2026-01-01", "sections": {"main": main}})
    finding = date_board(survey)
    part = next(part for part in finding.parts if part.ref == "U9")
    assert part.no_date < 0.1
    said = screen_text(finding, survey)
    assert re.search(r"U9 +74LS04N / 9\?17 +several dates +[0-9]{2}% replaced", said)
    why = why_text(finding, survey, "U9")
    assert "Several dates fit the marking" in why
    for told in (said, why, *(note(finding, survey, kind, "txt") for kind in ("listing", "owner"))):
        assert "o date" not in told


def test_why_of_an_unknown_part_names_the_parts_there_are() -> None:
    with pytest.raises(ProvenanceError, match="no part 'U99'"):
        why_text(*boards.synthesiser(), ref="U99")


@SLOW
@given(cases())
def test_reasons_hold_no_control_character(case: boards.Case) -> None:
    for line in why_text(*case).split("\n"):
        assert all(c.isprintable() for c in line)


def test_reasons_fit_the_screen_where_characters_are_twice_as_wide() -> None:
    """Unicode Standard Annex 11: ideographs take two columns."""
    finding, survey = boards.all_original()
    part = finding.parts[0].model_copy(update={"marking": "日本" * 60})
    wide = finding.model_copy(update={"parts": (part, *finding.parts[1:])})
    text = why_text(wide, survey)
    assert text.count("日") == 60
    assert max(map(cell_len, text.splitlines())) <= 80
