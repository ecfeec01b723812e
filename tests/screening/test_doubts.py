"""A file named after one kind of room whose picture shows another."""

from __future__ import annotations

import csv
from pathlib import Path

import pytest

from scorer.listing import read_homes
from scorer.listing.listing import Listing, PhotoFile
from scorer.photos.read import read_scene
from scorer.photos.reading import Exposure, Reading, RoomGuess, Trust
from scorer.rooms import RoomKind
from scorer.screening.doubts import Doubt, sentence_of
from scorer.screening.home import screen_home
from scorer.screening.rooms import RoomPlan, rooms_of
from scorer.store.store import StoredHome
from scorer.workspace.workspace import _listing as home_listing
from tests.homes import save_photo
from tests.photos.rooms import draw_room

BEDROOM = {"bedroom": 0.95, "bathroom": 0.01, "kitchen": 0.01, "front": 0.01, "unsure": 0.02}


def _seen(name: str, seen: dict[str, float] = BEDROOM, **known: object) -> Reading:
    return Reading(file=name, room=RoomGuess(kind="hall", probability=0.99, seen=seen), **known)


def _plan(reading: Reading, kind: RoomKind = RoomKind.BATHROOM, **known: object) -> RoomPlan:
    photo = PhotoFile(
        path=reading.file, name=reading.file, room_kind=kind, **{"kind_from": "name", **known}
    )
    return rooms_of(Listing(home="h", bedrooms=2, bathrooms=1, photos=(photo,)), [reading])


def _sentences(plan: RoomPlan) -> list[str]:
    return [item.sentence for item in plan.unseen if "looks like" in item.sentence]


def test_a_bathroom_that_is_plainly_a_bedroom_is_taken_as_one_and_said() -> None:
    plan = _plan(_seen("bathroom.jpg"))
    assert plan.photo_rooms == {"bathroom.jpg": "bedroom 1"}
    assert plan.in_doubt == ("bathroom.jpg",)
    (said,) = _sentences(plan)
    assert said.startswith("bathroom.jpg looks like a bedroom (")
    assert "taken as bedroom 1, against its name" in said
    assert "bathroom 1" in plan.unseen_rooms  # no photo of it is left
    assert "bedroom 1" not in plan.unseen_rooms


def test_where_the_name_still_weighs_more_it_is_gone_by_and_the_doubt_is_said() -> None:
    seen = {"bedroom": 0.66, "kitchen": 0.16, "bathroom": 0.04, "front": 0.05, "unsure": 0.09}
    plan = _plan(_seen("bathroom.jpg", seen))
    assert plan.photo_rooms == {"bathroom.jpg": "bathroom 1"}
    (said,) = _sentences(plan)
    assert "taken as bathroom 1, as its name says" in said


@pytest.mark.parametrize("source", ["listing", ""])
def test_what_a_person_or_the_listing_said_is_not_doubted(source: str) -> None:
    plan = _plan(_seen("bathroom.jpg"), kind_from=source)
    assert plan.photo_rooms == {"bathroom.jpg": "bathroom 1"}
    assert plan.in_doubt == ()
    assert _sentences(plan) == []


@pytest.mark.parametrize(
    "poor",
    [
        {"trust": Trust(width_px=90, height_px=60, reasons=("small: 90 × 60 pixels",))},
        {"trust": Trust(width_px=900, height_px=600, reasons=("blurred",))},
        {
            "exposure": Exposure(
                kind="dark",
                dark_probability=0.9,
                mean_lightness=12.0,
                mean_luminance=0.01,
                clipped_bright_share=0.0,
                clipped_dark_share=0.2,
            )
        },
    ],
)
def test_a_poor_photo_overrules_no_name(poor: dict[str, object]) -> None:
    plan = _plan(_seen("bathroom.jpg", **poor))
    assert plan.photo_rooms == {"bathroom.jpg": "bathroom 1"}
    assert plan.in_doubt == ()


