"""How the origin of a part is told: by one rule, in every output; all surveys are invented."""

from __future__ import annotations

import re
from functools import lru_cache

import pytest

from provenance.inference import finding as f
from provenance.inference.accounts import _without_each, rated
from provenance.inference.board import date_board
from provenance.inference.evidence import gather
from provenance.inference.posterior import Posterior
from provenance.notes.bounded import bounded
from provenance.notes.histories import histories
from provenance.notes.note import note
from provenance.notes.reasons import factory_or_later, why_text
from provenance.notes.record import linked_art
from provenance.notes.report import report_html
from provenance.notes.screen import screen_text
from provenance.notes.statements import claims, standing, summary
from provenance.survey.model import Survey
from tests.notes import boards

FACTORY = {
    "U1": "NV8085 / 8236",
    "U2": "NV74LS373 / 8233",
    "U3": "NV74LS138 / 8238",
    "U4": "NV6116 / 8240",
}


@lru_cache
def dated(*stores: tuple[str, str], work: str = "") -> boards.Case:
    """A drum machine of late 1982 with stores in sockets, and perhaps a recorded work on M1."""
    parts: dict[str, object] = dict(FACTORY)
    parts |= {ref: {"marking": marking, "mount": "socketed"} for ref, marking in stores}
    survey = Survey.model_validate(
        {
            "board": {"title": "Drum machine"},
            "today": "2026-05-20",
            "sections": {"main": {"mount": "soldered", "joints": "factory", "parts": parts}},
            "works": [{"date": "1987-03", "parts": ["M1"], "done": work}] if work else [],
        }
    )
    return boards.Case(date_board(survey), survey)


LATE = ("M1", "RHYTHM 3 / NV2764 / 8452")
LATER = ("M2", "KIT B / NV27128 / 9010")


def flat(text: str) -> str:
    return " ".join(text.split())


@pytest.mark.parametrize(
    ("origin", "lone", "kind", "probability", "doubtful"),
    [
        ((0.03, 0.45, 0.52), False, "not original", 0.97, False),
        ((0.03, 0.02, 0.95), False, "replacement", 0.95, False),
        ((0.03, 0.95, 0.02), False, "later work", 0.95, False),
        ((0.03, 0.02, 0.95), True, "not original", 0.97, False),
        ((0.47, 0.00, 0.53), False, "replacement", 0.53, True),
        ((0.48, 0.26, 0.26), False, "not original", 0.52, True),
        ((0.60, 0.10, 0.30), False, "original", 0.60, True),
        ((0.66, 0.04, 0.30), False, "original", 0.66, False),
        ((0.33, 0.04, 0.63), False, "not original", 0.67, False),
    ],
)
def test_first_whether_a_part_is_original_then_by_what_manner_it_came(
    origin: tuple[float, float, float], lone: bool, kind: str, probability: float, doubtful: bool
) -> None:
    """'Likely' begins at 66 per cent, 'very likely' at 90: IPCC guidance note 2010."""
    part = boards.part("U1", "main", "KD7400 / 8001", None, origin, ())
    found = standing(part, lone=lone)
    assert (found.kind, round(found.probability, 9)) == (kind, probability)
    assert found.doubtful == doubtful


def test_a_part_that_is_all_of_its_group_is_not_original_in_every_output() -> None:
    finding, survey = dated(LATE)
    (part,) = (p for p in finding.parts if p.ref == "M1")
    assert max(part.origin.later_work, part.origin.replacement) < 0.66, "the manner is open"
    later = f"{1 - part.origin.original:.0%}"
    texts = [
        screen_text(finding, survey),
        *(note(finding, survey, purpose, "txt") for purpose in ("listing", "owner", "archive")),
        report_html(finding, survey),
    ]
    for text in map(flat, texts):
        assert f"M1 not original: extremely likely ({later})" in text or (
            "M1 extremely likely" in text and f"({later})" in text
        )
        assert "Origin not settled" not in text
        assert "Not ruled out" not in text
        assert "about as likely as not (4" not in text
    assert re.search(rf"(?m)^\* M1 .* not original +{later}$", texts[0])
    labels = [w["_label"] for w in linked_art(finding, survey)["modified_by"]]
    assert labels == ["Fitted later: M1"]


