"""The notes: what they say, how long they are, and that they claim no more than they may."""

from __future__ import annotations

import ast
import inspect
import re
from html.parser import HTMLParser
from pathlib import Path
from typing import get_args, get_type_hints

import pytest
from hypothesis import HealthCheck, given, settings
from markdown_it import MarkdownIt
from rich.cells import cell_len

from provenance import cli
from provenance.errors import ProvenanceError
from provenance.inference import contradictions, warnings
from provenance.inference import finding as f
from provenance.inference.board import date_board
from provenance.notes import words
from provenance.notes.grounds import CONFLICTS
from provenance.notes.note import (
    IN_FULL,
    LISTING_WORDS,
    SAID_ANYWAY,
    Purpose,
    note,
    told,
    word_count,
)
from provenance.notes.paper import Format
from provenance.notes.reasons import why_text
from provenance.notes.statements import claims, section_names, standings, summary
from provenance.survey.model import Survey
from tests.notes import boards
from tests.notes.strategies import cases
from tests.notes.test_words import IPCC_2010

PURPOSES: tuple[Purpose, ...] = ("listing", "owner", "archive")
PLAIN_TAGS = {"h1", "h2", "p", "ul", "li", "table", "thead", "tbody", "tr", "th", "td"}
PAGE_TAGS = {"html", "head", "meta", "title", "style", "body", "main", "div"}
FORMATS: tuple[Format, ...] = ("md", "txt", "html")
SLOW = settings(max_examples=20, suppress_health_check=[HealthCheck.too_slow])


class Tags(HTMLParser):
    """The tags and the text of a page, as the standard library's parser sees them."""

    def __init__(self, page: str) -> None:
        super().__init__()
        self.tags: set[str] = set()
        self.text = ""
        self.feed(page)

    def handle_starttag(self, tag: str, attrs: object) -> None:  # noqa: ARG002
        self.tags.add(tag)

    def handle_data(self, data: str) -> None:
        self.text += data


def flat(text: str) -> str:
    return " ".join(text.split())


@pytest.mark.parametrize("form", FORMATS)
@SLOW
@given(case=cases())
def test_a_listing_has_at_most_120_words(case: boards.Case, form: Format) -> None:
    text = note(*case, "listing", form)
    if form == "html":
        text = text[text.index("<main>") : text.index("</main>")]
    assert 10 < word_count(text, form) <= LISTING_WORDS


def test_a_listing_stays_short_with_many_of_everything() -> None:
    finding, survey = boards.synthesiser()
    work = finding.later_works[0]
    named = {"groups": tuple(f"the {word} of many words" for word in "abcdefgh")}
    many = finding.model_copy(
        update={
            "title": "a very long title " * 40,
            "later_works": tuple(
                work.model_copy(update={**named, "probability": p}) for p in (0.6, 0.3) * 20
            ),
            "parts": finding.parts * 5,
        }
    )
    known = survey.works[0].model_copy(update={"done": "much done " * 50, "by": "a person " * 50})
    text = note(many, survey.model_copy(update={"works": (known,) * 30}), "listing", "txt")
    assert word_count(text, "txt") <= LISTING_WORDS
    for said in ("20 later works found", "20 later works not ruled out", "30 works on record"):
        assert said in flat(text)


