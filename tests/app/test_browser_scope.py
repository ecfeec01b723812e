"""The scope of work in a real browser: limits, and work that is overruled."""

from __future__ import annotations

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


def in_scope(tab: playwright.Page) -> list[str]:
    """Ids of the work to be done, as the table shows them."""
    cells = tab.locator('tbody[data-group="in"] select')
    return [c.get_attribute("data-cell").removesuffix("|say") for c in cells.all()]


def test_a_smaller_budget_moves_every_figure(chromium, address: str, data: Path):
    window = Place(chromium, address)
    tab = window.open("scope?home=1")
    before, work = dollars(metric(tab, "Cost of the work")), in_scope(tab)
    assert before > 100
    assert len(work) >= 2
    budget = tab.get_by_label("Budget, $", exact=True)
    budget.fill("100")
    budget.press("Enter")
    expect(tab.locator('[data-testid="stMetricValue"]').first).not_to_have_text(f"${before:,}")
    wait_for_run(tab)
    fewer = in_scope(tab)
    assert len(fewer) < len(work)
    assert dollars(metric(tab, "Cost of the work")) < before
    assert Store(data / "homes.sqlite").settings().budget_usd == 100
    tab.reload()
    window.settle()
    expect(tab.locator('tbody[data-group="in"] select')).to_have_count(len(fewer))
    assert in_scope(tab) == fewer
    window.clean()


def test_work_is_overruled_with_the_mouse_and_taken_back(chromium, address: str, data: Path):
    window = Place(chromium, address)
    tab = window.open("scope?home=1")
    first = in_scope(tab)[0]
    cell = tab.locator(f'[data-cell="{first}|say"]')
    cell.focus()
    cell.select_option("must_not")
    expect(tab.locator(f'tbody[data-group="out"] [data-cell="{first}|say"]')).to_be_visible()
    assert Store(data / "homes.sqlite").home(1).must_not == (first,)
    wait_for_run(tab)
    assert cell.evaluate("e => e.getRootNode().activeElement === e"), "the focus went elsewhere"
    tab.get_by_role("button", name="Undo").click()
    expect(tab.locator(f'tbody[data-group="in"] [data-cell="{first}|say"]')).to_have_value("")
    assert Store(data / "homes.sqlite").home(1).must_not == ()
    out = tab.locator('tbody[data-group="out"] select').first.get_attribute("data-cell")
    tab.locator(f'[data-cell="{out}"]').select_option("must")
    expect(tab.locator(f'tbody[data-group="in"] [data-cell="{out}"]')).to_have_value("must")
    window.clean()


def test_the_keyboard_reaches_and_overrules_the_work(chromium, address: str, data: Path):
    window = Place(chromium, address)
    tab = window.open("scope?home=1")
    first = in_scope(tab)[0]
    tab.locator('th button[aria-expanded="true"]').first.focus()
    tab.keyboard.press("Tab")
    name = tab.locator(f'[data-cell="{first}|say"]').get_attribute("aria-label")
    assert name.startswith("Your say: ")
    assert tab.locator(f'[data-cell="{first}|say"]').evaluate(
        "e => e.getRootNode().activeElement === e"
    )
    tab.keyboard.press("End")
    expect(tab.locator(f'tbody[data-group="out"] [data-cell="{first}|say"]')).to_have_value(
        "must_not"
    )
    assert Store(data / "homes.sqlite").home(1).must_not == (first,)


def test_quick_changes_are_all_kept(chromium, address: str, data: Path):
    window = Place(chromium, address)
    tab = window.open("scope?home=1")
    work = in_scope(tab)[:3]
    assert len(work) == 3
    tab.evaluate(
        """(ids) => {
          const find = (root) => {
            for (const element of root.querySelectorAll('*')) {
              if (element.shadowRoot) {
                const inner = find(element.shadowRoot);
                if (inner) return inner;
              }
            }
            return root.querySelector('.sheet');
          };
          const sheet = find(document);
          for (const id of ids) {
            const cell = sheet.querySelector(`[data-cell="${id}|say"]`);
            cell.value = 'must';
            cell.onchange();
          }
        }""",
        work,
    )
    expect(tab.locator('tbody[data-group="in"] tr[data-say="must"]')).to_have_count(3)
    wait_for_run(tab)
    assert sorted(Store(data / "homes.sqlite").home(1).must) == sorted(work)
    window.clean()


def test_a_message_moves_nothing(chromium, address: str):
    window = Place(chromium, address)
    tab = window.open("scope?home=1")
    before = tab.locator(".sheet").first.bounding_box()["y"]
    first = in_scope(tab)[0]
    tab.locator(f'[data-cell="{first}|say"]').select_option("must")
    expect(tab.get_by_role("button", name="Undo")).to_be_visible()
    wait_for_run(tab)
    assert tab.locator(".sheet").first.bounding_box()["y"] == pytest.approx(before, abs=1)
