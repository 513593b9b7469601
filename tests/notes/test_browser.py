"""The report in headless Chromium; run with ``python -m pytest -m browser``."""

from __future__ import annotations

import unicodedata
from collections.abc import Iterator
from pathlib import Path

import pytest

pytest.importorskip("selenium", reason="the browser extra is not installed")

from selenium import webdriver
from selenium.webdriver.common.by import By
from selenium.webdriver.common.keys import Keys

from provenance.notes.machine import machine_report_html
from provenance.notes.note import note
from provenance.notes.report import report_html
from tests.notes import boards, browser
from tests.notes.test_machine import machine

pytestmark = pytest.mark.browser
WIDTHS = (390, 1280)


@pytest.fixture(scope="module")
def driver() -> Iterator[webdriver.Chrome]:
    with browser.chromium() as found:
        yield found


@pytest.fixture
def page(case: boards.Case, tmp_path: Path) -> Path:
    path = tmp_path / "report.html"
    path.write_text(report_html(*case), encoding="utf-8")
    return path


@pytest.fixture
def synth(tmp_path: Path) -> Path:
    path = tmp_path / "synthesiser.html"
    path.write_text(report_html(*boards.synthesiser()), encoding="utf-8")
    return path


@pytest.mark.parametrize("width", WIDTHS)
def test_no_console_message_and_no_outside_request(
    driver: webdriver.Chrome, page: Path, width: int
) -> None:
    browser.show(driver, page, width)
    assert browser.console(driver) == []
    asked = browser.requests(driver)
    assert page.as_uri() in asked
    assert all(url == page.as_uri() or url.startswith("data:") for url in asked), asked


@pytest.mark.parametrize("dark", [False, True])
@pytest.mark.parametrize("width", WIDTHS)
def test_axe_finds_nothing(driver: webdriver.Chrome, page: Path, width: int, dark: bool) -> None:
    browser.show(driver, page, width, dark=dark)
    driver.execute_script("document.querySelectorAll('details').forEach(d => { d.open = true; });")
    assert browser.axe(driver) == []


@pytest.mark.parametrize("width", WIDTHS)
def test_the_page_does_not_scroll_sideways(
    driver: webdriver.Chrome, page: Path, width: int
) -> None:
    browser.show(driver, page, width)
    driver.execute_script("document.querySelectorAll('details').forEach(d => { d.open = true; });")
    assert driver.execute_script("return document.documentElement.scrollWidth") <= width


def test_the_table_of_parts_is_not_cut_off_on_a_wide_screen(
    driver: webdriver.Chrome, tmp_path: Path
) -> None:
    """Its last heading was, where markings are long."""
    finding, survey = boards.synthesiser()
    long = tuple(
        part.model_copy(update={"marking": "74LS244N / 8149 ABCDEFGH"}) for part in finding.parts
    )
    path = tmp_path / "wide.html"
    path.write_text(
        report_html(finding.model_copy(update={"parts": long}), survey), encoding="utf-8"
    )
    browser.show(driver, path, 1280)
    over = "const t = document.querySelector('table.parts').parentElement;"
    assert driver.execute_script(over + "return t.scrollWidth - t.clientWidth") <= 0


def test_a_marking_of_script_is_shown_and_not_run(driver: webdriver.Chrome, tmp_path: Path) -> None:
    path = tmp_path / "hostile.html"
    path.write_text(report_html(*boards.hostile()), encoding="utf-8")
    browser.show(driver, path, 1280)
    cell = driver.find_element(By.CSS_SELECTOR, "td.marking")
    assert boards.HOSTILE in cell.text
    assert len(driver.find_elements(By.TAG_NAME, "script")) == 1


def refs(driver: webdriver.Chrome) -> list[str]:
    cells = driver.find_elements(By.CSS_SELECTOR, "table.parts tbody td.ref")
    return [cell.text for cell in cells if cell.is_displayed()]


def test_the_parts_are_sorted_from_the_keyboard_and_it_is_told(
    driver: webdriver.Chrome, synth: Path
) -> None:
    browser.show(driver, synth, 1280)
    head = driver.find_element(By.CSS_SELECTOR, "th[data-name='date read']")
    button = head.find_element(By.TAG_NAME, "button")
    button.send_keys(Keys.ENTER)
    assert head.get_attribute("aria-sort") == "ascending"
    assert refs(driver)[:2] == ["U3", "U5"]
    assert refs(driver)[-1] == "U4", "no date comes last"
    status = driver.find_element(By.CSS_SELECTOR, "section [role=status]")
    assert status.text == "Sorted by date read, ascending."
    button.send_keys(Keys.SPACE)
    assert head.get_attribute("aria-sort") == "descending"
    part = driver.find_element(By.CSS_SELECTOR, "th[data-name='part'] button")
    part.click()
    assert refs(driver)[:6] == ["U1", "U2", "U3", "U4", "U5", "U11"], "by number, not by letter"


