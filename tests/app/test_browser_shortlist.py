"""Homes side by side in a real browser: what belongs together stands in one row."""

from __future__ import annotations

import pytest

from tests.app.serving import find_chromium
from tests.app.windows import Window

playwright = pytest.importorskip("playwright.sync_api", reason="playwright is not installed")
pytestmark = [
    pytest.mark.browser,
    pytest.mark.skipif(find_chromium() is None, reason="no Chromium browser on this machine"),
]
LABELS = ("Cost of the work", "Rent rise a month", "Net gain", "Checklist score", "Weeks of work")


def places(found: playwright.Locator) -> list[dict[str, float]]:
    boxes = [one.bounding_box() for one in found.all()]
    assert all(boxes)
    return [box for box in boxes if box]


def opened(chromium: playwright.Browser, address: str, width: str) -> playwright.Page:
    window = Window(chromium, address, width)
    window.tab.goto(f"{address}/shortlist")
    window.settle()
    return window.tab


def test_figures_and_photos_of_a_home_stand_in_rows_and_columns(
    chromium: playwright.Browser, address: str
):
    tab = opened(chromium, address, "desk")
    # A line of facts that takes two lines in one home must not push its figures down.
    tab.locator(".va-side .va-quiet").first.evaluate("e => e.textContent = 'long '.repeat(40)")
    for label in LABELS:
        boxes = places(tab.locator(".va-side b", has_text=label))
        assert len(boxes) == 3
        assert max(b["y"] for b in boxes) - min(b["y"] for b in boxes) < 1, label
    columns = [b["x"] for b in places(tab.locator(".va-side h3"))]
    for kind in ("kitchen", "bathroom"):
        photos = [b["x"] for b in places(tab.locator(f".st-key-side_{kind} img"))]
        assert photos == pytest.approx(columns, abs=2), kind


def test_on_a_phone_homes_stand_below_each_other_and_photos_two_in_a_row(
    chromium: playwright.Browser, address: str
):
    tab = opened(chromium, address, "phone")
    titles = places(tab.locator(".va-side h3"))
    assert len({round(b["x"]) for b in titles}) == 1
    first, second, third = places(tab.locator(".st-key-side_kitchen img"))
    assert first["y"] == pytest.approx(second["y"], abs=1)
    assert first["x"] == pytest.approx(third["x"], abs=1)
    assert third["width"] == pytest.approx(first["width"], abs=1)


def test_a_long_name_leaves_its_figure_on_the_right(chromium: playwright.Browser, address: str):
    tab = opened(chromium, address, "desk")
    line = tab.locator(".va-side .va-figure", has_text="Chance that it gains more").first
    line.locator("b").evaluate("e => e.textContent += ' on a very long street'.repeat(4)")
    box, figure = line.bounding_box(), line.locator("span").bounding_box()
    assert figure["x"] + figure["width"] == pytest.approx(box["x"] + box["width"], abs=1)
    assert figure["y"] == pytest.approx(box["y"], abs=6)