@SLOW
@given(cases())
def test_a_listing_claims_no_more_than_the_probabilities_bear(case: boards.Case) -> None:
    """Every likelihood word stands beside a number within its IPCC range; the claims of origin
    are no stronger than the weakest part they cover; a board without a date is given none."""
    text = flat(note(*case, "listing", "txt"))
    found = standings(*case)
    for word, number in re.findall(r"(\w[\w ]*?) \(([\d.]+)%\)", text):
        said = [name for name in IPCC_2010 if word.endswith(name)]
        if said:
            low, high = IPCC_2010[max(said, key=len)]
            assert low <= float(number) <= high
    claim = re.search(
        r"recorded parts? (?:is|are) ([a-z ]+) to be original \((?:each )?(?:at least )?"
        r"((?:over )?[\d.]+)%\)",
        text,
    )
    sure = [s.probability for s in found if s.kind == "original" and not s.doubtful]
    if claim:
        assert sure
        assert float(claim[2].removeprefix("over ")) <= 100 * min(sure) + 0.51
        assert IPCC_2010[claim[1]][0] <= 100 * min(sure) + 0.51
    if not case.finding.build.dated:
        assert "no build date is claimed" in text
        assert claim is None
    if re.search("no sign of (other )?later work", text):
        assert all(s.kind == "original" and s.probability >= 0.66 for s in found)
        assert all(w.probability < 0.1 for w in case.finding.later_works)


def test_the_listing_of_the_synthesiser_says_what_was_replaced_and_what_is_open() -> None:
    text = flat(note(*boards.synthesiser(), "listing", "txt"))
    for said in (
        "build between April and June 1979: very likely (90%)",
        "Interface board (U30 to U32) fitted later: extremely likely (97%)",
        "U14 replaced on its own: extremely likely (96%)",
        "On record: capacitors replaced (C7 and C8), in May 2026, by the present owner",
        "U41 not original: extremely likely (95%)",
        "Origin not settled: U42 (original: 42%)",
        "No date taken from U4",
        "One warning about the evidence stands in the full account",
        "Parts not recorded were not checked",
    ):
        assert said in text


def test_a_part_replaced_or_fitted_in_a_later_work_is_told_once() -> None:
    """A work that is not even likely, of one part that may have been replaced on its own."""
    finding, survey = boards.synthesiser()
    origin = finding.parts[0].origin.model_copy(
        update={"original": 0.05, "later_work": 0.2, "replacement": 0.75}
    )
    parts = tuple(
        p.model_copy(update={"origin": origin, "group": "voice cards (socketed)"})
        if p.ref == "U14"
        else p
        for p in finding.parts
    )
    work = finding.later_works[0].model_copy(
        update={"groups": ("voice cards (socketed)",), "parts": ("U14",), "probability": 0.2}
    )
    found = finding.model_copy(update={"parts": parts, "later_works": (work,)})
    for text in (note(found, survey, "listing", "txt"), " ".join(summary(found, survey))):
        said = flat(text)
        assert said.count("U14") == 1
        assert "U14 not original: extremely likely (95%)" in said
    assert "with a work on voice cards (socketed) (20%) or on its own" in said


def test_the_notes_know_warnings_by_words_that_the_inference_says() -> None:
    said = "\n".join(
        node.value
        for module in (warnings, contradictions)
        for node in ast.walk(ast.parse(inspect.getsource(module)))
        if isinstance(node, ast.Constant) and isinstance(node.value, str)
    )
    assert [known for known in (*CONFLICTS, *SAID_ANYWAY) if known.strip() not in said] == []


def test_the_command_line_offers_every_purpose_and_format() -> None:
    choices = get_type_hints(cli.note)
    assert get_args(choices["for_"]) == PURPOSES == get_args(Purpose)
    assert get_args(choices["form"]) == FORMATS == get_args(Format)


def test_a_listing_names_a_conflict_of_evidence_and_counts_the_other_doubts() -> None:
    finding, survey = boards.all_original()
    warned = (
        "The codes lie in two clusters.",
        "The stamp and the document cannot both be right; look at them again.",
        "The serial does not fit.",
    )
    said = "No date could be read on U9, where characters are missing."
    text = flat(note(finding.model_copy(update={"warnings": (*warned, said)}), survey))
    assert "The stamp and the document cannot both be right. Two further warnings about" in text
    assert "look at them again" not in text
    assert "warning" not in note(finding.model_copy(update={"warnings": (said,)}), survey)


