"""The page in a real browser, at desk and phone width; pictures of it go to tests/artefacts."""

from __future__ import annotations

import io
import re
import zipfile
from pathlib import Path

import pytest

from scorer.conditions.checklist import load_conditions
from scorer.store import Store
from tests.app.serving import find_chromium
from tests.app.windows import LONG_MS, PAGES, WIDTHS, Window
from tests.homes import DARK_RED, make_home

playwright = pytest.importorskip("playwright.sync_api", reason="playwright is not installed")
CHROMIUM = find_chromium()
pytestmark = [
    pytest.mark.browser,
    pytest.mark.skipif(CHROMIUM is None, reason="no Chromium browser on this machine"),
]

LEAK = load_conditions()["leak_below_bath"].label


@pytest.mark.parametrize("width", WIDTHS)
def test_every_page_is_drawn_whole_and_from_this_machine_alone(
    chromium: playwright.Browser, address: str, width: str
):
    window = Window(chromium, address, width)
    for path, title in PAGES.items():
        window.tab.goto(f"{address}/{'' if path == 'homes' else path}")
        window.settle()
        playwright.expect(window.tab.locator("h1")).to_have_text(title)
        spill = window.tab.evaluate(
            "(() => { const main = document.querySelector('[data-testid=stMain]');"
            " return main.scrollWidth - main.clientWidth; })()"
        )
        assert spill <= 0, f"{path} is {spill} px wider than the window"
        assert window.tab.get_by_text("Something went wrong").count() == 0
        window.picture(path)
    assert window.remote == []
    assert window.errors == []


def test_the_list_is_ranked_and_a_home_opens_from_it(chromium: playwright.Browser, address: str):
    window = Window(chromium, address, "desk")
    window.tab.goto(address)
    window.settle()
    titles = window.tab.locator("h3").all_inner_texts()
    assert [title.split(".")[0] for title in titles] == ["1", "2", "3"]
    assert window.tab.locator(".va-track").count() == 6, "cost and rent bars of three homes"
    assert window.tab.locator(".va-range").first.bounding_box()["width"] > 3
    window.tab.locator('[class*="st-key-open_"] button').first.click()
    playwright.expect(window.tab.locator("h1")).to_have_text("Walk-through")
    assert re.search(r"[?&]home=\d", window.tab.url)
    assert window.errors == []


def test_the_keyboard_moves_keeps_and_sets_aside(
    chromium: playwright.Browser, address: str, data: Path
):
    window = Window(chromium, address, "desk")
    window.tab.goto(address)
    window.settle()
    window.tab.keyboard.press("n")
    second = window.tab.locator("h3").nth(1).inner_text().split(". ")[1]
    playwright.expect(window.tab.get_by_text(f"In hand: {second}")).to_be_visible()
    window.tab.keyboard.press("k")
    playwright.expect(window.tab.get_by_role("button", name="Kept")).to_be_visible()
    window.tab.keyboard.press("s")
    playwright.expect(window.tab.locator("h3")).to_have_count(2)
    marks = [home.mark for home in Store(data / "homes.sqlite").homes()]
    assert sorted(marks) == ["", "", "aside"]


def test_a_tag_is_kept_and_shown_in_front_of_the_scope(
    chromium: playwright.Browser, address: str, data: Path
):
    window = Window(chromium, address, "phone")
    tab = window.tab
    tab.goto(f"{address}/walk-through?home=2")
    window.settle()
    tab.get_by_role("radio", name=re.compile("Bathroom 1")).or_(
        tab.get_by_role("button", name=re.compile("Bathroom 1"))
    ).first.click()
    window.settle()  # the form of the room before is still there until then
    tab.get_by_role("combobox", name="Condition").click()
    tab.keyboard.type(LEAK[:10])
    tab.get_by_role("option", name=LEAK).click()
    tab.get_by_label("Note", exact=True).fill("stain on the ceiling below")
    tab.get_by_role("button", name="Keep this tag").click()
    playwright.expect(tab.get_by_text("Kept.").first).to_be_visible()
    tag = Store(data / "homes.sqlite").home(2).tags[0]
    assert (tag.room, tag.note) == ("bathroom 1", "stain on the ceiling below")
    tab.goto(f"{address}/scope?home=2")
    window.settle()
    assert tab.get_by_text("Who must look").count() >= 1
    window.picture("scope_with_hold")
    assert window.errors == []


