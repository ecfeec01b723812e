"""A home's photos as a set."""

from __future__ import annotations

import pytest

from scorer.listing.listing import Listing
from scorer.photos.photoset import look_over
from scorer.photos.reading import (
    Exposure,
    Light,
    Reading,
    RoomGuess,
    Trust,
    Wall,
)
from scorer.rooms import RoomKind


def reading(file: str, kind: str, number: int, **more: object) -> Reading:
    # Hashes far apart: each number sets its own 16 bits.
    return Reading(
        file=file,
        room=RoomGuess(kind=kind, probability=0.95),
        content_hash=f"{(0xABCD << 16 * (number % 4)) ^ (number // 4 * 0x1111222244448888):016x}",
        **more,
    )


FULL = [
    reading("kitchen.jpg", "kitchen", 0),
    reading("bath.jpg", "bathroom", 1),
    reading("bed1.jpg", "bedroom", 2),
    reading("front.jpg", "front", 3),
]


def test_promised_rooms_without_a_photo():
    found = look_over(Listing(home="a", bedrooms=3, bathrooms=1), FULL)
    assert [(row.kind, row.promised, row.shown) for row in found.unseen] == [
        (RoomKind.BEDROOM, 3, 1)
    ]
    assert found.unseen[0].missing == 2
    assert "The photos show 1 of 3 bedrooms at most: look at the rest." in found.look_at


def test_everything_shown_is_nothing_unseen():
    assert look_over(Listing(home="a", bedrooms=1, bathrooms=1), FULL).unseen == ()


def test_a_copy_shows_no_second_room():
    copy = FULL[2].model_copy(update={"file": "bed1-copy.jpg"})
    found = look_over(Listing(home="a", bedrooms=2, bathrooms=1), [*FULL, copy])
    assert found.duplicates == (("bed1.jpg", "bed1-copy.jpg"),)
    assert [row.kind for row in found.unseen] == [RoomKind.BEDROOM]


def test_an_unsure_photo_shows_no_room():
    unsure = FULL[1].model_copy(update={"room": RoomGuess(kind="bathroom", probability=0.3)})
    found = look_over(Listing(home="a", bedrooms=1, bathrooms=1), [FULL[0], unsure, *FULL[2:]])
    assert [row.kind for row in found.unseen] == [RoomKind.BATHROOM]
    assert "No photo shows a bathroom: look at the bathroom." in found.look_at


def test_no_photos_at_all():
    found = look_over(Listing(home="a"), [])
    assert {row.kind for row in found.unseen} == {
        RoomKind.KITCHEN, RoomKind.BATHROOM, RoomKind.BEDROOM, RoomKind.FRONT,
    }  # fmt: skip
    assert found.look_at == ("There are no photos: look at every room.",)


def test_two_units_promise_two_kitchens():
    found = look_over(Listing(home="a", units=2, bedrooms=1, bathrooms=1), FULL)
    assert [(row.kind, row.missing) for row in found.unseen] == [(RoomKind.KITCHEN, 1)]


def test_doubtful_photos_and_what_to_look_at():
    dark = Exposure(
        kind="dark", dark_probability=0.9, mean_lightness=20, mean_luminance=0.03,
        clipped_bright_share=0, clipped_dark_share=0.2,
    )  # fmt: skip
    dim = Light(kind="dim", dim_probability=0.8)
    more = [
        reading(
            "soft.jpg", "hall", 4, trust=Trust(width_px=900, height_px=600, reasons=("blurred",))
        ),
        Reading(file="broken.jpg", error="broken.jpg: the file is empty (0 bytes); copy it again."),
        reading("night.jpg", "bedroom", 5, exposure=dark, light=dim),
        reading("lamp.jpg", "bedroom", 6, light=dim, wall=Wall(fraction=0.01)),
    ]
    found = look_over(Listing(home="a", bedrooms=3, bathrooms=1), [*FULL, *more])
    assert [d.file for d in found.doubtful] == ["soft.jpg", "broken.jpg"]
    text = "\n".join(found.look_at)
    assert "soft.jpg, broken.jpg" in text
    assert "Photographed dark, so dirt and damage may be hidden: night.jpg." in text
    assert "Seem dim rooms: see them by day and with the lamps on: lamp.jpg." in text
    assert "Hardly any wall is in view, look at the walls on site: lamp.jpg." in text


@pytest.mark.parametrize("count", [0, 1])
def test_a_studio_without_bedroom_promises_none(count):
    found = look_over(Listing(home="a", bedrooms=count, bathrooms=1), [FULL[0], FULL[1], FULL[3]])
    assert len(found.unseen) == count
