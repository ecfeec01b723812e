"""An accessibility scan by axe-core of every page, at desk and phone width."""

from __future__ import annotations

import os
from collections.abc import Iterator
from pathlib import Path

import pytest

from tests.app.serving import find_chromium, page

playwright = pytest.importorskip("playwright.sync_api", reason="playwright is not installed")
CHROMIUM = find_chromium()
# The scanner comes from the npm registry; .ci/run puts it there and names it.
AXE = Path(os.environ.get("AXE_CORE", "axe-core is not named by AXE_CORE"))
PAGES = ("", "walk-through", "scope", "fit", "shortlist", "price-book")
pytestmark = [
    pytest.mark.browser,
    pytest.mark.skipif(CHROMIUM is None, reason="no Chromium browser on this machine"),
    pytest.mark.skipif(not AXE.is_file(), reason="AXE_CORE does not name axe-core's axe.min.js"),
]


@pytest.fixture
def address(data: Path) -> Iterator[str]:
    with page(data) as where:
        yield where


@pytest.mark.parametrize("width", [1280, 390])
def test_no_page_has_a_serious_finding(address: str, width: int):
    script = AXE.read_text(encoding="utf-8")
    found = []
    with playwright.sync_playwright() as runner:
        browser = runner.chromium.launch(executable_path=CHROMIUM, args=["--no-sandbox"])
        context = browser.new_context(viewport={"width": width, "height": 900}, bypass_csp=True)
        tab = context.new_page()
        for path in PAGES:
            tab.goto(f"{address}/{path}")
            tab.wait_for_selector("h1", timeout=60_000)
            tab.wait_for_selector('[data-testid="stProgress"]', state="detached", timeout=60_000)
            tab.wait_for_timeout(1_500)
            tab.evaluate(script)
            scan = tab.evaluate("axe.run()")
            assert len(scan["passes"]) > 10, "the scan did not run"
            found += [
                (path, v["id"], v["nodes"][0]["html"][:200])
                for v in scan["violations"]
                if v["impact"] in ("serious", "critical")
            ]
        browser.close()
    assert found == []
