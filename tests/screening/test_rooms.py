"""Rooms of a home, and which photo shows which."""

from __future__ import annotations

from hypothesis import given
from hypothesis import strategies as st

from scorer.conditions.finding import Tag
from scorer.listing.listing import Listing, PhotoFile
from scorer.photos.reading import Colour, Reading, RoomGuess, Trust, Wall
from scorer.rooms import Room, RoomKind
from scorer.screening.rooms import rooms_of


def _photo(name: str, kind: RoomKind | None, number: int | None = None) -> PhotoFile:
    return PhotoFile(path=name, name=name, room_kind=kind, room_number=number)


def _reading(
    name: str, lab: tuple[float, float, float] | None = None, bits: int | None = None
) -> Reading:
    colour = Colour(hex="#000000", name="x", lab=lab) if lab else None
    return Reading(
        file=name,
        wall=Wall(fraction=0.4, colour=colour),
        content_hash=None if bits is None else f"{bits:016x}",
    )


def _names(listing: Listing, readings: list[Reading]) -> dict[str, str]:
    return rooms_of(listing, readings).photo_rooms


def test_facts_promise_rooms_and_photos_show_some() -> None:
    listing = Listing(
        home="h",
        bedrooms=2,
        bathrooms=1,
        living_area_sqft=900,
        photos=(_photo("k", RoomKind.KITCHEN), _photo("b", RoomKind.BEDROOM)),
    )
    plan = rooms_of(listing, [_reading("k"), _reading("b")])
    assert [room.name for room in plan.rooms] == [
        "kitchen",
        "bathroom 1",
        "bedroom 1",
        "bedroom 2",
        "living room",
        "front",
        "whole home",
    ]
    assert plan.rooms[-1].floor_area_sqft == 900
    assert plan.photo_rooms == {"k": "kitchen", "b": "bedroom 1"}
    assert {item.room for item in plan.unseen} == {
        "bathroom 1",
        "bedroom 2",
        "front",
        "living room",
    }


def test_a_photo_that_cannot_be_read_shows_nothing() -> None:
    listing = Listing(home="h", photos=(_photo("k", RoomKind.KITCHEN),))
    plan = rooms_of(listing, [Reading(file="k", error="k: broken")])
    assert "kitchen" in {item.room for item in plan.unseen}


def test_photos_of_one_kind_never_make_more_rooms_than_the_facts_promise() -> None:
    dark, light = (20.0, 30.0, 10.0), (90.0, 0.0, 5.0)
    photos = tuple(_photo(f"bed{n}", RoomKind.BEDROOM, n) for n in range(1, 5))
    readings = [
        _reading("bed1", dark),
        _reading("bed2", light),
        _reading("bed3", (21.0, 30.0, 10.0)),
        _reading("bed4", (89.0, 0.0, 5.0)),
    ]
    two = Listing(home="h", bedrooms=2, photos=photos)
    assert _names(two, readings) == {
        "bed1": "bedroom 1",
        "bed3": "bedroom 1",
        "bed2": "bedroom 2",
        "bed4": "bedroom 2",
    }
    unknown = Listing(home="h", photos=photos)
    assert len(set(_names(unknown, readings).values())) == 4


def test_without_facts_and_numbers_alike_walls_are_one_room() -> None:
    photos = tuple(_photo(name, RoomKind.BEDROOM) for name in "abc")
    readings = [
        _reading("a", (80.0, 0.0, 0.0)),
        _reading("b", (40.0, 40.0, 0.0)),
        _reading("c", (82.0, 0.0, 2.0)),
    ]
    names = _names(Listing(home="h", photos=photos), readings)
    assert names["a"] == names["c"] != names["b"]


def test_near_duplicates_are_one_room() -> None:
    photos = (_photo("a", RoomKind.BEDROOM), _photo("b", RoomKind.BEDROOM))
    readings = [_reading("a", None, 0xABCDEF0123456789), _reading("b", None, 0xABCDEF0123456788)]
    names = _names(Listing(home="h", bedrooms=3, photos=photos), readings)
    assert names == {"a": "bedroom 1", "b": "bedroom 1"}


def test_one_kitchen_however_many_photos_and_two_in_a_duplex() -> None:
    photos = (_photo("k1", RoomKind.KITCHEN, 1), _photo("k2", RoomKind.KITCHEN, 2))
    readings = [_reading("k1"), _reading("k2")]
    assert set(_names(Listing(home="h", photos=photos), readings).values()) == {"kitchen"}
    duplex = Listing(home="h", units=2, photos=photos)
    assert _names(duplex, readings) == {"k1": "kitchen 1", "k2": "kitchen 2"}


def test_a_number_in_the_name_is_the_rooms_number_where_it_fits() -> None:
    photos = (_photo("two", RoomKind.BEDROOM, 2), _photo("twelve", RoomKind.BEDROOM, 12))
    readings = [_reading("two"), _reading("twelve")]
    plan = rooms_of(Listing(home="h", bedrooms=3, photos=photos), readings)
    assert plan.photo_rooms == {"two": "bedroom 2", "twelve": "bedroom 1"}
    assert "bedroom 3" in {item.room for item in plan.unseen}
    unknown = rooms_of(Listing(home="h", photos=photos), readings)
    assert set(unknown.photo_rooms.values()) == {"bedroom 2", "bedroom 12"}
    assert "bedroom 1" not in {room.name for room in unknown.rooms}


def test_one_kitchen_photo_of_a_duplex_leaves_the_other_unseen() -> None:
    listing = Listing(home="h", units=2, photos=(_photo("k", RoomKind.KITCHEN),))
    plan = rooms_of(listing, [_reading("k")])
    kitchens = [room.name for room in plan.rooms if room.kind is RoomKind.KITCHEN]
    assert kitchens == ["kitchen 1", "kitchen 2"]
    assert "kitchen 2" in {item.room for item in plan.unseen}