@pytest.mark.parametrize(
    ("evidence", "dated"),
    [
        ({"says": "built between", "date": "1982-03/1982-09"}, True),
        ({"says": "in use by", "date": "1983-04"}, False),
    ],
)
def test_of_parts_without_a_date_no_note_says_that_they_are_original(
    evidence: dict[str, str], dated: bool
) -> None:
    """Common practice: a paper dates a board, and says nothing of the chips that are on it now.
    On a board without a date, what a paper says of it is told as what is stated."""
    survey = Survey.model_validate(
        {
            "today": "2026-05-20",
            "production": "1979/1984",
            "sections": {
                "logic": {"mount": "soldered", "parts": {"U1": "KD7400", "U2": "KD7404"}},
                "output": {"mount": "socketed", "parts": {"U3": "KD7406"}},
            },
            "evidence": [{"kind": "document", **evidence}],
        }
    )
    finding = date_board(survey)
    assert finding.build.dated is dated
    for purpose in ("listing", "owner"):
        text = flat(note(finding, survey, purpose, "txt"))
        assert ("Stated: document (in use by 1983-04)" in text) is not dated
        for claim in ("to be original", "sign of later work", "ot ruled out"):
            assert claim not in text
    said = " ".join(summary(finding, survey))
    assert "origins below rest on little more than what was assumed" in said
    for claim in ("to be original", "Not ruled out"):
        assert claim not in said


def test_hand_made_joints_among_factory_ones_are_told_where_the_marks_tell_of_nothing() -> None:
    """Common practice: a donor chip as old as the board is known by its joints alone. Of a
    board that was made by hand throughout they tell nothing."""
    parts = {f"U{n}": f"74LS{100 + 3 * n}N / {8316 + n % 3}" for n in range(1, 8)}
    donor = {"marking": "74LS00N / 8315", "joints": "hand"}

    def surveyed(joints: str, **more: object) -> Survey:
        logic = {"mount": "soldered", "joints": joints, "parts": {**parts, "U9": donor}}
        shape = {"today": "2026-05-20", "trade": "small series", "sections": {"logic": logic}}
        return Survey.model_validate({**shape, **more})

    resoldered = [{"date": "2025", "parts": ["U9"], "done": "resoldered"}]
    for survey, is_told in (
        (surveyed("factory"), True),
        (surveyed("factory", works=resoldered), False),
        (surveyed("hand"), False),
    ):
        finding = date_board(survey)
        assert finding.parts[-1].origin.original > 0.66
        said = " ".join(summary(finding, survey))
        texts = [flat(note(finding, survey, purpose, "txt")) for purpose in ("listing", "owner")]
        for text in (said, *texts):
            assert ("and-made joints" in text.split("What was seen")[0]) is is_told
        for text in texts:
            claim = re.search("o sign of (other )?later work", text)
            assert (claim is None) is is_told


def test_a_date_that_hardly_fits_is_a_sign_of_later_work() -> None:
    """As the trade would have it: who says that one date does not fit does not say that nothing
    speaks of later work, nor that the part bears no date."""
    finding, survey = boards.all_original()
    doubt = "The date on U9 hardly fits the board: either the mark or the part is not what it was."
    warned = finding.model_copy(update={"warnings": (doubt,)})
    for purpose in ("listing", "owner"):
        assert "o sign of later work" in flat(note(finding, survey, purpose, "txt"))
        text = flat(note(warned, survey, purpose, "txt"))
        assert "The date on U9 hardly fits the board" in text
        assert "sign of later work" not in text
        assert "No date" not in text


