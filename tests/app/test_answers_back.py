"""A sheet's answers are brought in on the page and taken back: at once, or later."""

from __future__ import annotations

import json
from pathlib import Path

import pytest
import streamlit as st
from streamlit.testing.v1 import AppTest

from scorer.conditions.finding import Tag
from scorer.sheet.answers import FORMAT, VERSION
from tests.app.test_pages import button, opened, store_of, words

SHEET = {
    "format": FORMAT,
    "version": VERSION,
    "home": "1 oak street",
    "written_at": "2026-05-30T13:00:00Z",
    "rooms": [{"name": "kitchen", "length_ft": 11.5}],
    "note": "smells of gas",
    "answers": [
        {
            "room": "kitchen",
            "condition": "odor",
            "present": True,
            "answered_at": "2026-05-30T12:10:00Z",
        }
    ],
}
BACK = "Take the last answers back"


@pytest.fixture
def at(data: Path) -> AppTest:
    """The walk-through after a sheet was brought in."""
    page = opened("walk")
    page.selectbox(key="home_box").set_value(1).run()
    assert BACK not in [b.label for b in page.button]
    box = next(u for u in page.file_uploader if (u.key or "").startswith("answers_"))
    box.set_value([("answers.json", json.dumps(SHEET).encode(), "application/json")])
    page.run()
    button(page, "Bring the answers in").click().run()
    home = store_of(data).home(1)
    assert (len(home.tags), home.note, len(home.rooms)) == (1, "smells of gas", 1)
    return page


def nothing_left(data: Path) -> bool:
    home = store_of(data).home(1)
    return (home.tags, home.note, home.rooms) == ((), "", ())


def test_the_answers_are_undone_at_once(at: AppTest, data: Path) -> None:
    assert "The answers are in" in words(at)
    button(at, "Undo").click().run()
    assert nothing_left(data)
    assert "Undone" in words(at)
    assert BACK not in [b.label for b in at.button]


def test_they_are_taken_back_in_a_later_session_and_what_was_typed_since_stays(
    at: AppTest, data: Path
) -> None:
    store = store_of(data)
    store.type_note(1, {"smells of gas"}, "smells of gas, and how")
    store.add_tags(1, 2, [Tag(room="kitchen", condition="dirty_trim")])
    st.cache_resource.clear()
    again = opened("walk")
    again.selectbox(key="home_box").set_value(1).run()
    button(again, BACK).click().run()
    assert "What was changed since stays: the words in the note." in words(again)
    home = store_of(data).home(1)
    assert [tag.condition for tag in home.tags] == ["dirty_trim"]
    assert (home.note, home.rooms) == ("smells of gas, and how", ())


def test_the_same_file_brings_them_back_and_twice_changes_nothing(at: AppTest, data: Path) -> None:
    button(at, BACK).click().run()
    assert nothing_left(data)
    for _ in range(2):
        box = next(u for u in at.file_uploader if (u.key or "").startswith("answers_"))
        box.set_value([("answers.json", json.dumps(SHEET).encode(), "application/json")])
        at.run()
        button(at, "Bring the answers in").click().run()
    assert store_of(data).home(1).note == "smells of gas"
    assert "Undo" not in [b.label for b in at.button]  # the second time brought nothing
    button(at, BACK).click().run()
    assert nothing_left(data)