def test_one_picture_under_two_rooms_names_is_told() -> None:
    photos = (_photo("bath", RoomKind.BATHROOM), _photo("bed", RoomKind.BEDROOM))
    readings = [
        _reading("bath", None, 0xABCDEF0123456789),
        _reading("bed", None, 0xABCDEF0123456789),
    ]
    plan = rooms_of(Listing(home="h", bedrooms=1, bathrooms=1, photos=photos), readings)
    assert any("bath and bed are one picture" in item.sentence for item in plan.unseen)


def test_a_room_that_a_person_tagged_is_not_unseen() -> None:
    listing = Listing(home="h", bathrooms=2)
    plan = rooms_of(listing, [], [Tag(room="bathroom 2", condition="x")])
    assert "bathroom 2" not in plan.unseen_rooms
    assert "bathroom 1" in plan.unseen_rooms


def test_a_blurred_photo_is_told() -> None:
    listing = Listing(home="h", photos=(_photo("k", RoomKind.KITCHEN),))
    trust = Trust(width_px=640, height_px=480, reasons=("blurred", "tilted by 4 degrees"))
    plan = rooms_of(listing, [Reading(file="k", trust=trust)])
    assert ("kitchen", "k is blurred: judge by the room itself at the viewing.") in {
        (item.room, item.sentence) for item in plan.unseen
    }


def test_a_studio_promises_no_bedroom() -> None:
    plan = rooms_of(Listing(home="h", bedrooms=0), [])
    assert RoomKind.BEDROOM not in {room.kind for room in plan.rooms}


def test_the_photo_itself_tells_the_room_only_when_it_is_sure() -> None:
    listing = Listing(home="h", photos=(_photo("a", None), _photo("b", None), _photo("c", None)))
    readings = [
        Reading(file="a", room=RoomGuess(kind="kitchen", probability=0.9)),
        Reading(file="b", room=RoomGuess(kind="kitchen", probability=0.4)),
        Reading(file="c", room=RoomGuess(kind="unsure", probability=0.9)),
    ]
    plan = rooms_of(listing, readings)
    assert plan.photo_rooms == {"a": "kitchen"}
    assert "Which room 2 photos show" in plan.unseen[-1].sentence


def test_sizes_that_the_listing_gives_are_kept_and_tagged_rooms_added() -> None:
    sized = Room(name="bedroom 1", kind=RoomKind.BEDROOM, length_ft=12, width_ft=10)
    plan = rooms_of(
        Listing(home="h", bedrooms=1, rooms=(sized,)),
        [],
        [
            Tag(room=room, condition="x")
            for room in ("basement", "bedroom 3", "bedroom", "bath", "upstairs bathroom", "moon")
        ],
    )
    rooms = {room.name: room for room in plan.rooms}
    assert rooms["bedroom 1"].length_ft == 12
    assert rooms["basement"].kind is RoomKind.BASEMENT
    assert rooms["bedroom 3"].kind is RoomKind.BEDROOM
    assert rooms["upstairs bathroom"].kind is RoomKind.BATHROOM
    assert set(rooms) & {"bedroom", "bath", "bathroom", "moon"} == set()


@given(
    bedrooms=st.integers(0, 6) | st.none(),
    numbers=st.lists(st.integers(1, 9) | st.none(), max_size=8),
    light=st.lists(st.floats(0, 100), min_size=8, max_size=8),
)
def test_every_placed_photo_is_in_a_room_that_exists(
    bedrooms: int | None, numbers: list[int | None], light: list[float]
) -> None:
    photos = tuple(_photo(f"p{i}", RoomKind.BEDROOM, n) for i, n in enumerate(numbers))
    readings = [_reading(p.name, (light[i], 0.0, 0.0)) for i, p in enumerate(photos)]
    listing = Listing(home="h", bedrooms=bedrooms, photos=photos)
    plan = rooms_of(listing, readings)
    names = [room.name for room in plan.rooms]
    assert len(names) == len(set(names))
    assert set(plan.photo_rooms) == {photo.name for photo in photos}
    assert set(plan.photo_rooms.values()) <= set(names)
    if bedrooms:
        assert len(set(plan.photo_rooms.values())) <= bedrooms
    assert rooms_of(listing, readings) == plan


def test_a_photo_taken_in_a_room_belongs_there_and_renames_nothing() -> None:
    shots = tuple(_photo(name, RoomKind.BEDROOM) for name in ("a", "b", "c"))
    readings = [_reading(name, (20.0 * n, 0, 0)) for n, name in enumerate("abc")]
    listing = Listing(home="h", bedrooms=2, photos=shots)
    before = _names(listing, readings)
    taken = _photo("viewing photo 1", RoomKind.BEDROOM).model_copy(update={"room": "bedroom 2"})
    with_taken = listing.model_copy(update={"photos": (*shots, taken)})
    readings.append(_reading("viewing photo 1", (0.0, 0, 0)))  # its wall is like bedroom 1's
    after = _names(with_taken, readings)
    assert after == {**before, "viewing photo 1": "bedroom 2"}


def test_a_photo_taken_in_a_room_that_nothing_else_shows_makes_it_seen() -> None:
    taken = _photo("viewing photo 1", RoomKind.LAUNDRY).model_copy(update={"room": "laundry"})
    plan = rooms_of(Listing(home="h", photos=(taken,)), [_reading("viewing photo 1")])
    assert "laundry" in [room.name for room in plan.rooms]
    assert "laundry" not in plan.unseen_rooms
    assert "kitchen" in plan.unseen_rooms
