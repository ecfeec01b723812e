"""The whole job with the keyboard alone: nothing out of reach, the focus seen, never lost."""

from __future__ import annotations

from pathlib import Path

import pytest

from scorer.conditions.checklist import load_conditions
from scorer.store import Store
from tests.app.serving import find_chromium
from tests.app.windows import LONG_MS, Window

playwright = pytest.importorskip("playwright.sync_api", reason="playwright is not installed")
pytestmark = [
    pytest.mark.browser,
    pytest.mark.skipif(find_chromium() is None, reason="no Chromium browser on this machine"),
]
expect = playwright.expect
LEAK = load_conditions()["leak_below_bath"].label
MOST_TABS = 150
DEEP = """let e = document.activeElement;
  while (e?.shadowRoot?.activeElement) e = e.shadowRoot.activeElement;"""
NAME = f"""() => {{ {DEEP}
  return (e?.getAttribute('aria-label') || e?.innerText || '').trim(); }}"""
BOX = f"""() => {{ {DEEP}
  const {{ x, y, width, height }} = e.getBoundingClientRect();
  return {{ x, y, width, height }}; }}"""
LEAVE = f"() => {{ {DEEP} window.held = e; e.blur(); }}"
BACK = "() => window.held.focus()"


class Keys:
    """A tab that no mouse touches."""

    def __init__(self, window: Window) -> None:
        self.window, self.tab = window, window.tab
        self.press = window.tab.keyboard.press

    def focused(self) -> str:
        return str(self.tab.evaluate(NAME))

    def reach(self, name: str, *, back: bool = False) -> None:
        """Press Tab until the focus is on what is called so, and see that it is seen."""
        for _ in range(MOST_TABS):
            self.press("Shift+Tab" if back else "Tab")
            if self.focused().startswith(name):
                self.is_seen(name)
                return
        raise AssertionError(f"{name} is not reached by {MOST_TABS} tabs")

    def is_seen(self, name: str) -> None:
        """What is in the focus looks otherwise than without it, and stands in the window."""
        self.tab.wait_for_timeout(300)
        box = self.tab.evaluate(BOX)
        lowest = self.window.high - box["height"]
        assert 0 <= box["y"] <= lowest, f"{name} lies outside the window"
        clip = {
            "x": max(0, box["x"] - 6), "y": max(0, box["y"] - 6),
            "width": box["width"] + 12, "height": box["height"] + 12,
        }  # fmt: skip
        with_focus = self.tab.screenshot(clip=clip, caret="hide")
        self.tab.evaluate(LEAVE)
        self.tab.wait_for_timeout(300)
        without = self.tab.screenshot(clip=clip, caret="hide")
        self.tab.evaluate(BACK)
        assert with_focus != without, f"the focus on {name} is not seen"


def test_from_the_list_to_the_report_without_a_mouse(
    chromium: playwright.Browser, address: str, data: Path, tmp_path: Path
):
    window = Window(chromium, address, "desk")
    tab, keys = window.tab, Keys(window)
    tab.goto(address)
    window.settle()

    # Open a home.
    keys.reach("Open")
    keys.press("Enter")
    expect(tab.locator("h1")).to_have_text("Walk-through")
    window.settle()
    home = int(tab.url.split("home=")[1])

    # Tag a condition of another room.
    keys.reach("Kitchen")
    keys.press("ArrowRight")
    keys.press("Enter")
    window.settle()
    assert keys.focused().startswith("Bathroom 1"), "the focus was lost with the run"
    keys.reach("Condition")
    tab.keyboard.type(LEAK[:10])
    expect(tab.get_by_role("option", name=LEAK)).to_be_visible()
    keys.press("Enter")
    keys.reach("Slight")
    keys.press("ArrowRight")
    keys.press("ArrowRight")
    keys.press("Space")
    keys.reach("Note")
    tab.keyboard.type("stain below")
    keys.reach("Keep this tag")
    keys.press("Enter")
    expect(tab.get_by_text("Kept.").first).to_be_visible(timeout=LONG_MS)
    window.settle()
    (tag,) = Store(data / "homes.sqlite").home(home).tags
    assert (tag.room, tag.condition, tag.severity) == ("bathroom 1", "leak_below_bath", 3)
    assert tag.note == "stain below"
    assert keys.focused().startswith("Keep this tag"), "the focus was lost with the run"

    # See the scope wait for it.
    keys.reach("Next: the scope of work for this home")
    keys.press("Enter")
    expect(tab.locator("h1")).to_have_text("Scope of work")
    window.settle()
    expect(tab.get_by_text("Who must look").first).to_be_visible()

    # Set a budget, and overrule the program.
    keys.reach("Budget, $")
    keys.press("Control+A")
    tab.keyboard.type("3000")
    keys.press("Enter")
    expect(tab.get_by_text("$3,000", exact=True).first).to_be_visible(timeout=LONG_MS)
    window.settle()
    assert keys.focused() == "Budget, $", "the focus was lost with the run"
    assert Store(data / "homes.sqlite").settings().budget_usd == 3_000.0
    keys.reach("Your say: ")
    say = keys.focused()
    tab.keyboard.type("Leave")  # a blank would open the list
    expect(tab.get_by_text("Your say is kept").first).to_be_visible(timeout=LONG_MS)
    window.settle()
    assert keys.focused() == say, "the focus was lost with the run"
    assert len(Store(data / "homes.sqlite").home(home).must_not) == 1

    # Take it back, and take the report along.
    keys.reach("Undo", back=True)
    keys.press("Enter")
    expect(tab.get_by_text("Undone").first).to_be_visible(timeout=LONG_MS)
    assert Store(data / "homes.sqlite").home(home).must_not == ()
    keys.reach("Report to print (PDF)")
    with tab.expect_download(timeout=LONG_MS) as waiting:
        keys.press("Enter")
    report = tmp_path / "report.pdf"
    waiting.value.save_as(report)
    assert report.read_bytes().startswith(b"%PDF")
    assert window.errors == []


@pytest.mark.parametrize("page", ["", "walk-through", "scope", "fit", "shortlist", "price-book"])
def test_the_way_from_page_to_page_shows_the_focus(
    chromium: playwright.Browser, address: str, page: str
):
    window = Window(chromium, address, "desk")
    window.tab.goto(f"{address}/{page}")
    window.settle()
    keys = Keys(window)
    for name in ("Homes", "Walk-through", "Scope of work", "Price book"):
        keys.reach(name)
