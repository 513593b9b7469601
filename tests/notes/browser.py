"""A headless Chromium for looking at the report, and screenshots of it.

``python -m tests.notes.browser FOLDER`` writes screenshots of the made-up boards at the widths of a
phone and a desk, in light and dark, and as printed on A4 and Letter.
"""

from __future__ import annotations

import base64
import json
import os
import shutil
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import TYPE_CHECKING, Any

from provenance.notes.report import report_html
from tests.notes import boards

if TYPE_CHECKING:
    from selenium import webdriver

FLAGS = (
    "--headless=new",
    "--no-sandbox",
    "--disable-gpu",
    "--disable-quic",
    "--no-first-run",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
    "--hide-scrollbars",
)
PAPERS = {"A4": (8.27, 11.69), "Letter": (8.5, 11.0)}
"""Width and height in inches. Source: ISO 216 and ANSI Y14.1."""
ROOT = Path(__file__).parents[2]


@contextmanager
def chromium() -> Iterator[webdriver.Chrome]:
    """A browser that records its console and every request."""
    from selenium import webdriver  # noqa: PLC0415 - needed only where a browser is
    from selenium.webdriver.chrome.service import Service  # noqa: PLC0415

    options = webdriver.ChromeOptions()
    options.binary_location = shutil.which("chromium") or "chromium"
    options.set_capability("goog:loggingPrefs", {"browser": "ALL", "performance": "ALL"})
    with TemporaryDirectory() as profile:
        for flag in (*FLAGS, f"--user-data-dir={profile}"):
            options.add_argument(flag)
        service = Service(shutil.which("chromedriver") or "chromedriver")
        driver = webdriver.Chrome(options=options, service=service)
        try:
            yield driver
        finally:
            driver.quit()


def show(driver: webdriver.Chrome, page: Path, width: int, *, dark: bool = False) -> None:
    """Open a page at a width in CSS pixels, in light or dark."""
    driver.execute_cdp_cmd(
        "Emulation.setDeviceMetricsOverride",
        {"width": width, "height": 900, "deviceScaleFactor": 1, "mobile": width < 600},
    )
    scheme = "dark" if dark else "light"
    driver.execute_cdp_cmd(
        "Emulation.setEmulatedMedia",
        {
            "features": [
                {"name": "prefers-color-scheme", "value": scheme},
                {"name": "prefers-reduced-motion", "value": "reduce"},
            ]
        },
    )
    # The browser's own first page has logs of its own.
    driver.get("about:blank")
    console(driver)
    requests(driver)
    driver.get(page.as_uri())


def console(driver: webdriver.Chrome) -> list[str]:
    """What the page has said on the console since it was last asked."""
    return [entry["message"] for entry in driver.get_log("browser")]


def requests(driver: webdriver.Chrome) -> list[str]:
    """The addresses that the page has asked for since it was last asked, blocked ones too."""
    events = [json.loads(e["message"])["message"] for e in driver.get_log("performance")]
    return [
        event["params"]["request"]["url"]
        for event in events
        if event["method"] == "Network.requestWillBeSent"
    ]


def pdf(driver: webdriver.Chrome, paper: str) -> bytes:
    """The page as printed."""
    width, height = PAPERS[paper]
    printed = driver.execute_cdp_cmd(
        "Page.printToPDF",
        {
            "paperWidth": width,
            "paperHeight": height,
            "printBackground": True,
            "preferCSSPageSize": False,
        },
    )
    return base64.b64decode(printed["data"])


def screenshot(driver: webdriver.Chrome) -> bytes:
    """The whole page as PNG."""
    taken = driver.execute_cdp_cmd(
        "Page.captureScreenshot", {"captureBeyondViewport": True, "format": "png"}
    )
    return base64.b64decode(taken["data"])


def axe(driver: webdriver.Chrome) -> list[dict[str, Any]]:
    """What axe-core finds wrong with the page, by every rule it has."""
    place = Path(os.environ.get("AXE_CORE", ROOT / "node_modules/axe-core/axe.min.js"))
    if not place.is_file():
        raise FileNotFoundError(f"{place}: axe-core is not there. Fix: npm install axe-core")
    driver.execute_script(place.read_text(encoding="utf-8"))
    found = driver.execute_async_script(
        "const done = arguments[arguments.length - 1]; axe.run(document).then(done);"
    )
    assert len(found["passes"]) > 20, "axe-core looked at the page"
    return [
        {"rule": v["id"], "where": [n["target"] for n in v["nodes"]], "why": v["help"]}
        for v in found["violations"]
    ]


def main(folder: Path) -> None:
    """Write the screenshots and prints."""
    folder.mkdir(parents=True, exist_ok=True)
    with chromium() as driver:
        for name, make in boards.CASES.items():
            stem = name.replace(" ", "-")
            page = folder / f"{stem}.html"
            page.write_text(report_html(*make()), encoding="utf-8")
            for width in (390, 1280):
                for dark in (False, True):
                    show(driver, page, width, dark=dark)
                    shot = folder / f"{stem}-{width}{'-dark' if dark else ''}.png"
                    shot.write_bytes(screenshot(driver))
                    print(shot)
            for paper in PAPERS:
                show(driver, page, 1280)
                (folder / f"{stem}-{paper}.pdf").write_bytes(pdf(driver, paper))


if __name__ == "__main__":
    main(Path(sys.argv[1]))
