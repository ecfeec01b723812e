"""What is typed into a note is kept, whatever becomes of the tab."""

from __future__ import annotations

import re
import sqlite3
import time
from collections.abc import Callable
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
NOTE = "Note on this home"
WORDS = "ask about the <roof> & the furnace"


def note_of(data: Path, home: int = 1) -> str:
    return Store(data / "homes.sqlite").home(home).note


def comes_true(what: Callable[[], bool], seconds: float = 20.0) -> bool:
    ends = time.monotonic() + seconds
    while time.monotonic() < ends:
        if what():
            return True
        time.sleep(0.1)
    return what()


def field(tab: playwright.Page, name: str = NOTE) -> playwright.Locator:
    return tab.get_by_role("textbox", name=name, exact=True)


def opened(window: Window, address: str, page: str = "walk-through?home=1") -> playwright.Page:
    window.tab.goto(f"{address}/{page}")
    window.settle()
    return window.tab


def type_in(tab: playwright.Page, words: str) -> None:
    field(tab).click()
    tab.keyboard.press("Control+End")
    tab.keyboard.type(words)


def loaded_anew(tab: playwright.Page) -> None:
    tab.reload()


def another_address(tab: playwright.Page) -> None:
    tab.goto("about:blank")


def closed(tab: playwright.Page) -> None:
    tab.close()


def another_page(tab: playwright.Page) -> None:
    # Pressed as long as a finger does: Streamlit sends a field that is left some 10 ms later.
    tab.get_by_role("link", name="Scope of work").first.click(delay=80)
    expect(tab.locator("h1")).to_have_text("Scope of work")


@pytest.mark.parametrize("leave", [loaded_anew, another_address, closed, another_page])
def test_a_note_outlives_its_tab_though_the_cursor_is_in_it(
    chromium: playwright.Browser, address: str, data: Path, leave: Callable[..., None]
):
    window = Window(chromium, address, "desk")
    type_in(opened(window, address), WORDS)
    leave(window.tab)
    if leave is not another_page:  # there it went out as the field was left
        if leave is closed:
            window.tab = window.context.new_page()
        expect(field(opened(window, address))).to_have_value(WORDS)
    assert comes_true(lambda: note_of(data) == WORDS)
    assert window.errors == []


def test_a_note_is_kept_at_a_pause_and_what_was_typed_can_be_undone(
    chromium: playwright.Browser, address: str, data: Path
):
    window = Window(chromium, address, "phone")
    tab = opened(window, address)
    type_in(tab, "first")
    assert comes_true(lambda: note_of(data) == "first"), "the cursor is still in the field"
    expect(tab.get_by_text("Kept as you type.")).to_be_visible()
    assert field(tab).evaluate("e => e.getRootNode().activeElement === e"), "the focus went"
    window.picture("note")
    tab.get_by_role("button", name="Undo what was typed").click()
    assert comes_true(lambda: note_of(data) == "")
    tab.get_by_role("button", name="Undo what was typed").click()
    assert comes_true(lambda: note_of(data) == "first")
    assert window.errors == []


def test_quick_typing_loses_no_letter_and_moves_no_cursor(
    chromium: playwright.Browser, address: str, data: Path
):
    window = Window(chromium, address, "desk")
    tab = opened(window, address)
    sentence = "The boiler is old; ask for its age, and who looked at it last. " * 3
    field(tab).click()
    tab.keyboard.type(sentence, delay=35)  # longer than the longest wait: it is sent on the way
    assert comes_true(lambda: note_of(data) == sentence)
    tab.keyboard.press("Control+Home")
    tab.keyboard.type("Mind: ", delay=250)
    assert comes_true(lambda: note_of(data) == f"Mind: {sentence}")
    expect(field(tab)).to_have_value(f"Mind: {sentence}")


def test_a_tag_right_after_a_note_takes_nothing_back(
    chromium: playwright.Browser, address: str, data: Path
):
    window = Window(chromium, address, "desk")
    tab = opened(window, address)
    type_in(tab, WORDS)
    tab.get_by_role("button", name="It is so").first.click()
    expect(tab.get_by_text("Kept.", exact=False).first).to_be_visible()
    window.settle()
    assert comes_true(lambda: note_of(data) == WORDS)
    tab.get_by_role("button", name="Not so").first.click()
    assert comes_true(lambda: len(Store(data / "homes.sqlite").home(1).tags) == 2)
    assert tab.get_by_text("Not saved").count() == 0


def test_two_windows_that_type_one_note_both_stay(
    chromium: playwright.Browser, address: str, data: Path
):
    one, two = Window(chromium, address, "desk"), Window(chromium, address, "desk")
    for window in (one, two):
        opened(window, address)
    type_in(one.tab, "from the first")
    assert comes_true(lambda: note_of(data) == "from the first")
    type_in(two.tab, "from the second")
    assert comes_true(lambda: note_of(data) == "from the first\nfrom the second")
    expect(field(two.tab)).to_have_value("from the first\nfrom the second")
    type_in(two.tab, ", and on")
    assert comes_true(lambda: note_of(data) == "from the first\nfrom the second, and on")


def test_a_note_that_cannot_be_kept_says_so_and_waits(
    chromium: playwright.Browser, address: str, data: Path, monkeypatch: pytest.MonkeyPatch
):
    window = Window(chromium, address, "desk")
    tab = opened(window, address)
    other = sqlite3.connect(data / "homes.sqlite", isolation_level=None)
    other.execute("begin immediate")  # another program that holds the file
    type_in(tab, "held up")
    expect(tab.get_by_text(re.compile("Not kept.*can't be written"))).to_be_visible(timeout=LONG_MS)
    other.execute("rollback")
    other.close()
    assert note_of(data) == ""
    expect(field(tab)).to_have_value("held up")
    tab.keyboard.type("!")
    assert comes_true(lambda: note_of(data) == "held up!")
    expect(tab.get_by_text("Kept as you type.")).to_be_visible()


def test_a_decision_waits_in_its_field_and_is_kept_with_enter(
    chromium: playwright.Browser, address: str, data: Path
):
    window = Window(chromium, address, "desk")
    tab = opened(window, address, "shortlist")
    first = field(tab, "Decision, and why").first
    first.click()
    tab.keyboard.type("Offer up to $80,000")
    tab.reload()
    window.settle()
    expect(first).to_have_value("Offer up to $80,000")
    expect(tab.get_by_text("Not kept yet: press Enter.")).to_be_visible()
    store = Store(data / "homes.sqlite")
    assert [store.decisions(home) for home in (1, 2, 3)] == [(), (), ()]
    first.press("Enter")
    expect(first).to_have_value("")
    expect(tab.get_by_text(re.compile("Offer up to"))).to_be_visible()
    kept = [sentence for home in (1, 2, 3) for _, sentence in store.decisions(home)]
    assert kept == ["Offer up to $80,000"]
    assert window.errors == []
