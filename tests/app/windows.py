"""Windows of a real browser, and what the tests read in them."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from tests.app.serving import ARTEFACTS

playwright = pytest.importorskip("playwright.sync_api", reason="playwright is not installed")

WIDTHS = {"desk": (1280, 900), "phone": (390, 844)}
PAGES = {
    "homes": "Which homes would cheap work lift?",
    "walk-through": "Walk-through",
    "scope": "Scope of work",
    "fit": "Does it fit?",
    "shortlist": "Shortlist",
    "price-book": "Price book",
}
LONG_MS = 60_000


class Window:
    """A tab that takes down what it asked for beyond the page, and what its console said."""

    def __init__(self, browser: playwright.Browser, address: str, width: str) -> None:
        wide, high = WIDTHS[width]
        self.address, self.width, self.high = address, wide, high
        self.context = browser.new_context(viewport={"width": wide, "height": high})
        self.tab = self.context.new_page()
        self.remote: list[str] = []
        self.errors: list[str] = []
        self.tab.on("request", self._request)
        self.tab.on("console", self._console)
        self.tab.on("pageerror", lambda error: self.errors.append(str(error)))

    def _request(self, request: playwright.Request) -> None:
        host = re.sub(r"^(https?|wss?)://", "", self.address)
        if not re.match(rf"(https?|wss?)://{re.escape(host)}|data:|blob:", request.url):
            self.remote.append(request.url)

    def _console(self, message: playwright.ConsoleMessage) -> None:
        # Streamlit asks below the page's own address first and then at the root: a 404 by design.
        expected = "_stcore" in str(message.location.get("url", "")) and "404" in message.text
        if message.type == "error" and not expected:
            self.errors.append(message.text)

    def settle(self) -> None:
        """Wait until the page has been drawn."""
        self.tab.wait_for_selector("h1", timeout=LONG_MS)
        self.tab.wait_for_selector('[data-testid="stProgress"]', state="detached", timeout=LONG_MS)
        self.tab.wait_for_function(
            "document.querySelector('[data-testid=stApp]').dataset.testScriptState !== 'running'",
            timeout=LONG_MS,
        )
        self.tab.wait_for_timeout(500)

    def picture(self, name: str) -> None:
        """Keep a picture of the whole page."""
        ARTEFACTS.mkdir(parents=True, exist_ok=True)
        high = self.tab.evaluate("document.querySelector('[data-testid=stMain]').scrollHeight")
        self.tab.set_viewport_size({"width": self.width, "height": min(int(high) + 40, 7_000)})
        self.tab.wait_for_timeout(400)
        self.tab.screenshot(path=ARTEFACTS / f"{name}_{self.width}.png")
        self.tab.set_viewport_size({"width": self.width, "height": self.high})


class Place(Window):
    """A window somewhere: with a language, a clock and a light or dark screen."""

    def __init__(
        self, browser: playwright.Browser, address: str, width: str = "desk", **place: str
    ) -> None:
        super().__init__(browser, address, width)
        self.context.close()
        size = {"width": self.width, "height": self.high}
        self.context = browser.new_context(viewport=size, **place)
        self.tab = self.context.new_page()
        self.tab.on("request", self._request)
        self.tab.on("console", self._console)
        self.tab.on("pageerror", lambda error: self.errors.append(str(error)))

    def open(self, path: str) -> playwright.Page:
        self.tab.goto(f"{self.address}/{path}")
        self.settle()
        return self.tab

    def clean(self) -> None:
        assert self.errors == []
        assert self.remote == []


def metric(tab: playwright.Page, label: str) -> str:
    box = tab.locator('[data-testid="stMetric"]', has_text=label)
    return str(box.locator('[data-testid="stMetricValue"]').inner_text())


def dollars(text: str) -> int:
    found = re.search(r"(−?)\$([\d,]+)", text)
    assert found, text
    return int(found[2].replace(",", "")) * (-1 if found[1] else 1)


def wait_for_run(tab: playwright.Page) -> None:
    tab.wait_for_timeout(150)
    tab.wait_for_function(
        "document.querySelector('[data-testid=stApp]').dataset.testScriptState !== 'running'",
        timeout=LONG_MS,
    )
    tab.wait_for_timeout(150)


def saved(tab: playwright.Page, label: str, folder: Path) -> Path:
    with tab.expect_download(timeout=LONG_MS) as waiting:
        tab.get_by_role("button", name=label).click()
    target = folder / waiting.value.suggested_filename
    waiting.value.save_as(target)
    return target
