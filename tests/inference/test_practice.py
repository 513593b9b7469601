"""What anyone in the trade would conclude from small boards; each case is common practice.

The boards are invented. Windows are wide of what the trade would say, so that only a wrong
conclusion fails.
"""

from __future__ import annotations

import math
import re
from datetime import date
from typing import Any

import pytest

from provenance.errors import ProvenanceError
from provenance.inference import Finding, date_board
from provenance.inference.evidence import gather
from provenance.inference.finding import Origin
from provenance.inference.posterior import Posterior
from provenance.survey.model import Survey
from tests.inference.near import close


def dated(codes: list[str], **more: Any) -> Finding:
    """A board of one soldered section with these codes on gates of the 74LS family."""
    parts = {f"U{n}": f"74LS{100 + 3 * n}N / {code}" for n, code in enumerate(codes, start=1)}
    sections = {"logic": {"mount": "soldered", "parts": parts}}
    return date_board(Survey.model_validate({"today": "2026-01-01", "sections": sections} | more))


def origin(finding: Finding, ref: str) -> Origin:
    return next(p.origin for p in finding.parts if p.ref == ref)


def test_the_newest_original_part_bounds_the_build_from_below() -> None:
    finding = dated(["7938", "7939", "7907", "7941", "7941"])
    assert finding.build.windows[2].first >= date(1979, 10, 1)
    assert finding.build.windows[2].last <= date(1980, 4, 30)


def test_one_newer_part_beside_a_cluster_of_old_stock_moves_the_build_to_it() -> None:
    """An older code proves nothing by itself; a newer one is proof against the cluster."""
    finding = dated(["7902", "7904", "7907", "7910", "7941"])
    assert finding.build.median >= date(1979, 10, 1)
    assert origin(finding, "U5").original > 0.5


def test_one_part_ten_years_newer_is_a_replacement() -> None:
    finding = dated(["7902", "7904", "7907", "7910", "8941"])
    assert finding.build.windows[2].last < date(1980, 1, 1)
    assert origin(finding, "U5").replacement > 0.5
    assert all(origin(finding, ref).original > 0.9 for ref in ("U1", "U2", "U3", "U4"))


def test_one_very_old_part_among_fresh_ones_is_old_stock() -> None:
    finding = dated(["7938", "7939", "7412", "7941", "7941"])
    assert origin(finding, "U3").original > 0.5
    assert finding.build.windows[2].first >= date(1979, 9, 1)


def test_a_part_without_a_date_bounds_the_build_by_its_family() -> None:
    """74HC logic was first made about 1982 (memory)."""
    sections = {"logic": {"parts": {"U1": "74HC00N"}}}
    finding = date_board(Survey.model_validate({"today": "2026-01-01", "sections": sections}))
    early = sum(w.probability for w in finding.build.weeks if w.week < date(1981, 1, 1))
    assert not finding.build.dated
    assert early < 0.2
    assert any("Nothing on the board dates it" in warning for warning in finding.warnings)


def test_a_running_number_is_no_date() -> None:
    """Of four figures it looks like a year and a week."""
    codes = ["7921", "7922", "7923"]
    number = {"kind": "serial number", "marking": "8047"}
    assert dated(codes, evidence=[number]).build == dated(codes).build


SAID = [
    {"kind": "document", "says": "in use by", "date": "1979-11-01", "reliability": "1"},
    {"kind": "photograph", "says": "not before", "date": "1980-01"},
    {"kind": "document", "says": "built on", "date": "1979-12~", "reliability": "0.7"},
    {"kind": "bare board code", "marking": "7931"},
]


@pytest.mark.parametrize("said", SAID)
def test_what_is_said_of_the_only_section_is_said_of_the_board(said: dict[str, str]) -> None:
    """Something on a board is original, so here it is this section, and the build dates it."""
    codes = ["7938", "7939", "7907", "7941", "7941"]
    board = dated(codes, evidence=[said], trade="small series")
    section = dated(codes, evidence=[said | {"section": "logic"}], trade="small series")
    assert section.build.windows == board.build.windows
    for one, other in zip(section.parts, board.parts, strict=True):
        assert one.origin.original == pytest.approx(other.origin.original)
        assert one.fitted == other.fitted
    assert section.accounts[0].build == board.accounts[0].build
    told = next(line for line in section.rests_on if " on logic (" in line)
    assert told.replace(" on logic", "") in board.rests_on