@pytest.mark.parametrize(
    ("document", "grounds"),
    [("1984", "date codes and board code"), ("1990", "date codes, board code and papers")],
)
def test_a_listing_names_what_puts_the_build_where_it_is(document: str, grounds: str) -> None:
    """Dated by the inference itself, whose warnings this reads: a paper that cannot be right puts
    nothing, and is told as a conflict."""
    survey = Survey.model_validate(
        {
            "board": {"title": "Laboratory counter"},
            "today": "2026-05-20",
            "sections": {
                "counter": {
                    "mount": "soldered",
                    "joints": "factory",
                    "parts": {f"U{n}": f"KD7490 / 86{n:02d}" for n in range(6, 14)},
                }
            },
            "evidence": [
                {"kind": "bare board code", "marking": "8607"},
                {"kind": "document", "says": "in use by", "date": document, "reliability": 0.3},
            ],
        }
    )
    text = flat(note(date_board(survey), survey))
    assert f"Its {grounds} put the build" in text
    assert ("document" in text) == (document == "1984")


@pytest.mark.parametrize(("date", "named"), [(None, False), ("1980-06/1980-12", True)])
def test_a_serial_number_without_a_date_dates_nothing(date: str | None, named: bool) -> None:
    """Common practice: a serial number dates a board only where its range is known."""
    finding, survey = boards.all_original()
    number = {"kind": "serial number", "marking": "00417", "date": date}
    noted = Survey.model_validate({**survey.model_dump(), "evidence": [number]})
    assert ("date codes and serial number put" in note(finding, noted)) == named


@pytest.mark.parametrize("purpose", ["owner", "archive"])
def test_a_part_that_a_recorded_work_names_is_given_no_other_origin(purpose: Purpose) -> None:
    """Contacts that were cleaned were not replaced: what was done stands in the record."""
    finding, survey = boards.synthesiser()
    work = survey.works[0].model_copy(update={"parts": ("U14",), "done": "contacts cleaned"})
    text = note(finding, survey.model_copy(update={"works": (work,)}), purpose, "md")
    (row,) = (line for line in text.splitlines() if line.startswith("| U14 | voice cards"))
    assert "recorded work" in row
    assert "replace" not in row


def test_a_list_in_markdown_and_in_text_has_no_empty_line_within() -> None:
    for form in ("md", "txt"):
        text = note(*boards.synthesiser(), "owner", form)
        found = text[text.index("of which there is no record") : text.index("Parts kept")]
        items = found[found.index("- ") :].rstrip("# -\n")
        assert items.count("\n- ") >= 2
        assert "\n\n" not in items


def test_a_table_in_text_breaks_no_word_and_an_interval_only_at_its_stroke() -> None:
    text = note(*boards.synthesiser(), "archive", "txt")
    table = text[text.index("\nParts\n") : text.index("\nEvidence\n")]
    assert "replacement" in table
    assert "Probability" in table
    for day in re.findall(r"\b[0-9]{4}-[0-9-]+", table):
        assert re.fullmatch(r"[0-9]{4}-[0-9]{2}-[0-9]{2}", day)


def test_an_untouched_board_is_said_to_show_no_later_work() -> None:
    text = flat(note(*boards.all_original(), "listing", "txt"))
    assert "All four recorded parts are extremely likely to be original (each at least 98%)" in text
    assert "They show no sign of later work" in text


def test_only_parts_that_were_dated_are_said_to_show_no_later_work() -> None:
    """A part whose mark cannot be read shows nothing: common practice."""
    finding, survey = boards.all_original()
    blank = finding.parts[0].model_copy(update={"reading": None, "no_date": 0.99})
    found = finding.model_copy(update={"parts": (blank, *finding.parts[1:])})
    assert "The dated ones show no sign of later work" in flat(note(found, survey))
    assert "No sign of later work was found on the dated parts" in flat(
        note(found, survey, "owner")
    )
    blanks = [p.model_copy(update={"reading": None, "no_date": 0.99}) for p in finding.parts]
    nothing = finding.model_copy(update={"parts": tuple(blanks)})
    for purpose in get_args(Purpose):
        assert "no sign" not in flat(note(nothing, survey, purpose)).casefold()


def test_the_owners_report_says_what_dates_the_board() -> None:
    text = flat(note(*boards.all_original(), "owner", "txt"))
    assert "Its date codes put it there." in text