def test_a_work_on_a_part_or_on_its_group_of_one_is_one_history() -> None:
    finding, _ = dated(LATE)
    assert len(finding.accounts) > 1
    (told,) = histories(finding)
    assert "M1 fitted later" in told.said
    assert told.accounts == tuple(range(len(finding.accounts)))
    (asked,) = factory_or_later(finding)
    assert asked.startswith("M1 in main (socketed): added later, extremely likely")


def test_a_part_told_by_itself_is_not_told_again_with_a_work() -> None:
    parts = {
        "U1": {"marking": "NV741 / 7923", "mount": "soldered", "joints": "factory"},
        "U2": {"marking": "NV4558 / 0731", "mount": "socketed"},
        "U3": {"marking": "NV5534 / 7930", "mount": "soldered"},
        "U4": "741 8",
    }
    survey = Survey.model_validate(
        {
            "board": {"title": "Line mixer"},
            "today": "2026-11-26",
            "sections": {"audio": {"parts": parts}},
        }
    )
    finding = date_board(survey)
    assert any({"U2", "U4"} <= set(work.parts) for work in finding.later_works)
    said = summary(finding, survey)
    assert [s.partition(":")[0] for s in said if re.search(r"\bU2\b", s)] == ["U2 not original"]
    assert any(s.startswith("Later work: U4 in audio") for s in said)


def test_parts_of_two_dates_in_one_group_are_each_given_their_own() -> None:
    finding, survey = dated(LATE, LATER)
    said = summary(finding, survey)
    first, second = (next(s for s in said if s.startswith(f"{ref} not")) for ref in ("M1", "M2"))
    assert "with a work on main (socketed)" in first
    assert not any("M1 and M2" in s for s in said)
    window = {p.ref: p.fitted[2] for p in finding.parts}
    assert window["M1"].first.year < 1988 < window["M2"].first.year
    assert "fitted between March 1990" in second
    for part in finding.parts:
        if part.origin.original < 0.5:
            assert part.reading
            assert part.fitted[2].first >= part.reading.first


def test_an_account_names_parts_replaced_by_what_follows_from_it() -> None:
    """The law of total probability: over all accounts it comes to the part's own probability."""
    _, survey = dated(LATE, LATER)
    posterior = Posterior(gather(survey))
    found = rated(posterior)
    held = sum(r.chain.probability for r in found)
    finding = date_board(survey)
    for number, lot in enumerate(posterior.evidence.lots):
        replaced = sum(
            r.chain.probability
            * lot.apart
            * float(_without_each(posterior, r)[number] @ lot.replaced)
            for r in found
        )
        (part,) = (p for p in finding.parts if p.ref == lot.parts[0].ref)
        assert abs(replaced - part.origin.replacement) <= 1 - held + 1e-6
    best, other = finding.accounts[:2]
    assert (best.replaced, other.replaced) == ((), ("M1", "M2"))
    said = [one.said for one in histories(finding)]
    assert said[1].endswith("no group fitted later; M1 and M2 likely replaced on their own")


def test_a_part_that_a_recorded_work_names_is_said_to_be_in_the_record() -> None:
    """Words that do not say that it was fitted: the marks are asked, the record is told."""
    finding, survey = dated(LATE, work="firmware looked at")
    assert finding.later_works[0].parts == ("M1",)
    assert claims(finding) == ()
    for text in (screen_text(finding, survey), note(finding, survey, "owner", "txt")):
        assert "ruled out" not in text
        assert "not settled" not in text
        assert "of which there is no record" not in flat(text)
    (asked,) = factory_or_later(finding)
    assert asked == "M1 in main (socketed): see the recorded work of 1987-03."


@pytest.mark.parametrize(
    ("work", "hidden"), [("contacts cleaned", True), ("program store replaced", False)]
)
def test_a_cleaning_on_record_does_not_hide_that_a_part_came_later(work: str, hidden: bool) -> None:
    """Common practice: only a work that fitted a part accounts for its late date code."""
    finding, survey = dated(LATE, work=work)
    told = "M1 not original by its marks: extremely likely"
    assert (told in flat(" ".join(summary(finding, survey)))) == hidden
    assert (told in flat(note(finding, survey, "listing", "txt"))) == hidden
    assert ("By their marks they are not original" in note(finding, survey, "owner")) == hidden
    assert ("unexplained by the record" in note(finding, survey, "archive")) == hidden
    assert (
        "names it; by its marks not original" in flat(why_text(finding, survey, "M1"))
    ) == hidden
    record = linked_art(finding, survey)
    labels = [made["_label"] for made in record["modified_by"]]
    assert ("Fitted later: M1" in labels) == hidden
    (part,) = (p for p in record["part"] if p["_label"].startswith("M1"))
    origins = [said["content"] for said in part["referred_to_by"]]
    assert any(said.startswith("Original ") for said in origins) == hidden