def test_kinds_that_the_network_does_not_know_stay() -> None:
    hall = _plan(_seen("hall.jpg"), RoomKind.HALL)
    assert hall.photo_rooms == {"hall.jpg": "hall"}
    seen = {"kitchen": 0.95, "unsure": 0.05}
    garage = _plan(_seen("garage.jpg", seen), RoomKind.FRONT, room_name="garage")
    assert garage.photo_rooms == {"garage.jpg": "garage"}


def test_a_doubt_names_every_kind_of_room_in_words() -> None:
    photo = PhotoFile(path="b.jpg", name="b.jpg", room_kind=RoomKind.BATHROOM, kind_from="name")
    said = [sentence_of(Doubt(photo, kind, 0.9), {}).sentence for kind in RoomKind]
    assert any("looks like a living room (" in sentence for sentence in said)
    assert not any("_" in sentence for sentence in said)


def test_the_number_in_an_overruled_name_is_no_rooms_number() -> None:
    reading = _seen("bathroom 2.jpg")
    plan = _plan(reading, room_name="bathroom", room_number=2)
    assert plan.photo_rooms == {"bathroom 2.jpg": "bedroom 1"}


def test_the_home_says_so_and_keeps_what_was_given() -> None:
    photo = PhotoFile(path="b.jpg", name="b.jpg", room_kind=RoomKind.BATHROOM, kind_from="name")
    listing = Listing(home="h", bedrooms=1, bathrooms=1, year_built=1990, photos=(photo,))
    result = screen_home(listing, [_seen("b.jpg")], [])
    assert any("looks like a bedroom" in item.sentence for item in result.unseen)
    # A photo leaves the bedroom in doubt, none shows the bathroom: only the second is not seen.
    assert {item.room for item in result.unseen} >= {"bedroom 1", "bathroom 1"}
    names = [room.name for room in result.rooms_not_seen]
    assert "bathroom 1" in names
    assert "bedroom 1" not in names
    assert result.listing.photos == (photo,)
    assert result.errors == ()


def test_image_of_outranks_the_name_and_the_name_is_known_as_such(tmp_path: Path) -> None:
    # RESO Data Dictionary 2.0, Media resource: ImageOf.
    home = tmp_path / "12 elm"
    for name in ("bathroom.jpg", "kitchen.jpg", "IMG_1.jpg"):
        save_photo(home / name)
    rows = [("bathroom.jpg", "Bedroom"), ("IMG_1.jpg", "Kitchen"), ("kitchen.jpg", "Other")]
    with (home / "media.csv").open("w", newline="") as stream:
        csv.writer(stream).writerows([("MediaURL", "ImageOf"), *rows])
    listings, _ = read_homes(tmp_path)
    found = {photo.name: (photo.room_kind, photo.kind_from) for photo in listings[0].photos}
    assert found == {
        "bathroom.jpg": (RoomKind.BEDROOM, "listing"),
        "IMG_1.jpg": (RoomKind.KITCHEN, "listing"),
        "kitchen.jpg": (RoomKind.KITCHEN, "name"),
    }


def test_a_photo_is_measured_for_either_room() -> None:
    heads = {
        "room": {"kitchen": 0.9, "unsure": 0.1},
        "era": {"dated": 0.8, "average": 0.1, "updated": 0.1},
    }
    reading = read_scene(draw_room(30, heads=heads), file="front.jpg", room_kind_hint="front")
    assert reading.room is not None
    assert reading.room.kind == "front"
    assert reading.room.seen["kitchen"] == 0.9
    assert reading.wall is not None
    assert reading.wall.tone is not None
    assert reading.finish is not None


def test_a_room_that_the_user_gave_to_a_photo_is_not_doubted() -> None:
    photo = PhotoFile(path="b.jpg", name="b.jpg", room_kind=RoomKind.BATHROOM, kind_from="name")
    kept = {"id": 1, "version": 1, "mark": "", "note": "", "tags": (), "rooms": (), "jobs": ()}
    home = StoredHome.model_construct(
        **kept,
        listing=Listing(home="h", bathrooms=1, photos=(photo,)),
        photo_rooms={"b.jpg": "bathroom 1"},
    )
    plan = rooms_of(home_listing(home), [_seen("b.jpg")])
    assert plan.photo_rooms == {"b.jpg": "bathroom 1"}
    assert plan.in_doubt == ()
