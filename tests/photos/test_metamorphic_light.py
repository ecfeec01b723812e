"""What light, colour and the camera's settings must do to a reading, and what they must not.

Limits come from the same changes made to 73 photos (45 labelled listing photos, 14 renders with
known paint, 14 demo photos); the spread that was seen stands at each test.
"""

from __future__ import annotations

import numpy as np
import pytest

from scorer.conditions.findings import suggest
from scorer.listing.listing import Listing
from scorer.photos import overlay, read_photo, repaint
from scorer.photos.colour import LUMINANCE_WEIGHTS
from scorer.photos.quality import is_black_and_white
from scorer.photos.reading import Reading
from scorer.rooms import Room, RoomKind
from tests.photos.changes import PHOTOS, encoded, from_linear, linear, pixels, read, untouched


def black_and_white(photo: str) -> np.ndarray:
    grey = from_linear(linear(pixels(photo)) @ LUMINANCE_WEIGHTS)
    return np.repeat(grey[..., None], 3, axis=2)


def ids_of(reading: Reading) -> set[str]:
    room = Room(name="living room", kind=RoomKind.LIVING_ROOM)
    return {f.condition for f in suggest([(reading, room)], Listing(home="a", year_built=1990))}


@pytest.mark.parametrize("photo", PHOTOS)
def test_a_black_and_white_photo_claims_no_colour(photo):
    """Seen before: on 18 of 71 black-and-white photos a strong colour of the wall was likely.

    The wall's lightness moves by 3 LRV in the mean and 16 at most, since the colour of a wall
    tells something of it.
    """
    was, grey = untouched(photo), black_and_white(photo)
    assert not is_black_and_white(pixels(photo))
    for kind, mode, options in (("PNG", "L", {}), ("JPEG", "RGB", {"quality": 60}),
                                ("WEBP", "RGB", {"quality": 60})):  # fmt: skip
        now = read_photo(encoded(grey, kind, mode, **options), name="grey")
        assert "black and white, so no colour can be judged" in now.trust.reasons
        assert now.wall.colour is None
        assert now.wall.bold_probability is None
        assert {"bold_walls", "accent_wall", "walls_light_neutral"}.isdisjoint(ids_of(now))
        assert now.wall.tone == was.wall.tone
        assert now.wall.lrv.low <= was.wall.lrv.typical <= now.wall.lrv.high
        assert ("dark_walls" in ids_of(now)) == ("dark_walls" in ids_of(was))
    assert not any("black and white" in reason for reason in was.trust.reasons)


def test_a_black_and_white_photo_can_be_explained_and_repainted():
    file = encoded(black_and_white(PHOTOS[0]))
    told = overlay(file)
    assert "colour not told by a black-and-white photo" in told.caption
    assert told.swatch is None
    assert repaint(file).matte.max() > 0.9
    assert read(pixels(PHOTOS[0])).wall.colour is not None
