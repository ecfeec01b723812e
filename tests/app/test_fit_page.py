"""Does it fit? Whose size is checked, what is assumed, and which photo is measured first."""

from __future__ import annotations

from pathlib import Path

from streamlit.testing.v1 import AppTest

from scorer.rooms import Room, RoomKind
from tests.app.test_pages import button, store_of, words
from tests.app.test_pages_after import page_of

ASSUMED = "No size known yet: 12 × 10 ft assumed. Measure the kitchen."


def typed(at: AppTest, label: str, value: float) -> None:
    next(f for f in at.number_input if f.label == label).set_value(value).run()


def test_an_assumed_size_is_said_until_it_is_typed_and_can_be_kept(data: Path):
    at = page_of("fit")
    assert ASSUMED in words(at)
    assert "The room’s size is assumed" in words(at)
    typed(at, "Room length, ft", 14.0)
    assert ASSUMED not in words(at)
    assert "No width known yet: 10 ft assumed." in words(at)
    typed(at, "Room width, ft", 11.0)
    assert "assumed" not in words(at)
    button(at, "Keep as the size of the kitchen").click().run()
    (room,) = store_of(data).home(1).rooms
    assert (room.name, room.length_ft, room.width_ft) == ("kitchen", 14.0, 11.0)
    assert "The size of the kitchen as it is kept." in words(at)
    button(at, "Undo").click().run()
    assert store_of(data).home(1).rooms[0].length_ft is None


def test_a_size_that_is_known_is_used(data: Path):
    at = page_of("fit")
    size = Room(name="kitchen", kind=RoomKind.KITCHEN, length_ft=80.0, width_ft=9.5)
    store_of(data).save_room(1, 1, size)
    at.run()  # though the page was opened before it was known
    values = {f.label: f.value for f in at.number_input}
    assert (values["Room length, ft"], values["Room width, ft"]) == (80.0, 9.5)
    assert "assumed" not in words(at)


def test_the_photo_to_measure_in_is_one_of_the_room(data: Path):
    at = page_of("fit")
    for name, first in (("kitchen", "kitchen.jpg"), ("bedroom 1", "bedroom.jpg")):
        at.selectbox(key="fit_room_1").set_value(name).run()
        assert at.selectbox(key=f"measure_photo_1_{name}").value == first
        counters = [e for e in at.expander if e.label.startswith("Counter, landing areas")]
        assert len(counters) == (name == "kitchen")


def test_storage_falls_short_and_no_guideline_is_taken_for_inches(data: Path):
    """Guideline 27 of the kitchen planning guidelines asks for 1400 in of shelf and drawer front
    in a small kitchen; the number is the guideline's, not a length."""
    shown = words(page_of("fit"))
    assert "**short** · Shelves and drawers" in shown
    assert "(guideline no. 27)" in shown
    assert "counted twice" in shown