def test_a_stock_profile_that_the_survey_states_is_not_called_a_finding() -> None:
    finding, survey = boards.all_original()
    stated = survey.model_copy(update={"trade": "small series"})
    assert "Stock profile, posterior" in note(finding, survey, "archive", "txt")
    text = note(finding, stated, "archive", "txt")
    assert "Stock profile, as the recorder states it: small series." in text
    assert "posterior" not in text


def test_a_long_name_is_cut_in_a_listing_and_whole_in_the_longer_notes() -> None:
    finding, survey = boards.all_original()
    name = "the big capacitor beside the transformer"
    work = (
        boards.synthesiser()
        .survey.works[0]
        .model_copy(update={"parts": (name,), "by": "N.N.", "done": "renewed"})
    )
    noted = survey.model_copy(update={"works": (work,)})
    listing = flat(note(finding, noted, "listing", "txt"))
    assert "the big capacitor… renewed, in May 2026, by N.N. All four" in listing
    for purpose in ("owner", "archive"):
        assert f"<td>{name}</td>" in note(finding, noted, purpose, "html")


def test_parts_replaced_at_one_time_are_told_together() -> None:
    finding, survey = boards.synthesiser()
    by_ref = {p.ref: p for p in finding.parts}
    like = by_ref["U14"].model_copy(update={"ref": "U13"})
    parts = tuple(like if p.ref == "U13" else p for p in finding.parts)
    found = finding.model_copy(update={"parts": parts})
    said = "U13 and U14 each replaced on its own: extremely likely (each at least 96%)"
    for purpose in get_args(Purpose)[:2]:
        text = flat(note(found, survey, purpose, "txt"))
        assert text.count(said) == text.count("replaced on its own") == 1
    assert any(s.startswith(f"{said}; the parts there now were") for s in summary(found, survey))
    assert told(found, survey, IN_FULL)["replaced"].count == 2


def test_looks_that_are_taken_in_one_way_are_told_with_one_caution() -> None:
    finding, survey = boards.synthesiser()
    first, *others = finding.inspections
    alike = first.model_copy(update={"observation": "the date code of U9", "expected_bits": 0.2})
    found = finding.model_copy(update={"inspections": (first, *others, alike)})
    text = flat(note(found, survey, "owner", "txt"))
    assert "The date code of U4 and the date code of U9 (each tells about the build date)" in text
    assert text.count("Caution: Power off and unplugged; wear an earthed") == 1
    both = "The date code of U4 (expected to bring 0.2 bits about the build date) and the date code"
    assert f"{both} of U9 (0.2 bits). Clean the top" in flat(why_text(found, survey))


@pytest.mark.parametrize("purpose", ["owner", "archive"])
def test_of_a_board_that_nothing_dates_no_origin_is_put_down_to_its_marks(purpose: Purpose) -> None:
    finding, survey = boards.undated()
    carried = boards.synthesiser().finding.carriers
    text = flat(note(finding.model_copy(update={"carriers": carried}), survey, purpose, "txt"))
    assert "the origins below rest on little more than what was assumed beforehand" in text
    assert "say of each" not in text
    assert "the build would fall" not in text


def test_a_listing_that_cannot_tell_every_work_tells_the_last() -> None:
    finding, survey = boards.all_original()
    one = boards.synthesiser().survey.works[0]
    years = ("2026-05", "1999", "2003", "2001", "2007", "2005")
    works = tuple(one.model_copy(update={"date": y, "parts": ("C1",), "by": None}) for y in years)
    text = flat(note(finding, survey.model_copy(update={"works": works}), "listing", "txt"))
    told = re.findall(r"On record: [^.]*, in (?:May )?([0-9]{4})\.", text)
    assert told == ["2026", "2003", "2007", "2005"]
    assert "Two further works on record." in text


