"""Which room a file name or a lookup speaks of."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from scorer.listing.room_words import from_lookup, from_name
from scorer.rooms import RoomKind as K


@pytest.mark.parametrize(
    ("name", "kind", "number"),
    [
        ("12_kitchen.jpg", K.KITCHEN, None),
        ("bedroom2.jpg", K.BEDROOM, 2),
        ("Bedroom 3 (main).JPG", K.BEDROOM, 3),
        ("bed_room_2.png", K.BEDROOM, 2),
        ("MasterBathroom.heic", K.BATHROOM, None),
        ("bath_1.webp", K.BATHROOM, 1),
        ("100_bedroom.jpg", K.BEDROOM, None),
        ("frontal.jpg", K.FRONT, None),
        ("back-porch.jpg", K.DECK, None),
        ("back_bedroom.jpg", K.BEDROOM, None),
        ("rear.jpg", K.FRONT, None),
        ("living room 2.jpg", K.LIVING_ROOM, 2),
        ("LivingRoom.jpg", K.LIVING_ROOM, None),
        ("hallway.jpg", K.HALL, None),
        ("bedroom closet.jpg", K.HALL, None),
        ("laundry.jpeg", K.LAUNDRY, None),
        ("basement-stairs.jpg", K.HALL, None),
        ("basement.jpg", K.BASEMENT, None),
        ("unit_1_kitchen.jpg", K.KITCHEN, 1),
        ("unit_2_bathroom.jpg", K.BATHROOM, 2),
        ("apt 2 bedroom 1.jpg", K.BEDROOM, 11),
        ("kitchen/IMG_2034.jpg", K.KITCHEN, None),
        ("kitchen_20240131.jpg", K.KITCHEN, None),
    ],
)
def test_file_names(name: str, kind: K, number: int | None) -> None:
    word = from_name(name)
    assert word is not None
    assert (word.kind, word.number) == (kind, number)


@pytest.mark.parametrize("name", ["IMG_2034.jpg", "DSC0001.JPG", "whatsapp image 2.jpg", ""])
def test_names_that_tell_nothing(name: str) -> None:
    assert from_name(name) is None


@pytest.mark.parametrize(
    ("lookup", "kind"),
    [
        # ImageOf and RoomType lookups of RESO Data Dictionary 2.0, in both spellings.
        ("Kitchen", K.KITCHEN),
        ("LivingRoom", K.LIVING_ROOM),
        ("Living Room", K.LIVING_ROOM),
        ("MasterBathroom", K.BATHROOM),
        ("Master Bedroom", K.BEDROOM),
        ("Bedroom3", K.BEDROOM),
        ("FrontOfStructure", K.FRONT),
        ("Front of Structure", K.FRONT),
        ("BackOfStructure", K.FRONT),
        ("Walk-In Closets", K.HALL),
        ("UtilityRoom", K.LAUNDRY),
        ("Patio", K.DECK),
    ],
)
def test_lookups(lookup: str, kind: K) -> None:
    word = from_lookup(lookup)
    assert word is not None
    assert word.kind is kind


@pytest.mark.parametrize("lookup", ["Pool", "TennisCourt", "", "nonsense", "Bedroom123"])
def test_lookups_that_name_no_room_of_ours(lookup: str) -> None:
    assert from_lookup(lookup) is None


@given(st.text(max_size=60))
def test_no_name_breaks_the_reader(name: str) -> None:
    from_name(name)
    from_lookup(name)