def test_a_document_on_a_section_that_says_nothing_changes_nothing() -> None:
    codes, piece = ["7938", "7939", "7941"], SAID[0] | {"reliability": "0", "section": "logic"}
    for today in ("1979-11-05", "1980-06-01", "2026-01-01"):
        one, other = dated(codes, today=today), dated(codes, today=today, evidence=[piece])
        assert [origin(one, ref) for ref in ("U1", "U2", "U3")] == [
            pytest.approx(origin(other, ref)) for ref in ("U1", "U2", "U3")
        ]
        assert one.build.windows == other.build.windows


def test_a_document_on_a_section_that_does_not_fit_is_pointed_out() -> None:
    piece = {"kind": "document", "says": "in use by", "date": "1975", "section": "logic"}
    finding = dated(["7938", "7939", "7907", "7941"], evidence=[piece])
    assert any("document on logic" in warning for warning in finding.warnings)
    assert not any("document on logic" in line for line in finding.rests_on)


@pytest.mark.parametrize("reliability", ["0.95", "1"])
def test_a_board_in_use_before_its_parts_were_made_is_pointed_out(reliability: str) -> None:
    """The surer the document, the more there is to point out."""
    piece = SAID[0] | {"date": "1975", "reliability": reliability}
    finding = dated(["7938", "7939", "7907", "7941"], evidence=[piece])
    assert any("the document (in use by 1975) hardly agree" in w for w in finding.warnings)


def test_a_section_in_use_before_its_parts_were_made_is_pointed_out() -> None:
    piece = SAID[0] | {"date": "1975", "section": "logic"}
    finding = dated(["7938", "7939", "7907", "7941"], evidence=[piece])
    assert any("document on logic" in w and "hardly agree" in w for w in finding.warnings)
    other = piece | {"says": "not before", "date": "1986"}
    assert not any("agree" in w for w in dated(["7938", "7941"], evidence=[other]).warnings)


def test_what_is_said_of_a_section_without_parts_is_said_of_those_it_went_in_with() -> None:
    sections = {
        "logic": {"parts": {"U1": "74LS00N / 7938", "U2": "74LS04N / 7941"}},
        "panel": {"parts": {}},
    }
    tied = ["panel fitted with logic"]

    def board(section: str, relations: list[str]) -> Finding:
        piece = {"kind": "document", "says": "in use by", "date": "1979-12", "section": section}
        data = {"sections": sections, "relations": relations, "evidence": [piece]}
        return date_board(Survey.model_validate({"today": "2026-01-01"} | data))

    assert board("panel", tied).build == board("logic", tied).build
    assert not board("panel", tied).warnings
    (warning,) = board("panel", []).warnings
    assert "document on panel (in use by 1979-12) is not weighed" in warning


@pytest.mark.parametrize(("done", "later"), [("relays replaced", 1.0), ("relays cleaned", 0.0)])
def test_only_a_work_that_fitted_parts_takes_them_from_the_evidence(
    done: str, later: float
) -> None:
    sections = {
        "logic": {"parts": {"U1": "74LS00N / 7940", "U2": "74LS04N / 7944"}},
        "relays": {"parts": {"K1": "12V / 7930"}},
    }
    works = [{"date": "2020", "parts": ["relays"], "done": done}]
    survey = Survey.model_validate({"today": "2026-01-01", "sections": sections, "works": works})
    finding = date_board(survey, reasons=True)
    assert origin(finding, "K1").later_work == pytest.approx(later, abs=0.3)
    assert [work.done for work in finding.later_works if work.known] == [done]


@pytest.mark.parametrize(
    ("when", "first", "last"),
    [("1990/..", date(1990, 1, 1), date(2026, 1, 1)), ("../1995-06", None, date(1995, 6, 30))],
)
def test_a_work_of_which_one_end_is_open_is_told(when: str, first: date | None, last: date) -> None:
    works = [{"date": when, "parts": ["U1"], "done": "replaced"}]
    finding = dated(["7938", "7939", "7941"], works=works)
    (work,) = [work for work in finding.later_works if work.known]
    assert work.windows == next(p.fitted for p in finding.parts if p.ref == "U1")
    assert (work.windows[0].first, work.windows[0].last) == (
        first or finding.build.weeks[0].week,
        last,
    )