def test_a_listing_tells_works_that_fitted_something_before_a_check() -> None:
    finding, survey = boards.all_original()
    one = boards.synthesiser().survey.works[0]
    years = ("2026-05", "2025", "2024", "2007", "2005", "1999")
    checks = ("all sockets checked", "keys cleaned", "contacts cleaned")
    done = (*checks, one.done, one.done, one.done)
    works = tuple(
        one.model_copy(update={"date": y, "parts": ("C1",), "by": None, "done": d})
        for y, d in zip(years, done, strict=True)
    )
    text = flat(note(finding, survey.model_copy(update={"works": works}), "listing", "txt"))
    told = re.findall(r"On record: [^.]*, in (?:May )?([0-9]{4})\.", text)
    assert told == ["2026", "2007", "2005", "1999"]


def test_the_marks_are_not_said_to_speak_for_what_is_only_not_ruled_out() -> None:
    finding, survey = boards.synthesiser()
    work = finding.later_works[1].model_copy(update={"probability": 0.3})
    groups = tuple(g.model_copy(update={"later_work": 0.3}) for g in finding.groups)
    original = f.Origin(original=0.97, later_work=0.02, replacement=0.01)
    parts = tuple(p.model_copy(update={"origin": original}) for p in finding.parts)
    update = {"later_works": (work,), "groups": groups, "parts": parts}
    text = flat(note(finding.model_copy(update=update), survey, "owner", "txt"))
    assert "Less likely than not, but not ruled out: - " in text
    assert "unlikely (30%)" in text
    assert "speak for" not in text


def test_a_reference_of_figures_alone_is_no_count() -> None:
    finding, survey = boards.synthesiser()
    parts = tuple(p.model_copy(update={"ref": p.ref.removeprefix("U")}) for p in finding.parts)
    found = finding.model_copy(update={"parts": parts})
    for purpose in get_args(Purpose)[:2]:
        assert "Part 14 replaced on its own" in flat(note(found, survey, purpose, "txt"))
    assert any(s.startswith("Part 14 replaced on its own") for s in summary(found, survey))


def test_a_board_with_a_recorded_work_shows_no_sign_of_other_later_work() -> None:
    finding, survey = boards.all_original()
    work = boards.synthesiser().survey.works[0]
    mended = survey.model_copy(update={"works": (work,)})
    assert "They show no sign of other later work" in flat(note(finding, mended))
    assert "No sign of other later work was found" in flat(note(finding, mended, "owner"))


def test_the_owners_report_tells_this_work_and_the_parts_kept_and_replaced() -> None:
    finding, survey = boards.synthesiser()
    this = survey.works[0].model_copy(update={"parts": ("C7", "U14"), "done": "voice chip changed"})
    before = survey.works[0].model_copy(update={"date": "1999", "done": "battery taken out"})
    text = note(finding, survey.model_copy(update={"works": (this, before)}), "owner", "txt")
    this_time, earlier = text.index("Work done this time"), text.index("Earlier work on record")
    assert this_time < text.index("voice chip changed") < earlier < text.index("battery taken")
    kept = text[text.index("Parts kept") : text.index("Parts replaced or worked on")]
    replaced = text[text.index("Parts replaced or worked on") : text.index("What could not")]
    assert re.search(r"^U13 ", kept, re.M)
    assert not re.search(r"^U14 ", kept, re.M)
    assert re.search(r"^U14 ", replaced, re.M)
    for danger in ("unplug", "charge", "qualified", "leak", "lead", "asbestos", "wrist strap"):
        assert danger in text


def test_every_inferred_window_in_the_archive_entry_is_marked_approximate() -> None:
    """EDTF level 1: each end of an interval carries its own qualifier (ISO 8601-2:2019)."""
    text = note(*boards.synthesiser(), "archive", "html")
    windows = text[text.index("<h2>Dating") : text.index("<h2>Recorded works")]
    intervals = re.findall(r"[0-9-]{4,10}[~?%]?/[0-9-]{4,10}[~?%]?", windows)
    assert len(intervals) > 5
    assert [i for i in intervals if not re.fullmatch(r"[0-9-]+~/[0-9-]+~", i)] == []