def test_parts_of_one_later_work_with_a_cleaning_on_record_are_told_together() -> None:
    later = {f"M{n}": {"marking": f"NV4416 / 860{n}", "mount": "socketed"} for n in range(1, 5)}
    survey = Survey.model_validate(
        {
            "board": {"title": "Drum machine"},
            "today": "2026-05-20",
            "sections": {
                "main": {"mount": "soldered", "joints": "factory", "parts": FACTORY},
                "stores": {"parts": later},
            },
            "works": [{"date": "2025", "parts": ["stores"], "done": "sockets cleaned"}],
        }
    )
    finding = date_board(survey)
    (said,) = (s for s in summary(finding, survey) if "by their marks" in s)
    assert said.startswith("M1 to M4 not original by their marks: virtually certain")
    assert "1986" in said


def test_an_original_part_that_was_cleaned_is_not_referred_to_the_record() -> None:
    finding, _ = dated(("M1", "RHYTHM 3 / NV2764 / 8237"), work="contacts cleaned")
    (asked,) = factory_or_later(finding)
    assert asked.startswith("M1 in main (socketed): fitted by the factory")


def test_a_doubtful_part_stands_under_what_could_not_be_settled() -> None:
    finding, survey = boards.all_original()
    origin = f.Origin(original=0.47, later_work=0.0, replacement=0.53)
    parts = (finding.parts[0].model_copy(update={"origin": origin}), *finding.parts[1:])
    found = finding.model_copy(update={"parts": parts})
    text = note(found, survey, "owner", "txt")
    kept, open_ = text.split("What could not be settled")
    assert "No later work could be made out" not in text
    assert not re.search(r"(?m)^U1 ", kept)
    assert re.search(r"(?m)^U1 .* 47% +53%$", open_)
    assert "Origin not settled: U1 (original: 47%)" in flat(note(found, survey, "listing", "txt"))


def test_no_word_or_figure_claims_more_than_the_bound_on_the_error_bears() -> None:
    finding, survey = boards.synthesiser()
    method = finding.method.model_copy(update={"error_bound": 0.1})
    loose = finding.model_copy(update={"method": method})
    text = screen_text(loose, survey) + note(loose, survey, "archive", "txt")
    text += note(loose, survey, "listing", "txt")
    for number in re.findall(r"([\d.]+)%", text):
        assert float(number) <= 90, number
    for word in ("extremely likely", "virtually certain"):
        assert word not in text
    assert bounded(finding) is finding
    hopeless = loose.model_copy(update={"method": method.model_copy(update={"error_bound": 0.8})})
    assert bounded(hopeless) is hopeless


def test_a_group_told_by_its_part_is_no_alternative_in_a_work() -> None:
    """One socketed part that came later for sure, and a group that one work may have fitted too."""
    finding, survey = boards.synthesiser()
    origin = f.Origin(original=0.05, later_work=0.42, replacement=0.53)
    card = finding.groups[1].model_copy(
        update={"name": "voice cards (socketed)", "parts": ("U14",), "later_work": 0.42}
    )
    power = finding.groups[3].model_copy(update={"later_work": 0.3})
    parts = tuple(
        p.model_copy(update={"origin": origin, "group": card.name}) if p.ref == "U14" else p
        for p in finding.parts
    )
    work = finding.later_works[1].model_copy(
        update={"probability": 0.44, "groups": (card.name, "power"), "parts": ("U14", "U42")}
    )
    update = {"parts": parts, "later_works": (work,), "groups": (card, power)}
    said = summary(finding.model_copy(update=update), survey)
    assert said[1].startswith("Not ruled out as later work: power (U42): unlikely (30%)")
    assert any(s.startswith("U14 not original: extremely likely (95%); fitted later") for s in said)


def test_works_are_told_by_date() -> None:
    finding, survey = boards.synthesiser()
    later, sooner = finding.later_works[:2]
    assert later.median > sooner.median
    likelier = sooner.model_copy(update={"probability": 0.6})
    found = finding.model_copy(update={"later_works": (later, likelier)})
    assert [said.work.median for said in claims(found)] == [sooner.median, later.median]
    assert summary(found, survey)[1].startswith("Later work: power")