def test_a_board_of_which_a_work_fitted_everything_is_still_answered() -> None:
    sections = {"relays": {"parts": {"K1": "12V / 7930"}}}
    works = [{"date": "2020", "parts": ["relays"], "done": "replaced"}]
    survey = Survey.model_validate({"today": "2026-01-01", "sections": sections, "works": works})
    finding = date_board(survey, reasons=True)
    assert not finding.build.dated
    assert origin(finding, "K1").later_work == 1.0


def test_observations_that_cannot_hold_together_are_named() -> None:
    finding = dated(
        ["7940", "7941", "7942", "7943"],
        evidence=[
            {"kind": "bare board code", "marking": "8310"},
            {"kind": "document", "says": "in use by", "date": "1981-05", "reliability": "0.9"},
        ],
    )
    (cannot,) = [w for w in finding.warnings if "cannot both be right" in w]
    assert "bare board code (8310)" in cannot
    assert "document" in cannot
    (hardly,) = [w for w in finding.warnings if "hardly agree" in w]
    assert "original parts" in hardly
    assert "bare board code (8310)" in hardly
    assert finding.build.windows[2].last < date(1981, 6, 1)


@pytest.mark.parametrize(
    ("evidence", "may_be"),
    [
        ({"kind": "bare board code", "marking": "7421"}, "an old blank, or its code the layout's"),
        ({"kind": "inspection stamp", "date": "1982-03"}, "one of a service, or the finish late"),
    ],
)
def test_observations_far_apart_are_said_to_agree_hardly_and_what_they_may_be(
    evidence: dict[str, str], may_be: str
) -> None:
    """Old blanks, layout codes and service stamps are met (common practice): no contradiction."""
    warnings = dated(["7940", "7941", "7942", "7943"], evidence=[evidence]).warnings
    assert any("hardly agree" in w and may_be in w for w in warnings)
    assert not any("cannot" in w for w in warnings)


def test_an_old_blank_may_be_right_and_leaves_the_build_where_the_parts_put_it() -> None:
    parts = ["7940", "7941", "7942", "7943"]
    board = {"kind": "bare board code", "marking": "7621"}
    alone, both = dated(parts), dated(parts, evidence=[board])
    assert both.build.windows[2] == alone.build.windows[2]
    (said,) = [line for line in both.rests_on if "bare board code" in line]
    assert "under 1%" not in said


def test_a_group_of_late_parts_is_one_later_work() -> None:
    sections = {
        "logic": {"parts": {f"U{n}": f"74LS{100 + n}N / 79{38 + n}" for n in range(6)}},
        "expander": {"parts": {"U21": "74LS244N / 8312", "U22": "74LS373N / 8309"}},
    }
    finding = date_board(Survey.model_validate({"today": "2026-01-01", "sections": sections}))
    (work,) = finding.later_works
    assert work.parts == ("U21", "U22")
    assert work.probability > 0.95
    assert date(1983, 3, 1) <= work.median <= date(1984, 12, 31)
    assert finding.accounts[0].probability > 0.9
    assert sum(account.probability for account in finding.accounts) <= 1 + 1e-9


@pytest.mark.parametrize("trade", [None, "small series"])
@pytest.mark.parametrize("code", ["1979-38", "1977-10", "1984-05"])
def test_how_far_a_document_is_relied_on_is_what_bayes_makes_of_leaving_it_out(
    trade: str | None, code: str
) -> None:
    """P(wrong | everything) = (1 - reliability) Z without the piece / Z: Bayes' theorem."""
    year, week = map(int, code.split("-"))
    monday_of_code = date.fromisocalendar(year, week, 1).isoformat()
    parts = {f"U{n}": f"74LS{100 + 3 * n}N / 79{40 + n}" for n in range(1, 5)}
    data: dict[str, Any] = {
        "today": "2026-01-01",
        "sections": {"logic": {"parts": parts}},
        "evidence": [
            {"kind": "bare board code", "date": monday_of_code, "reliability": 0.9},
            {"kind": "document", "says": "in use by", "date": "1981-05", "reliability": 0.7},
        ],
    }
    evidence = gather(Survey.model_validate(data | ({"trade": trade} if trade else {})))
    posterior = Posterior(evidence)
    for number, reliability in enumerate((0.9, 0.7)):
        without = Posterior(evidence.without_evidence(number)).histories.evidence
        wrong = (1 - reliability) * without / posterior.histories.evidence
        close(posterior.reliance(number), 1 - wrong)