def test_the_archive_entry_can_be_repeated() -> None:
    finding, survey = boards.synthesiser()
    text = flat(note(finding, survey, "archive", "md"))
    for said in (
        finding.method.fingerprint,
        f"board-provenance {finding.method.version}",
        "2026-05-20",
        finding.build.edtf.replace("~", r"\~"),
        "Bare board code, marked 7908",
        "Document, in use by 1981-03-02, studio invoice",
        "capacitors replaced",
        "Interface board fitted after control",
        "grid of weeks",
        "small series 72%",
    ):
        assert said in text
    for part in finding.parts:
        assert f"| {part.ref} | {part.section} |" in text


@pytest.mark.parametrize("purpose", PURPOSES)
def test_markdown_holds_no_markup_from_the_survey(case: boards.Case, purpose: Purpose) -> None:
    """Rendered by markdown-it-py (CommonMark 0.31) with raw HTML and links allowed."""
    page = (
        MarkdownIt("commonmark", {"html": True}).enable("table").render(note(*case, purpose, "md"))
    )
    tags = Tags(page).tags
    assert tags <= PLAIN_TAGS


@SLOW
@given(cases())
def test_random_text_makes_no_markup(case: boards.Case) -> None:
    for purpose in PURPOSES:
        rendered = (
            MarkdownIt("commonmark", {"html": True})
            .enable("table")
            .render(note(*case, purpose, "md"))
        )
        assert Tags(rendered).tags <= PLAIN_TAGS
        page = Tags(note(*case, purpose, "html"))
        assert page.tags <= PLAIN_TAGS | PAGE_TAGS


@pytest.mark.parametrize("purpose", PURPOSES)
def test_a_marking_of_script_is_shown_as_text_in_html(purpose: Purpose) -> None:
    page = Tags(note(*boards.hostile(), purpose, "html"))
    assert "script" not in page.tags
    assert boards.HOSTILE in page.text


@pytest.mark.parametrize("purpose", PURPOSES)
def test_plain_text_fits_80_columns(case: boards.Case, purpose: Purpose) -> None:
    assert max(map(cell_len, note(*case, purpose, "txt").splitlines())) <= 80


@pytest.mark.parametrize("form", FORMATS)
@pytest.mark.parametrize("purpose", PURPOSES)
def test_notes_hold_no_control_character_and_end_in_one_newline(
    case: boards.Case, purpose: Purpose, form: Format
) -> None:
    text = note(*case, purpose, form)
    assert all(line.isprintable() for line in text.split("\n"))
    assert text.endswith("\n")
    assert not text.endswith("\n\n")


def test_a_user_replaces_one_template(tmp_path: Path) -> None:
    (tmp_path / "listing.j2").write_text("{% call p() %}Gebaut {{ built.when }}.{% endcall %}")
    case = boards.synthesiser()
    assert note(*case, "listing", "md", tmp_path) == "Gebaut between April and June 1979.\n"
    assert note(*case, "listing", "md", str(tmp_path)) == note(*case, "listing", "md", tmp_path)
    assert note(*case, "owner", "md", tmp_path) == note(*case, "owner", "md")


def test_another_purpose_or_format_is_refused_by_name() -> None:
    """'page' is a template, and no note."""
    case = boards.all_original()
    with pytest.raises(ProvenanceError, match=r"no note for 'page'\. Fix: use listing, owner"):
        note(*case, "page")  # type: ignore[arg-type]
    with pytest.raises(ProvenanceError, match=r"no format 'pdf'\. Fix: use md, txt or html"):
        note(*case, "listing", "pdf")  # type: ignore[arg-type]


