"""Facts typed on the page: asking price, rent, rooms and size of a home that came as photos."""

from __future__ import annotations

from pathlib import Path

import pytest
from pydantic import ValidationError
from streamlit.testing.v1 import AppTest
from streamlit.testing.v1.element_tree import NumberInput

from app.bounds import bounds
from scorer.listing.listing import Listing
from scorer.money.comps import Comp
from tests.app.test_pages import button, opened, store_of


def field(at: AppTest, label: str) -> NumberInput:
    return next(f for f in at.number_input if f.label == label)


def facts_shown(at: AppTest) -> str:
    return "".join(h.body for h in at.get("html"))


def walk(home: int = 2) -> AppTest:
    at = opened("walk")
    at.selectbox(key="home_box").set_value(home).run()
    return at


def test_facts_are_typed_kept_and_undone(data: Path):
    at = walk()  # its listing has no rent
    assert "let for" not in facts_shown(at)
    field(at, "Present rent a month, $").set_value(640.0)
    field(at, "Asking price, $").set_value(99_500.0)
    button(at, "Keep the facts").click().run()
    assert not at.exception
    listing = store_of(data).home(2).listing
    assert (listing.monthly_rent_usd, listing.list_price_usd) == (640.0, 99_500.0)
    assert "let for $640 a month" in facts_shown(at)
    button(at, "Undo").click().run()
    assert store_of(data).home(2).listing.monthly_rent_usd is None
    assert (
        field(at, "Present rent a month, $").value is None
    )  # shown as it was, not as it was typed


def test_a_size_that_is_undone_is_shown_as_it_was(data: Path):
    at = walk()
    field(at, "Length, ft").set_value(11.5)
    button(at, "Keep the size").click().run()
    assert field(at, "Length, ft").value == 11.5
    button(at, "Undo").click().run()
    assert field(at, "Length, ft").value is None


def test_the_next_tag_does_not_take_the_grade_of_the_last(data: Path):
    at = walk()
    tag = next(s for s in at.selectbox if s.label == "Condition")
    tag.set_value("sagging_floor")
    grade = next(g for g in at.button_group if (g.key or "").startswith("grade_"))
    grade.set_value(3)
    button(at, "Keep this tag").click().run()
    assert store_of(data).home(2).tags[-1].severity == 3
    grade = next(g for g in at.button_group if (g.key or "").startswith("grade_"))
    assert grade.value == 2


def test_the_fields_take_what_the_records_take_and_no_more(data: Path):
    at = walk()
    for label, name in (
        ("Asking price, $", "list_price_usd"), ("Year built", "year_built"), ("Units", "units"),
    ):  # fmt: skip
        shown = field(at, label)
        for value in (shown.min, shown.max):
            Listing.model_validate({"home": "a", name: value})
        for value in (shown.min - 1, shown.max + 1):
            with pytest.raises(ValidationError):
                Listing.model_validate({"home": "a", name: value})
    assert field(at, "Living area, sq ft").min == 1.0  # more than nothing
    assert isinstance(bounds(Listing, "units", 2)["value"], int)
    assert isinstance(bounds(Listing, "list_price_usd", 90_000)["value"], float)
    assert bounds(Comp, "baths", step=0.5)["format"] == "%.1f"