@pytest.mark.parametrize("groups", [1, 4, 14])
def test_a_document_beyond_doubt_holds_against_hundreds_of_later_parts(groups: int) -> None:
    """However improbable the parts are then, some history is best; nothing runs out of range."""
    sections = {
        f"s{g}": {
            "parts": {f"U{g}-{n}": f"74LS{100 + n}N / 90{10 + n % 30} / {n}" for n in range(40)}
        }
        for g in range(groups)
    }
    says = {"kind": "document", "says": "in use by", "date": "1980-01-01", "reliability": 1.0}
    finding = date_board(
        Survey.model_validate({"today": "2026-01-01", "evidence": [says], "sections": sections})
    )
    assert finding.build.windows[-1].last < date(1980, 1, 8)
    assert sum(w.probability for w in finding.build.weeks) == pytest.approx(1, abs=0.01)
    assert all(0.0 <= p.origin.original < 0.5 for p in finding.parts)


@pytest.mark.parametrize("groups", [1, 14])
def test_certain_documents_that_leave_no_history_are_an_error_and_not_a_result(groups: int) -> None:
    """A survey file with these is refused when it is read; a survey made in Python is not."""
    sections = {f"s{g}": {"parts": {f"U{g}": "74LS00N / 7948"}} for g in range(groups)}
    documents = [
        {"kind": "document", "says": says, "date": day, "reliability": 1.0}
        for says, day in (("in use by", "1980-01-01"), ("not before", "1985-01-01"))
    ]
    early, late = (
        Survey.model_validate({"today": "2026-01-01", "evidence": [one], "sections": sections})
        for one in documents
    )
    both = early.model_copy(update={"evidence": early.evidence + late.evidence})
    with pytest.raises(ProvenanceError, match="reliability below 1"):
        date_board(both)


def in_use_by(day: str, **more: Any) -> Finding:
    says = {"kind": "document", "says": "in use by", "date": day} | more
    return dated(["8340", "8346", "8350"], evidence=[says])


def test_an_approximate_date_has_no_sharp_end() -> None:
    """EDTF (ISO 8601-2:2019): 1983~ is about 1983, which may be early in 1984."""
    sharp, about = in_use_by("1983"), in_use_by("1983~")
    assert sharp.build.windows[2].last <= date(1984, 1, 31)
    assert about.build.windows[2].last >= date(1984, 2, 28)
    assert about.build.windows[2].first >= date(1983, 12, 1)


@pytest.mark.parametrize(("coarse", "fine"), [("1983~", "1983-12~"), ("198X~", "1989~")])
def test_the_coarser_an_approximate_date_the_less_it_says(coarse: str, fine: str) -> None:
    codes = ["8340", "8346", "8350"] if fine < "1985" else ["9008", "9010", "9013"]

    def latest(day: str) -> date:
        says = {"kind": "document", "says": "in use by", "date": day, "reliability": 0.999}
        return dated(codes, evidence=[says]).build.windows[2].last

    assert latest(coarse) > latest(fine)


def test_an_uncertain_date_is_less_likely_right_unless_the_survey_says_how_likely() -> None:
    """EDTF (ISO 8601-2:2019): 1983? is uncertain."""

    def late(finding: Finding) -> float:
        return sum(w.probability for w in finding.build.weeks if w.week > date(1984, 1, 1))

    assert late(in_use_by("1983?")) > 1.5 * late(in_use_by("1983"))
    assert late(in_use_by("1983?", reliability=0.95)) == pytest.approx(
        late(in_use_by("1983", reliability=0.95))
    )


def test_a_work_before_the_build_is_pointed_out() -> None:
    codes = ["8005", "8012", "8016", "8010"]

    def warned(day: str) -> bool:
        works = [{"date": day, "parts": ["C3"], "done": "capacitor replaced"}]
        told = [w for w in dated(codes, works=works).warnings if "recorded work" in w]
        return any("1978-06" in w and "before the build window" in w for w in told)

    assert warned("1978-06")
    # About 1978-06~ is a month or two on either side; a work of after the build is none.
    assert warned("1978-06~")
    assert not warned("1984-06")


def test_a_date_of_before_the_family_was_made_is_pointed_out() -> None:
    """74HC logic was first made about 1982 (memory)."""
    parts = {"U1": "74HC245N / 7645", "U2": "74HC138N / 8640", "U3": "74HC374N / 8638"}
    survey = {"today": "2026-01-01", "sections": {"logic": {"parts": parts}}}
    finding = date_board(Survey.model_validate(survey))
    (warning,) = finding.warnings
    assert "U1 reads 7645 (November 1976), before its family was made (about 1982)" in warning
    (why,) = [w.why for w in finding.parts[0].weights if w.source == "date"]
    assert "before its family was made" in why


