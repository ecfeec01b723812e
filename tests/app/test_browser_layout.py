"""Every page in a real browser, on a phone and a desk, by day and by night."""

from __future__ import annotations

import re

import pytest

from tests.app.serving import ARTEFACTS, find_chromium
from tests.app.windows import PAGES, WIDTHS, Place, wait_for_run

playwright = pytest.importorskip("playwright.sync_api", reason="playwright is not installed")
pytestmark = [
    pytest.mark.browser,
    pytest.mark.skipif(find_chromium() is None, reason="no Chromium browser on this machine"),
]
expect = playwright.expect


def test_a_phone_shows_all_pages_and_the_work_as_cards(chromium, address: str):
    window = Place(chromium, address, "phone")
    tab = window.open("scope?home=1")
    links = tab.locator(".st-key-pages a")
    expect(links).to_have_count(len(PAGES))
    boxes = [link.bounding_box() for link in links.all()]
    assert all(box["height"] >= 44 for box in boxes), "a finger needs 44 px"
    assert all(box["x"] >= 0 and box["x"] + box["width"] <= 390 for box in boxes)
    assert max(box["y"] for box in boxes) < 120
    assert tab.locator('[data-testid="stExpandSidebarButton"]').count() == 0
    cards = tab.locator('tbody[data-group="in"] tr').all()
    assert len(cards) >= 3
    for card in cards:
        box = card.bounding_box()
        assert box["x"] >= 0
        assert box["x"] + box["width"] <= 390
    selects = tab.locator('tbody[data-group="in"] select').all()
    assert all(s.bounding_box()["height"] >= 44 for s in selects)
    assert tab.locator('tbody[data-group="out"]').is_hidden()
    tab.get_by_role("button", name=re.compile("Not to be done")).click()
    expect(tab.locator('tbody[data-group="out"]')).to_be_visible()
    for name in ("Shortlist", "Price book", "Homes"):
        tab.locator(".st-key-pages a", has_text=name).click()
        expect(tab.locator("h1")).to_have_text(PAGES[name.lower().replace(" ", "-")])
        wait_for_run(tab)
        assert [link.bounding_box() for link in links.all()] == boxes, "the row moved"
    window.clean()


@pytest.mark.parametrize("width", WIDTHS)
@pytest.mark.parametrize("light", ["light", "dark"])
def test_pictures_of_every_page_by_day_and_by_night(chromium, address: str, width: str, light: str):
    window = Place(chromium, address, width, color_scheme=light)
    for path in PAGES:
        tab = window.open("" if path == "homes" else path)
        grounds = tab.evaluate("getComputedStyle(document.querySelector('.stApp')).backgroundColor")
        bright = sum(int(n) for n in re.findall(r"\d+", grounds)[:3]) > 380
        assert bright == (light == "light")
        window.picture(f"{path}_{light}")
    window.clean()
    assert len(list(ARTEFACTS.glob(f"*_{light}_{window.width}.png"))) >= len(PAGES)
