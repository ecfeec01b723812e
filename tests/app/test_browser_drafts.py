"""What was typed into a field but not sent is offered again when the page is opened anew."""

from __future__ import annotations

import json
import re
from pathlib import Path

import pytest

from scorer.store import Store
from tests.app.serving import find_chromium
from tests.app.windows import LONG_MS, Window

playwright = pytest.importorskip("playwright.sync_api", reason="playwright is not installed")
pytestmark = [
    pytest.mark.browser,
    pytest.mark.skipif(find_chromium() is None, reason="no Chromium browser on this machine"),
]
expect = playwright.expect
OFFER = re.compile("Typed here before, but not sent")


def opened(window: Window, page: str) -> playwright.Page:
    window.tab.goto(f"{window.address}/{page}")
    window.settle()
    return window.tab


def loaded_anew(window: Window) -> playwright.Page:
    window.tab.reload()
    window.settle()
    return window.tab


def fold(tab: playwright.Page, words: str) -> None:
    tab.locator("summary", has_text=words).click()


def field(tab: playwright.Page, name: str) -> playwright.Locator:
    return tab.get_by_role("spinbutton", name=name, exact=True)


def typed(where: playwright.Locator, words: str) -> None:
    where.click()
    where.press("Control+A")
    where.press_sequentially(words)


def put_back(tab: playwright.Page) -> None:
    tab.get_by_role("button", name="Put back").click()


def left(tab: playwright.Page) -> int:
    return int(tab.evaluate("Object.keys(localStorage).filter(k => k.startsWith('draft ')).length"))


def test_a_form_that_was_not_sent_is_put_back_and_sent(
    chromium: playwright.Browser, address: str, data: Path
):
    window = Window(chromium, address, "desk")
    tab = opened(window, "walk-through?home=2")
    fold(tab, "Price, rent, rooms and size")
    typed(field(tab, "Present rent a month, $"), "640")
    typed(field(tab, "Bathrooms"), "2")
    typed(tab.get_by_label("Note", exact=True).first, "two <b>doors</b>")
    tab = loaded_anew(window)
    offer = tab.get_by_text(OFFER)
    expect(offer).to_contain_text("Present rent a month, $: 640")
    expect(offer).to_contain_text("Note: two <b>doors</b>")  # as it was typed, no markup
    window.picture("drafts")
    put_back(tab)
    expect(offer).to_have_count(0)
    expect(field(tab, "Present rent a month, $")).to_have_value("640")
    expect(field(tab, "Present rent a month, $")).to_be_visible()  # its fold was opened
    tab.get_by_role("button", name="Keep the facts").click()
    expect(tab.get_by_text("let for $640 a month")).to_be_visible(timeout=LONG_MS)
    listing = Store(data / "homes.sqlite").home(2).listing
    assert (listing.monthly_rent_usd, listing.bathrooms) == (640.0, 2)
    tab = loaded_anew(window)
    expect(tab.get_by_text(OFFER)).to_contain_text("Note: two")  # its form was not sent
    expect(tab.get_by_text(OFFER)).not_to_contain_text("640")
    tab.get_by_role("button", name="Forget it").click()
    expect(tab.get_by_text(OFFER)).to_have_count(0)
    assert left(tab) == 0
    assert window.errors == []


def test_a_figure_that_was_not_left_is_put_back_and_kept(
    chromium: playwright.Browser, address: str, data: Path
):
    window = Window(chromium, address, "phone")
    tab = opened(window, "scope?home=1")
    typed(field(tab, "Budget, $"), "4321")
    tab = loaded_anew(window)
    assert Store(data / "homes.sqlite").settings().budget_usd != 4321.0
    expect(tab.get_by_text(OFFER)).to_contain_text("Budget, $: 4321")
    put_back(tab)
    expect(tab.get_by_text("$4,321", exact=True).first).to_be_visible(timeout=LONG_MS)
    assert Store(data / "homes.sqlite").settings().budget_usd == 4321.0
    assert left(tab) == 0
    assert window.errors == []


def test_a_price_that_was_not_left_is_put_back_into_its_cell(
    chromium: playwright.Browser, address: str, data: Path
):
    window = Window(chromium, address, "desk")
    tab = opened(window, "price-book")
    cell = tab.locator('.sheet input[type="number"]').first
    name = cell.get_attribute("data-cell") or ""
    typed(cell, "77")
    tab = loaded_anew(window)
    assert Store(data / "homes.sqlite").price_rows() == {}
    put_back(tab)
    expect(tab.get_by_text("kept as your own figure").first).to_be_visible(timeout=LONG_MS)
    row, column = name.split("|")
    assert json.loads(Store(data / "homes.sqlite").price_rows()[row])[column] == 77.0
    assert left(tab) == 0
    assert window.errors == []


def test_what_was_sent_or_left_is_not_offered(chromium: playwright.Browser, address: str):
    window = Window(chromium, address, "desk")
    tab = opened(window, "scope?home=1")
    typed(field(tab, "Budget, $"), "5000")
    field(tab, "Budget, $").press("Tab")
    window.settle()
    tab = opened(window, "shortlist")
    fold(tab, "Rents of comparable homes")
    typed(field(tab, "Rent a month, $"), "900")
    field(tab, "Rent a month, $").press("Enter")
    expect(tab.get_by_text("a month is kept")).to_be_visible(timeout=LONG_MS)
    tab = loaded_anew(window)
    tab.wait_for_timeout(1_500)
    expect(tab.get_by_text(OFFER)).to_have_count(0)
    assert left(tab) == 0


def test_a_form_that_was_refused_is_still_offered(chromium: playwright.Browser, address: str):
    window = Window(chromium, address, "desk")
    tab = opened(window, "shortlist")
    fold(tab, "Rents of comparable homes")
    typed(tab.get_by_label("Address or name", exact=True), "8 Elm Street")
    tab.get_by_role("button", name="Add this rent").click()
    expect(tab.get_by_text("Type the rent a month")).to_be_visible(timeout=LONG_MS)
    tab.wait_for_function("Object.keys(localStorage).some(k => k.startsWith('draft '))")
    tab = loaded_anew(window)
    expect(tab.get_by_text(OFFER)).to_contain_text("8 Elm Street")


def test_a_form_left_for_another_room_is_offered_on_coming_back(
    chromium: playwright.Browser, address: str
):
    window = Window(chromium, address, "desk")
    tab = opened(window, "walk-through?home=1")
    typed(field(tab, "Length, ft"), "12")
    tab.locator(".st-key-pages a", has_text="Price book").click()
    window.settle()
    expect(tab.get_by_text(OFFER)).to_have_count(0)  # its field is not on this page
    tab.locator(".st-key-pages a", has_text="Walk-through").click()
    window.settle()
    expect(tab.get_by_text(OFFER)).to_contain_text("Length, ft: 12")
    put_back(tab)
    expect(field(tab, "Length, ft")).to_have_value("12.0")
    assert window.errors == []