def test_evidence_on_a_fifth_section_is_told_as_well() -> None:
    names = "abcde"
    sections = {
        name: {"mount": "soldered", "parts": {f"U{n}": f"74LS{10 + n}N / 813{n}"}}
        for n, name in enumerate(names)
    }
    evidence = [
        {"kind": "photograph", "says": "in use by", "date": "1982-06", "section": name}
        for name in names
    ]
    survey = {"today": "2026-01-01", "sections": sections, "evidence": evidence}
    rests_on = date_board(Survey.model_validate(survey)).rests_on
    told = [next(said for said in rests_on if f"photograph on {name} " in said) for name in names]
    assert all("right with probability" in said for said in told[:4])
    assert "weighed as well" in told[4]


def test_spells_far_apart_are_told_with_their_shares() -> None:
    """A year's last figure leaves the decade open (common practice)."""
    finding = dated(["738", "741", "745", "749", "739"])
    (warning,) = [w for w in finding.warnings if "decade is open" in w]
    for year in (1988, 1998, 2008):
        assert f"December {year - 1} to April {year}" in warning or f"April {year}" in warning
    shares = [int(n) for n in re.findall(r"\((\d+)%\)", warning)]
    assert len(shares) >= 4
    assert 85 <= sum(shares) <= 95
    assert not any("decade" in w or "spells" in w for w in dated(["7938", "7941"]).warnings)


def test_a_stamp_of_years_after_the_parts_makes_two_spells_but_no_open_decade() -> None:
    stamp = {"kind": "inspection stamp", "date": "1982-03", "reliability": 0.999}
    warnings = dated(["7940", "7941", "7942", "7943"], evidence=[stamp]).warnings
    (told,) = [w for w in warnings if "separate spells" in w]
    assert "1979" in told
    assert "1982" in told


def test_where_no_part_is_dated_nothing_is_said_of_codes() -> None:
    """Without codes there is no spread of codes, nor a code that leaves the decade open; one code
    alone has no spread either."""
    sections = {"logic": {"mount": "soldered", "parts": {"U1": "74LS00N", "U2": "74LS02N"}}}
    paper = {"kind": "document", "says": "in use by", "date": "1983-04"}
    survey = {"today": "2026-01-01", "sections": sections, "evidence": [paper]}
    finding = date_board(Survey.model_validate(survey))
    assert finding.build.dated
    told = " ".join((*finding.rests_on, *finding.warnings))
    assert "in use by 1983-04" in told
    assert "codes" not in told
    assert "decade is open" not in told
    assert "spread of the codes" not in " ".join(dated(["8243"]).rests_on)
    assert "spread of the codes" in " ".join(dated(["8243", "8240"]).rests_on)


def test_two_clusters_of_codes_in_one_section_may_be_two_fittings() -> None:
    old, new = ["7910", "7912", "7916", "7920"], ["8510", "8512", "8514", "8520"]

    def warned(finding: Finding) -> bool:
        return any("two fittings" in w for w in finding.warnings)

    assert warned(dated(old + new))
    # One old lot, a single newer part and stock of every age are ordinary.
    lot = {f"U{n}": "TL072CP / 7910" for n in range(20, 24)}
    parts = lot | {f"U{n}": f"74LS{100 + n}N / {code}" for n, code in enumerate(new)}
    survey = {"today": "2026-01-01", "sections": {"logic": {"parts": parts}}}
    assert not warned(date_board(Survey.model_validate(survey)))
    assert not warned(dated([*old, "8510"]))
    assert not warned(dated(["7403", "7620", "7512", "7734", "7908", "7845", "8011"]))


def test_a_code_a_year_newer_than_all_others_may_be_the_build() -> None:
    """Common practice: the newest code is the earliest that the board can have been finished,
    unless its part was replaced; nobody sells such a board as one without a sign of later work."""
    codes = ["7312", "7311", "7309", "7314", "7301", "7251", "7305", "7411"]
    parts = {f"IC{n}": f"74{10 * n}N / {code}" for n, code in enumerate(codes, start=1)}
    main = {"mount": "soldered", "joints": "factory", "parts": parts}
    survey = {"today": "2026-01-01", "sections": {"main": main}}
    finding = date_board(Survey.model_validate(survey))
    (told,) = [w for w in finding.warnings if "IC8" in w]
    assert "the part was replaced or the board was built later than its other codes say" in told


