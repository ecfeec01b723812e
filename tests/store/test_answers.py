"""A sheet's answers are taken back: what they set, and nothing that was typed since."""

from __future__ import annotations

from pathlib import Path

import pytest

from scorer.conditions.finding import Tag
from scorer.errors import InputError
from scorer.listing.listing import Listing
from scorer.rooms import Room, RoomKind
from scorer.store import StaleError, Store, TakenPhoto

BEFORE = Tag(room="kitchen", condition="odor", present=True)
BROUGHT = Tag(room="kitchen", condition="odor", present=False)
LATER = Tag(room="bath", condition="dirty_trim")


def kitchen(length_ft: float | None) -> Room:
    return Room(name="kitchen", kind=RoomKind.KITCHEN, length_ft=length_ft)


HALL = Room(name="hall", kind=RoomKind.HALL, width_ft=4)
OLD = TakenPhoto(file=f"{'a' * 64}.jpg", room="kitchen", note="by the door")
OLD_WITH_WORDS = OLD.model_copy(update={"note": "from the phone"})
NEW = TakenPhoto(file=f"{'b' * 64}.jpg", room="hall")


@pytest.fixture
def store(tmp_path: Path) -> Store:
    """Home 1 at version 4 with a tag, a size, a note and a photo; then a sheet brings its own."""
    made = Store(tmp_path / "data" / "homes.sqlite")
    made.add_home(Listing(home="a"))
    made.add_tags(1, 1, [BEFORE], [OLD])
    made.save_room(1, 2, kitchen(9))
    made.type_note(1, {""}, "ask about the roof")
    made.save_answers(
        1, 3, [BROUGHT], [kitchen(11.5), HALL], "smells of gas", [OLD_WITH_WORDS, NEW]
    )
    return made


def told(store: Store) -> dict[str, object]:
    home = store.home(1)
    return {
        "tags": home.tags,
        "rooms": {room.name: (room.length_ft, room.width_ft) for room in home.rooms},
        "note": home.note,
        "photos": [(photo.file[0], photo.note) for photo in home.taken],
    }


AS_BEFORE = {
    "tags": (BEFORE,),
    "rooms": {"kitchen": (9, None)},
    "note": "ask about the roof",
    "photos": [("a", "by the door")],
}


def test_all_that_a_sheet_brought_is_taken_back_once(store: Store) -> None:
    home = store.home(1)
    assert home.tags == (BEFORE, BROUGHT)
    assert home.note == "ask about the roof\nsmells of gas"
    assert [photo.note for photo in home.taken] == ["by the door\nfrom the phone", ""]
    assert store.take_answers_back(1) == ""
    assert told(store) == AS_BEFORE
    assert store.home(1).version == 5
    assert store.last_answers(1) is None
    with pytest.raises(InputError, match="No answers"):
        store.take_answers_back(1)
    assert told(store) == AS_BEFORE


def test_it_is_there_after_the_program_was_closed(store: Store) -> None:
    store.close()
    again = Store(store.path)
    brought = again.last_answers(1)
    assert brought is not None
    assert len(brought.tags) == 1
    assert again.take_answers_back(1) == ""
    assert told(again) == AS_BEFORE


def test_nothing_that_was_typed_since_is_lost(store: Store) -> None:
    store.add_tags(1, 4, [LATER])
    store.save_room(1, 5, kitchen(12))  # typed over what the sheet measured
    note = store.home(1).note
    store.type_note(1, {note}, f"above\n{note}\nand below")
    new = store.home(1).taken[1]
    store.change_photo(1, 6, new.id, note="looked again")
    stays = store.take_answers_back(1)
    assert stays == f"What was changed since stays: the size of the kitchen, {new.name}."
    assert told(store) == {
        "tags": (BEFORE, LATER),
        "rooms": {"kitchen": (12, None)},
        "note": "above\nask about the roof\nand below",
        "photos": [("a", "by the door"), ("b", "looked again")],
    }


@pytest.mark.parametrize(
    ("typed", "left", "stays"),
    [
        ("smells of gas", "", False),
        ("smells of gas\nlater", "later", False),
        ("ask about the roof\nsmells of gas, and how", "", True),
        ("all rewritten", "", True),
        ("", "", True),
    ],
)
def test_words_of_a_note_that_were_changed_stay(
    store: Store, typed: str, left: str, stays: bool
) -> None:
    store.type_note(1, {store.home(1).note}, typed)
    said = store.take_answers_back(1)
    assert said == ("What was changed since stays: the words in the note." if stays else "")
    assert store.home(1).note == (typed if stays else left)


def test_only_the_last_sheet_is_taken_back(store: Store) -> None:
    store.save_answers(1, 4, [LATER], [], "from a second visit")
    assert store.take_answers_back(1) == ""
    home = store.home(1)
    assert home.tags == (BEFORE, BROUGHT)
    assert home.note == "ask about the roof\nsmells of gas"


def test_the_same_file_again_leaves_the_way_back(store: Store) -> None:
    store.save_answers(1, 4, [], [kitchen(11.5), HALL], "smells of gas", [OLD_WITH_WORDS, NEW])
    assert store.take_answers_back(1) == ""
    assert told(store) == AS_BEFORE


def test_a_photo_taken_off_and_a_tag_undone_since_need_no_undo(store: Store) -> None:
    store.remove_photos(1, 4, [store.home(1).taken[1].id])
    store.undo_tags(1, 5, "kitchen", "odor")
    assert store.take_answers_back(1) == ""
    assert told(store) == AS_BEFORE | {"tags": ()}


def test_another_window_is_told_of_it(store: Store) -> None:
    store.take_answers_back(1)
    with pytest.raises(StaleError):
        store.save_mark(1, 4, "keep")


def test_what_another_version_wrote_is_no_way_back(store: Store) -> None:
    store.save_value("answers brought to home 1", {"tags": "all"})
    assert store.last_answers(1) is None
    with pytest.raises(InputError):
        store.take_answers_back(1)
