"""What holds for all homes, or for many at once, comes back with one click."""

from __future__ import annotations

from pathlib import Path

from scorer.upgrades.pricebook import load_price_book
from tests.app.test_pages import button, opened, store_of, titles


def test_own_wages_given_up_come_back_with_one_click(data: Path):
    wage = load_price_book().wages["painter"].model_copy(update={"high_usd_per_hour": 99.0})
    store_of(data).save_value("own wages", {"painter": wage.model_dump_json()})
    at = opened("prices")
    button(at, "Go back to the program’s wages").click().run()
    assert not store_of(data).value("own wages")
    button(at, "Undo").click().run()
    assert set(store_of(data).value("own wages")) == {"painter"}


def test_the_invented_homes_taken_off_come_back_with_one_click(data: Path):
    at = opened()
    shown = len(titles(at))
    button(at, "Take the 3 invented homes off the list").click().run()
    assert store_of(data).homes() == ()
    button(at, "Undo").click().run()
    assert len(titles(at)) == shown == len(store_of(data).homes())