def test_a_date_that_the_board_does_not_bear_out_is_pointed_out() -> None:
    says = {"kind": "document", "says": "in use by", "date": "1980-06", "reliability": 0.999}
    codes = ["7940", "7941", "7942", "7943", "2548"]
    finding = dated(codes, evidence=[says])
    part = finding.parts[4]
    told = any(
        "U5" in w and "copied down wrongly or the part was replaced" in w for w in finding.warnings
    )
    assert told == (part.no_date > 0.2)
    assert part.no_date > 0.2


@pytest.mark.parametrize(("newest", "said"), [("7911", True), ("7933", False), ("7941", False)])
def test_the_newest_code_is_called_the_earliest_finish_where_the_window_begins_with_it(
    newest: str, said: bool
) -> None:
    """A window that begins before it allows for a replacement or a misread code."""
    finding = dated(["7902", "7904", "7907", "7910", newest])
    newest_of_all = finding.parts[4]
    assert newest_of_all.reading
    assert newest_of_all.origin.original > 0.5
    after = finding.build.windows[2].first >= newest_of_all.reading.first
    first = newest_of_all.reading.first
    told = f"If U5 is original, the board was not finished before {first}" in finding.rests_on[0]
    assert (after, told) == (said, said)


def test_codes_that_are_all_alike_are_told_without_a_span() -> None:
    said = dated(["7911", "7911", "7911"]).rests_on[0]
    assert "are all of 1979-03-11 to 1979-03-18. If they are original" in said


def repaired(**more: Any) -> Finding:
    """An audio section, and a supply that a recorded work replaced."""
    audio = {"joints": "factory", "mount": "soldered", "parts": {"U1": "LM741CN / 8023"}}
    supply = {"parts": {"VR1": "LM7805 / 9020"}}
    work = {"date": "1990-08", "parts": ["supply"], "done": "replaced"}
    data = {"sections": {"audio": audio, "supply": supply}, "works": [work]}
    return date_board(Survey.model_validate({"today": "2026-01-01"} | data | more))


def test_what_a_recorded_work_fitted_says_nothing_of_the_build() -> None:
    """Neither as the group that is left of the build, nor by what is known of its section."""
    audio = {"joints": "factory", "mount": "soldered", "parts": {"U1": "LM741CN / 8023"}}
    alone = repaired(sections={"audio": audio}, works=[])
    paper = {"kind": "document", "says": "built on", "date": "1990-08", "section": "supply"}
    for finding in (repaired(), repaired(evidence=[paper])):
        assert finding.build.windows == alone.build.windows
        assert [g.original for g in finding.groups[1:]] == [0.0]


def test_the_joints_of_replaced_parts_say_nothing_of_their_group() -> None:
    spare = {f"U{n}": {"marking": "LM741CN / 9023", "joints": "hand"} for n in (3, 4, 5)}
    found = []
    for parts, works in (
        ({}, []),
        (spare, [{"date": "1990-08", "parts": list(spare), "done": "replaced"}]),
    ):
        audio = {
            "joints": "factory",
            "mount": "soldered",
            "parts": {"U1": "LM741CN / 8023"} | parts,
        }
        finding = repaired(sections={"audio": audio}, works=works)
        found.append(origin(finding, "U1").original)
    close(found[0], found[1], 1e-9)


@pytest.mark.parametrize("marking", ["????", "A-1207 REV C"])
def test_a_bare_board_code_that_states_no_date_is_not_accused(marking: str) -> None:
    code = {"kind": "bare board code", "marking": marking}
    finding = dated(["8023", "8024", "8026"], evidence=[code])
    assert not [said for said in finding.warnings if "does not fit" in said]


def test_hundreds_of_documents_stay_within_what_a_double_holds() -> None:
    paper = {"kind": "document", "says": "built on", "date": "1980-09-10"}
    finding = dated(["8023", "8024", "8026"], evidence=[paper] * 180)
    assert finding.build.windows[-1].first.year == 1980


def test_a_bare_board_code_that_is_also_a_part_number_dates_the_board() -> None:
    """What is known to be a date code is read as one, though 7820 is a regulator as well."""
    board = [{"kind": "bare board code", "marking": "7820"}]
    with_code, without = dated(["7801", "7804"], evidence=board), dated(["7801", "7804"])
    assert with_code.build.windows[2].first >= date(1978, 5, 15)
    assert without.build.windows[2].first < date(1978, 5, 1)


