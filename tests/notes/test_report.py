"""The report as a page: whole, escaped, asking nothing of a network."""

from __future__ import annotations

import base64
import hashlib
import json
import re
from functools import lru_cache
from html.parser import HTMLParser

import pytest
from hypothesis import HealthCheck, given, settings

from provenance.notes.record import linked_art
from provenance.notes.report import report_html
from tests.notes import boards
from tests.notes.strategies import cases

SLOW = settings(max_examples=4, suppress_health_check=[HealthCheck.too_slow])
VOID = {"meta", "link", "input", "br"}
SVG_LEAVES = {"path", "use", "rect", "circle"}


@lru_cache
def built(name: str) -> str:
    """The report on a made-up board, drawn once."""
    return report_html(*boards.CASES[name]())


@pytest.fixture(params=list(boards.CASES))
def report(request: pytest.FixtureRequest) -> str:
    """The report on each made-up board in turn."""
    return built(request.param)


class Page(HTMLParser):
    """The tags, attributes and texts of a page; fails where tags do not nest."""

    def __init__(self, page: str) -> None:
        super().__init__()
        self.open: list[str] = []
        self.tags: list[tuple[str, dict[str, str | None]]] = []
        self.texts: dict[str, str] = {}
        self.feed(page)
        assert self.open == []

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.tags.append((tag, dict(attrs)))
        if tag not in VOID:
            self.open.append(tag)

    def handle_startendtag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.tags.append((tag, dict(attrs)))

    def handle_endtag(self, tag: str) -> None:
        assert self.open.pop() == tag

    def handle_data(self, data: str) -> None:
        if self.open:
            self.texts[self.open[-1]] = self.texts.get(self.open[-1], "") + data


def test_the_page_nests_and_every_id_is_its_own(report: str) -> None:
    page = Page(report)
    ids = [attrs["id"] for _, attrs in page.tags if "id" in attrs]
    assert len(ids) == len(set(ids))
    for _, attrs in page.tags:
        target = attrs.get("href") or ""
        if target.startswith("#"):
            assert target[1:] in ids
        for name in ("aria-labelledby", "data-from"):
            assert set((attrs.get(name) or "").split()) <= set(ids)


def test_the_page_asks_nothing_of_a_network(report: str) -> None:
    for tag, attrs in Page(report).tags:
        for name in ("src", "href", "xlink:href", "action", "data", "srcset"):
            value = attrs.get(name)
            assert value is None or value.startswith(("#", "data:")), (tag, name, value)
        assert "url(http" not in (attrs.get("style") or "")


def test_the_policy_lets_only_the_pages_own_script_run() -> None:
    text = built("hostile")
    page = Page(text)
    (policy,) = (
        a["content"] for t, a in page.tags if t == "meta" and a.get("http-equiv") is not None
    )
    scripts = re.findall(r"<script>(.*?)</script>", text, re.DOTALL)
    assert len(scripts) == 1
    digest = base64.b64encode(hashlib.sha256(scripts[0].encode()).digest()).decode()
    assert policy
    assert f"script-src 'sha256-{digest}'" in policy
    assert "default-src 'none'" in policy


def test_everything_from_the_survey_is_text() -> None:
    text = built("hostile")
    page = Page(text)
    assert [tag for tag, _ in page.tags].count("script") == 1
    assert "<script>alert" not in text
    assert boards.HOSTILE in page.texts["td"]
    assert not {"i", "b"} & {tag for tag, _ in page.tags}
    assert "\x1b" not in text
    assert "\u202e" not in text


@SLOW
@given(cases())
def test_any_finding_makes_a_page_that_nests(case: boards.Case) -> None:
    text = report_html(*case)
    Page(text)
    assert all(line.isprintable() for line in text.split("\n"))


def test_the_report_has_every_section() -> None:
    text = built("synthesiser")
    page = Page(text)
    for heading in ("Summary", "Timeline", "Board map", "Parts", "Rival accounts", "Reasons"):
        assert heading in page.texts["h2"]
    for said in ("Cautions", "What carries it", "What to look at next", "For a listing"):
        assert said in page.texts["h3"]
    assert (
        "Power. Switch off" in page.texts["strong"] + page.texts["li"]
        or "Power." in page.texts["strong"]
    )
    assert "1.4 to 1" in page.texts["td"]
    rows = [a for t, a in page.tags if t == "td" and a.get("class") == "ref"]
    assert len(rows) == len(boards.synthesiser().finding.parts)


def test_the_records_to_copy_are_the_records() -> None:
    case = boards.hostile()

    class Pre(HTMLParser):
        found = ""
        inside = False

        def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
            self.inside = tag == "pre" and ("id", "linked-art") in attrs

        def handle_endtag(self, tag: str) -> None:  # noqa: ARG002
            self.inside = False

        def handle_data(self, data: str) -> None:
            self.found += data if self.inside else ""

    pre = Pre()
    pre.feed(built("hostile"))
    assert json.loads(pre.found) == linked_art(*case)


def test_a_board_that_nothing_dates_is_reported_as_such() -> None:
    page = Page(built("undated"))
    assert "Nothing on this board dates it" in page.texts["p"]
    assert "Built between" not in page.texts["p"]