def test_the_parts_are_searched_and_the_count_is_told(
    driver: webdriver.Chrome, synth: Path
) -> None:
    browser.show(driver, synth, 1280)
    search = driver.find_element(By.CSS_SELECTOR, "input[type=search]")
    search.send_keys("74hc")
    assert refs(driver) == ["U30", "U31"]
    status = driver.find_element(By.CSS_SELECTOR, "section [role=status]")
    assert status.text == "2 of 16 parts shown."


def test_the_listing_is_copied(driver: webdriver.Chrome, synth: Path) -> None:
    browser.show(driver, synth, 1280)
    driver.find_element(By.CSS_SELECTOR, "button.copy[data-from=listing]").click()
    field = driver.find_element(By.CSS_SELECTOR, "input[type=search]")
    field.send_keys(Keys.CONTROL, "v")
    listing = " ".join(note(*boards.synthesiser(), "listing", "txt").split())
    assert field.get_attribute("value") == listing


def test_without_the_clipboard_the_text_is_selected(driver: webdriver.Chrome, synth: Path) -> None:
    browser.show(driver, synth, 1280)
    driver.execute_script(
        "Object.defineProperty(navigator, 'clipboard', {value: undefined});"
        "document.execCommand = () => false;"
    )
    button = driver.find_element(By.CSS_SELECTOR, "button.copy[data-from=listing]")
    button.click()
    told = button.find_element(By.XPATH, "following-sibling::p")
    assert told.text == "Selected: press Ctrl+C to copy."
    assert driver.execute_script("return getSelection().toString()").startswith("Six-voice")


def test_dark_and_light_differ_in_page_and_plot(driver: webdriver.Chrome, synth: Path) -> None:
    colours = []
    for dark in (False, True):
        browser.show(driver, synth, 1280, dark=dark)
        colours.append(
            driver.execute_script(
                "const of = (s, p) => getComputedStyle(document.querySelector(s))[p];"
                "return [of('body', 'backgroundColor'), of('svg text', 'fill')];"
            )
        )
    assert colours[0][0] != colours[1][0]
    assert colours[0][1] != colours[1][1]


@pytest.mark.parametrize("paper", browser.PAPERS)
def test_it_prints_with_the_weights_and_without_the_controls(
    driver: webdriver.Chrome, synth: Path, tmp_path: Path, paper: str
) -> None:
    pypdf = pytest.importorskip("pypdf", reason="the browser extra is not installed")
    browser.show(driver, synth, 1280, dark=True)
    path = tmp_path / "report.pdf"
    path.write_bytes(browser.pdf(driver, paper))
    printed = pypdf.PdfReader(path)
    width, height = browser.PAPERS[paper]
    box = printed.pages[0].mediabox
    assert abs(float(box.width) / 72 - width) < 0.05
    assert abs(float(box.height) / 72 - height) < 0.05
    read = " ".join(sheet.extract_text() for sheet in printed.pages)
    text = " ".join(unicodedata.normalize("NFKC", read).split())
    assert "8431 is five years after the others" in text
    assert "For a listing" in text
    assert "Copy the listing" not in text
    assert "Search the parts" not in text
    assert len(printed.pages) <= 7


@pytest.mark.parametrize("width", WIDTHS)
def test_the_report_of_a_machine_is_as_clean(
    driver: webdriver.Chrome, tmp_path: Path, width: int
) -> None:
    found, surveyed = machine((0.97, 0.12), 0.1, [boards.synthesiser(), boards.hostile()])
    path = tmp_path / "machine.html"
    path.write_text(machine_report_html(found, surveyed), encoding="utf-8")
    browser.show(driver, path, width)
    assert browser.console(driver) == []
    driver.execute_script("document.querySelectorAll('details').forEach(d => { d.open = true; });")
    assert browser.axe(driver) == []
    assert driver.execute_script("return document.documentElement.scrollWidth") <= width
    second = driver.find_elements(By.CSS_SELECTOR, "input[type=search]")[1]
    second.send_keys("U2")
    shown = [row for row in driver.find_elements(By.CSS_SELECTOR, "td.ref") if row.is_displayed()]
    refs_shown = [row.text for row in shown]
    assert refs_shown.count("U2") == 2, "the search of one board leaves the other alone"
    assert refs_shown[-1] == "U2"