def test_joints_that_were_looked_at_on_the_part_weigh_more_than_its_sections() -> None:
    """A part of five years later has been overlooked where its section's joints are said to be the
    factory's, unless its own were looked at."""
    codes = {"U1": "7938", "U2": "7939", "U3": "7936", "U4": "7941"}
    parts: dict[str, Any] = {ref: f"74LS{ref[1:]}08N / {code}" for ref, code in codes.items()}
    late = "74LS138N / 8519"
    found = []
    for part in (late, {"marking": late, "joints": "factory"}):
        section = {"mount": "soldered", "joints": "factory", "parts": parts | {"U5": part}}
        found.append(origin(repaired(sections={"logic": section}, works=[]), "U5").replacement)
    assert found[1] + 0.1 < found[0]
    assert found[0] > 0.66
    own = {"mount": "soldered", "joints": "factory", "parts": {"U5": late}}
    alone = {"mount": "soldered", "parts": {"U5": {"marking": late, "joints": "factory"}}}
    close(
        origin(repaired(sections={"logic": own}, works=[]), "U5").original,
        origin(repaired(sections={"logic": alone}, works=[]), "U5").original,
        1e-12,
    )


def test_a_part_on_an_adapter_is_more_often_a_replacement() -> None:
    """Common practice: what a board was built with hardly ever sits on one."""
    codes = {"U1": "7938", "U2": "7939", "U3": "7936", "U4": "7941"}
    parts: dict[str, Any] = {ref: f"74LS{ref[1:]}08N / {code}" for ref, code in codes.items()}
    found = []
    for part in ("74LS138N / 8019", {"marking": "74LS138N / 8019", "adapter": "yes"}):
        finding = repaired(sections={"logic": {"parts": parts | {"U5": part}}}, works=[])
        found.append(next(p for p in finding.parts if p.ref == "U5"))
    adapted = found[1]
    ratios = [p.origin.replacement / p.origin.original for p in found]
    assert ratios[1] == pytest.approx(10 * ratios[0])
    assert [w.decibans for w in adapted.weights if "adapter" in w.why] == [pytest.approx(-10)]
    odds = adapted.origin.original / (1 - adapted.origin.original)
    assert sum(w.decibans for w in adapted.weights) == pytest.approx(10 * math.log10(odds))


def test_a_replacement_may_have_been_fitted_long_after_its_code() -> None:
    """Common practice: spare parts come from old stock and from boards broken up, years later."""
    finding = dated(["7938", "7939", "7936", "7941", "8519"])
    (part,) = [p for p in finding.parts if p.ref == "U5"]
    assert part.origin.replacement > 0.66
    window = next(w for w in part.fitted if w.probability == 0.9)
    assert window.first <= date(1985, 5, 12)
    assert date(1992, 1, 1) < window.last < date(2010, 1, 1)


def test_a_far_older_part_with_hand_made_joints_is_a_replacement() -> None:
    """Common practice: a donor's, or old spare stock."""
    codes = ["8316", "8318", "8320", "8317", "8319"]
    parts: dict[str, Any] = {f"U{n}": f"74LS{n}08N / {code}" for n, code in enumerate(codes, 1)}
    parts |= {"U13": {"marking": "74LS00N / 7722", "joints": "hand"}}
    section = {"mount": "soldered", "joints": "factory", "parts": parts}
    assert origin(repaired(sections={"logic": section}, works=[]), "U13").replacement > 0.66


def test_a_code_that_may_as_well_be_none_is_not_told_as_misread() -> None:
    """A maker's source code and a part's number look alike."""
    parts: dict[str, Any] = {f"U{n}": f"74LS{n}08N / 861{n}" for n in range(1, 5)}
    parts |= {"T1": {"marking": "PRI / 346-846", "joints": "hand"}}
    section = {"mount": "soldered", "joints": "factory", "parts": parts}
    finding = repaired(sections={"logic": section}, works=[])
    (part,) = [p for p in finding.parts if p.ref == "T1"]
    (date_weight,) = [w for w in part.weights if w.source == "date"]
    assert -10 < date_weight.decibans < 0
    assert "more likely none" in date_weight.why
    assert "misread" not in date_weight.why
