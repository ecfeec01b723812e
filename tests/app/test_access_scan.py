"""An accessibility scan by axe-core of every page, at desk and phone width."""

from __future__ import annotations

import io
import os
from pathlib import Path

import pytest

from scorer.money.lettings import Letting
from scorer.store import Store, TakenPhoto
from scorer.store.photo_files import keep_photo_file
from scorer.upgrades.learning import FinishedJob
from tests.app.serving import find_chromium
from tests.homes import LIGHT, room_picture
from tests.sheet.test_sheet import sheet as viewing_sheet

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


def _pixels() -> bytes:
    out = io.BytesIO()
    room_picture(LIGHT).save(out, "PNG")
    return out.getvalue()


PIXELS = _pixels()


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
            found += _serious(tab, script, path)
        browser.close()
    assert found == []


def _serious(tab: playwright.Page, script: str, path: str) -> list[tuple[str, str, str]]:
    """What the scan finds that is serious or worse: (page, rule, element)."""
    tab.evaluate(script)
    scan = tab.evaluate("axe.run()")
    assert len(scan["passes"]) > 10, "the scan did not run"
    return [
        (path, v["id"], v["nodes"][0]["html"][:200])
        for v in scan["violations"]
        if v["impact"] in ("serious", "critical")
    ]


def _with_photos_and_a_rent(data: Path) -> None:
    store = Store(data / "homes.sqlite")
    picture = io.BytesIO()
    room_picture(LIGHT, seed=3).save(picture, "JPEG")
    file = keep_photo_file(store.photo_folder, picture.getvalue(), "a.jpg")
    store.add_photos(
        1,
        store.home(1).version,
        [
            TakenPhoto(file=file, room="kitchen", note="north wall"),
            TakenPhoto(file=file, room="kitchen", condition="dark_walls", note="close-up"),
            TakenPhoto(file=file, room="kitchen", stage="after", note="painted"),
        ],
    )
    letting = Letting(rent_before_usd=800, rent_usd=880, planned_lift_usd=40, note="furnished")
    store.add_letting(1, store.home(1).version, letting)
    job = FinishedJob(upgrade="faucet", room="kitchen", planned_hours=2, actual_hours=3)
    store.add_job(1, store.home(1).version, job)
    store.close()


@pytest.mark.parametrize("width", [1280, 390])
def test_own_photos_plan_against_actual_and_the_sheet_have_no_serious_finding(
    data: Path, address: str, tmp_path: Path, width: int
):
    _with_photos_and_a_rent(data)
    script = AXE.read_text(encoding="utf-8")
    sheet = tmp_path / "sheet.html"
    sheet.write_text(viewing_sheet(), encoding="utf-8")
    found = []
    with playwright.sync_playwright() as runner:
        browser = runner.chromium.launch(executable_path=CHROMIUM, args=["--no-sandbox"])
        context = browser.new_context(viewport={"width": width, "height": 900}, bypass_csp=True)
        tab = context.new_page()
        for path, words in (("walk-through?home=1", "Your own"), ("scope?home=1", "The rent it")):
            tab.goto(f"{address}/{path}")
            tab.locator("summary", has_text=words).wait_for(timeout=60_000)
            tab.wait_for_timeout(1_500)
            tab.evaluate(
                "document.querySelectorAll('details:not([open]) > summary')"
                ".forEach((summary) => summary.click())"
            )
            tab.locator("details img").first.wait_for(timeout=60_000)
            tab.wait_for_timeout(1_500)
            found += _serious(tab, script, path)
        tab.goto(sheet.as_uri())
        photo = {"name": "a.png", "mimeType": "image/png", "buffer": PIXELS}
        tab.get_by_label("Choose photos: the whole kitchen").set_input_files(photo)
        tab.locator("figure img").wait_for()
        found += _serious(tab, script, "sheet")
        browser.close()
    assert found == []