def test_a_zip_of_ones_own_photos_becomes_a_home(
    chromium: playwright.Browser, address: str, tmp_path: Path
):
    home = make_home(tmp_path / "own" / "5 pine court", DARK_RED, seed=7)
    packed = io.BytesIO()
    with zipfile.ZipFile(packed, "w") as archive:
        for photo in sorted(home.iterdir()):
            archive.write(photo, f"5 pine court/{photo.name}")
    window = Window(chromium, address, "desk")
    window.tab.goto(address)
    window.settle()
    window.tab.get_by_text("Add your own homes").click()
    window.tab.locator('input[type="file"]').first.set_input_files(
        {"name": "mine.zip", "mimeType": "application/zip", "buffer": packed.getvalue()}
    )
    window.tab.get_by_role("button", name="Add these files").click()
    playwright.expect(window.tab.locator("h3", has_text="5 pine court")).to_be_visible(
        timeout=LONG_MS
    )
    playwright.expect(window.tab.locator("h3")).to_have_count(4)
    window.tab.get_by_role("button", name="Open 5 pine court").click()
    playwright.expect(window.tab.locator("h1")).to_have_text("Walk-through")
    # It came without facts: the fields for them are open.
    window.tab.get_by_role("spinbutton", name="Asking price, $").fill("81000")
    window.tab.get_by_role("button", name="Keep the facts").click()
    playwright.expect(window.tab.get_by_text("asking $81,000")).to_be_visible()
    assert window.errors == []


def test_a_page_opens_at_its_top_also_from_far_down_the_list(
    chromium: playwright.Browser, address: str
):
    window = Window(chromium, address, "phone")
    window.tab.goto(address)
    window.settle()
    window.tab.locator('[class*="st-key-open_"] button').last.click()
    playwright.expect(window.tab.locator("h1")).to_have_text("Walk-through")
    window.settle()
    playwright.expect(window.tab.locator("h1")).to_be_in_viewport()


def test_two_windows_on_one_home_lose_nothing(
    chromium: playwright.Browser, address: str, data: Path
):
    windows = [Window(chromium, address, "desk") for _ in range(2)]
    for window in windows:
        window.tab.goto(f"{address}/walk-through?home=1")
        window.settle()
    first, second = (window.tab for window in windows)
    first.get_by_role("button", name="It is so").first.click()
    playwright.expect(first.get_by_text("Kept.").first).to_be_visible()
    second.get_by_role("button", name="Not so").first.click()
    playwright.expect(second.get_by_text("Not saved:").first).to_be_visible()
    windows[1].settle()
    tags = Store(data / "homes.sqlite").home(1).tags
    assert [tag.present for tag in tags] == [True]
    second.get_by_role("button", name="Not so").first.click()
    playwright.expect(second.get_by_text("not so. Kept.").first).to_be_visible()
    assert [tag.present for tag in Store(data / "homes.sqlite").home(1).tags] == [True, False]


def test_a_length_is_measured_with_six_clicks(chromium: playwright.Browser, address: str):
    window = Window(chromium, address, "desk")
    window.tab.goto(f"{address}/fit")
    window.settle()
    window.tab.get_by_text("Measure from a photo").click()
    picture = window.tab.locator(".pick img").first
    picture.scroll_into_view_if_needed()
    window.settle()  # a picture that still finds its size would move under the clicks
    # A 30 by 80 in door seen head-on, 60 by 160 pixels, and a length of twice its width.
    corners = [(200, 100), (260, 100), (260, 260), (200, 260), (150, 180), (270, 180)]
    for count, (x, y) in enumerate(corners, start=1):
        picture.click(position={"x": x, "y": y})
        playwright.expect(window.tab.locator(".pick svg circle")).to_have_count(
            count, timeout=LONG_MS
        )
        window.settle()
    said = window.tab.get_by_text("Measure with a tape before you buy").inner_text()
    length = int(re.findall(r"About (\d+) in", said)[0])
    assert 57 <= length <= 63
    assert window.errors == []
    assert window.remote == []
