"""Prices and wages in a real browser: typed, refused, put back, and seen whole."""

from __future__ import annotations

import json
import re
from pathlib import Path

import pytest

from scorer.store import Store
from tests.app.serving import find_chromium
from tests.app.windows import Place, dollars, metric, wait_for_run

playwright = pytest.importorskip("playwright.sync_api", reason="playwright is not installed")
pytestmark = [
    pytest.mark.browser,
    pytest.mark.skipif(find_chromium() is None, reason="no Chromium browser on this machine"),
]
expect = playwright.expect


def test_a_price_that_is_typed_moves_the_scope(chromium, address: str, data: Path):
    window = Place(chromium, address)
    tab = window.open("scope?home=1")
    before = dollars(metric(tab, "Cost of the work"))
    tab.locator(".st-key-pages a", has_text="Price book").click()
    window.settle()
    tab.get_by_label("Find").fill("wall paint, washable")
    tab.get_by_label("Find").press("Enter")
    field = tab.get_by_label("Typical, $: Wall paint, washable, light neutral")
    expect(field).to_be_visible()
    field.fill("150")
    field.press("Tab")
    expect(tab.get_by_label("High, $: Wall paint, washable, light neutral")).to_have_value("150")
    own = json.loads(Store(data / "homes.sqlite").price_rows()["wall_paint"])
    assert (own["typical_usd"], own["source"]) == (150.0, "own figure")
    tab.locator(".st-key-pages a", has_text="Scope of work").click()
    window.settle()
    tab.locator('[data-testid="stMetricValue"]').first.wait_for()
    after = dollars(metric(tab, "Cost of the work"))
    assert after != before
    tab.locator(".st-key-pages a", has_text="Price book").click()
    window.settle()
    tab.get_by_role("button", name=re.compile("Go back to the program")).click()
    expect(tab.get_by_role("button", name="Undo", exact=True)).to_be_visible()
    assert Store(data / "homes.sqlite").price_rows() == {}
    window.clean()


def first_price_typed(window: Place, figure: str) -> tuple[playwright.Locator, str]:
    """The first price's field once a figure was typed, and what stood there before."""
    field = window.open("price-book").locator('.sheet input[type="number"]').first
    before = field.input_value()
    field.fill(figure)
    field.press("Tab")
    return field, before


def test_a_price_below_nothing_is_not_taken(chromium, address: str, data: Path):
    window = Place(chromium, address)
    field, before = first_price_typed(window, "-4")
    wait_for_run(window.tab)
    assert field.input_value() == before
    assert Store(data / "homes.sqlite").price_rows() == {}


def test_a_wage_that_is_typed_is_kept(chromium, address: str, data: Path):
    window = Place(chromium, address, "phone")
    tab = window.open("price-book")
    tab.get_by_text("What an hour costs, by trade").click()
    tab.get_by_label("Typical, $ an hour: Painter").fill("66")
    tab.get_by_label("Typical, $ an hour: Painter").press("Tab")
    expect(tab.get_by_text("kept as your own figure").first).to_be_visible()
    tab.get_by_label("You could do it: Painter").uncheck()
    wait_for_run(tab)
    wages = Store(data / "homes.sqlite").value("own wages")
    painter = json.loads(wages["painter"])
    assert (painter["typical_usd_per_hour"], painter["own_possible"]) == (66.0, False)
    window.clean()


def test_the_last_column_of_the_wages_is_not_cut(chromium, address: str):
    tab = Place(chromium, address).open("price-book")
    tab.get_by_text("What an hour costs, by trade").click()
    expect(tab.get_by_label("Typical, $ an hour: Painter")).to_be_visible()
    for sheet in tab.locator(".sheet").all():
        assert sheet.evaluate("sheet => sheet.scrollWidth - sheet.clientWidth") <= 0


def test_a_price_typed_by_mistake_is_undone(chromium, address: str, data: Path):
    window = Place(chromium, address)
    field, before = first_price_typed(window, "9999")
    window.tab.get_by_role("button", name="Undo", exact=True).click()
    expect(field).to_have_value(before)
    assert Store(data / "homes.sqlite").price_rows() == {}
    window.clean()