@pytest.mark.parametrize(
    ("template", "said"),
    [
        ("{{ " + "'word ' * 200 }}", "the listing has 200 words; 120 is the most"),
        ("{{ nonesuch }}", "'nonesuch' is undefined"),
        ("\n{% if %}", r"listing\.j2:2: TemplateSyntaxError"),
        ("{{ ''.__class__.__mro__ }}", "unsafe"),
        ("{{ 1 / 0 }}", "division by zero"),
        ("{{ board.model_copy.__func__ }}", "unsafe"),
    ],
)
def test_a_template_at_fault_gives_one_message(tmp_path: Path, template: str, said: str) -> None:
    (tmp_path / "listing.j2").write_text(template)
    with pytest.raises(ProvenanceError, match=said):
        note(*boards.synthesiser(), "listing", "md", tmp_path)


def test_a_missing_folder_of_templates_is_named(tmp_path: Path) -> None:
    with pytest.raises(ProvenanceError, match="no such folder of templates"):
        note(*boards.synthesiser(), templates=tmp_path / "nowhere")


def test_one_part_is_said_in_the_singular() -> None:
    finding, survey = boards.all_original()
    one = finding.model_copy(update={"parts": finding.parts[:1]})
    text = flat(note(one, survey, "listing", "txt"))
    assert "The one recorded part is extremely likely to be original (98%)" in text
    assert "It shows no sign of later work" in text


def test_words_and_numbers_agree_in_the_summary(case: boards.Case) -> None:
    assert words.probable(0.9) == "very likely (90%)"
    text = flat(note(*case, "owner", "txt"))
    for word, number in re.findall(r": ([a-z ]+) \(([\d.]+)%\)", text):
        low, high = IPCC_2010[word]
        assert low <= float(number) <= high


def test_a_work_names_only_the_groups_that_are_more_likely_than_not_later() -> None:
    """A work of 69% that fitted one group at 66% and another at 23% claims only the first."""
    finding, survey = boards.synthesiser()
    joint = finding.later_works[0].model_copy(
        update={
            "probability": 0.69,
            "groups": ("interface board", "power"),
            "parts": ("U30", "U31", "U32", "U41", "U42"),
        }
    )
    held = {"interface board": 0.66, "power": 0.23}
    groups = tuple(
        g.model_copy(update={"later_work": held.get(g.name, g.later_work)}) for g in finding.groups
    )
    found = finding.model_copy(update={"later_works": (joint,), "groups": groups})
    (said,) = claims(found)
    assert (said.subject, said.parts, said.probability) == (
        "interface board",
        ("U30", "U31", "U32"),
        0.66,
    )
    assert said.possibly == (("power", 0.23),)
    assert "perhaps power too (23%)" in " ".join(summary(found, survey))
    listing = flat(note(found, survey, "listing", "txt"))
    assert "Interface board (U30 to U32) fitted later: likely (66%)" in listing
    assert "power" not in listing


def test_groups_of_which_none_is_likely_are_named_as_alternatives() -> None:
    finding, survey = boards.synthesiser()
    joint = finding.later_works[0].model_copy(
        update={"probability": 0.6, "groups": ("interface board", "power")}
    )
    groups = tuple(
        g.model_copy(update={"later_work": 0.4}) if g.name in joint.groups else g
        for g in finding.groups
    )
    found = finding.model_copy(update={"later_works": (joint,), "groups": groups})
    (said,) = claims(found)
    assert said.subject == "interface board or power"
    assert "Interface board or power" in note(found, survey, "owner", "md")


def test_a_section_whose_every_group_is_meant_is_named_once() -> None:
    finding = boards.synthesiser().finding
    board, power = finding.groups[2], finding.groups[3]
    groups = (
        board.model_copy(update={"name": "interface board (soldered)"}),
        board.model_copy(update={"name": "interface board (socketed)"}),
        power.model_copy(update={"name": "power + control", "sections": ("power", "control")}),
    )
    found = finding.model_copy(update={"groups": groups})
    both = ("interface board (soldered)", "interface board (socketed)")
    assert section_names(found, both) == ("interface board",)
    assert section_names(found, both[:1]) == both[:1]
    assert section_names(found, ("power + control",)) == ("power", "control")
