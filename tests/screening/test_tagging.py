"""A tag is refused where ``screen`` would refuse it, and taken where it would take it."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from scorer.conditions.finding import Tag
from scorer.errors import InputError
from scorer.screening import append_tag, screen_folder, screen_one
from tests.homes import make_home, save_photo


@pytest.fixture
def home(tmp_path: Path) -> Path:
    """A home of two bedrooms, as its facts say."""
    folder = make_home(tmp_path / "homes" / "12 sample lane")
    facts = {"BedroomsTotal": 2, "BathroomsTotalInteger": 1, "LivingArea": 800}
    (folder / "listing.json").write_text(json.dumps(facts))
    return folder


def refused(home: Path, room: str, condition: str) -> str:
    with pytest.raises(InputError) as told:
        append_tag(home, Tag(room=room, condition=condition))
    assert not (home / "tags.csv").exists()
    return str(told.value)


def test_a_condition_of_another_kind_of_room_is_refused_and_its_place_named(home: Path) -> None:
    assert refused(home, "kitchen", "leak_below_bath") == (
        "“Water below the bathroom” (leak_below_bath) belongs to bathroom, not to kitchen; "
        "tag it in bathroom 1."
    )
    said = refused(home, "front", "dark_walls")
    assert "living room, hall, laundry or basement, not to front" in said


def test_a_room_that_the_home_lacks_is_refused_and_its_rooms_named(home: Path) -> None:
    rooms = "kitchen, bathroom 1, bedroom 1, bedroom 2, living room, front, whole home"
    said = refused(home, "bedroom 7", "dark_walls")
    assert said.startswith(f"12 sample lane has no room “bedroom 7”; its rooms are {rooms}; if it")
    assert "add --new-room" in said
    said = refused(home, "kichen", "dark_walls")
    assert said == (
        f"12 sample lane has no room “kichen”; did you mean kitchen? Its rooms are {rooms}."
    )
    for typed, meant in (("bedrom 2", "bedroom 2"), ("dinning room", "dining room")):
        assert f"did you mean {meant}" in refused(home, typed, "dark_walls")


def test_what_is_taken_down_is_what_screen_uses(home: Path) -> None:
    for typed, full in (
        ("bath", "bathroom 1"),
        ("Bed2", "bedroom 2"),
        ("hallway", "hall"),  # nothing speaks of a hall, but most homes have one
    ):
        assert append_tag(home, Tag(room=typed, condition="dark_walls", severity=3)).room == full
    new = append_tag(home, Tag(room="bedroom 3", condition="dark_walls"), new_room=True)
    assert new.room == "bedroom 3"
    assert append_tag(home, Tag(room="bedroom 3", condition="dim_room")).room == "bedroom 3"
    result = screen_one(home)
    assert result.errors == ()
    tagged = {f.room for f in result.findings if f.certainty == 1 and f.condition == "dark_walls"}
    assert tagged >= {"bathroom 1", "bedroom 2", "bedroom 3", "hall"}


def test_the_table_of_all_homes_says_how_many_rooms_there_are(tmp_path: Path) -> None:
    folder = tmp_path / "homes"
    home = make_home(folder / "7 sample road")
    make_home(folder / "another")
    with pytest.raises(InputError, match="has no room “bedroom 3”"):
        append_tag(home, Tag(room="bedroom 3", condition="dark_walls"))
    (folder / "listings.csv").write_text("ListingId,BedroomsTotal\n7 sample road,3\n")
    assert append_tag(home, Tag(room="bedroom 3", condition="dark_walls")).room == "bedroom 3"
    assert screen_folder(folder, workers=1).problems == ()


def test_photos_are_looked_at_before_a_room_is_refused(
    home: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    from scorer.screening import tagging

    looked = []

    def counted(*args: object, **kwargs: object) -> object:
        looked.append(args)
        return real(*args, **kwargs)  # type: ignore[operator]

    real = tagging.readings_of
    monkeypatch.setattr(tagging, "readings_of", counted)
    save_photo(home / "IMG_1.jpg")
    append_tag(home, Tag(room="bedroom 2", condition="dark_walls"))
    assert looked == []
    with pytest.raises(InputError):
        append_tag(home, Tag(room="bedroom 9", condition="dark_walls"))
    assert len(looked) == 1
