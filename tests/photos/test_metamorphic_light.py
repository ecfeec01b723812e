"""What light, colour and the camera's settings must do to a reading, and what they must not.

Limits come from the same changes made to 73 photos (45 labelled listing photos, 14 renders with
known paint, 14 demo photos); the spread that was seen stands at each test.
"""

from __future__ import annotations

from itertools import pairwise

import numpy as np
import pytest
from colour import xy_to_XYZ
from colour.difference import delta_E_CIE2000
from colour.models import Lab_to_XYZ, RGB_COLOURSPACE_sRGB, XYZ_to_Lab
from colour.temperature import CCT_to_xy_CIE_D, CCT_to_xy_Kang2002

from scorer.conditions.findings import suggest
from scorer.listing.listing import Listing
from scorer.photos import overlay, read_photo, read_photo_and_surfaces, repaint
from scorer.photos.colour import LUMINANCE_WEIGHTS
from scorer.photos.quality import is_black_and_white
from scorer.photos.reading import Reading
from scorer.photos.scene import WALL
from scorer.rooms import Room, RoomKind
from tests.photos.changes import (
    PHOTOS,
    encoded,
    exposed,
    from_linear,
    linear,
    pixels,
    read,
    untouched,
)


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


def flipped(before: float, after: float) -> bool:
    """Whether a chance that said something plainly now says the opposite."""
    return abs(before - 0.5) > 0.2 and (before > 0.5) != (after > 0.5)


STOPS = (-1.0, -0.5, 0.0, 0.35, 0.7)


@pytest.mark.parametrize("photo", PHOTOS)
def test_exposure_makes_the_photo_darker_and_not_the_wall(photo):
    """Seen from one stop under to 0.7 over, with clipping: the new range held the old middle in
    each of 284 readings and no wall turned from light to dark; LRV off by 3 in the mean and 10 at
    most at one stop. The chance of a dark photo never fell with less light; a stop adds 0.35.
    """
    was = untouched(photo)
    readings = [read(exposed(pixels(photo), stops)) for stops in STOPS]
    for now in readings:
        assert now.wall.lrv.low <= was.wall.lrv.typical <= now.wall.lrv.high
        assert now.wall.lrv.typical == pytest.approx(was.wall.lrv.typical, abs=10)
        assert {was.wall.tone, now.wall.tone} != {"dark", "light"}
        assert abs(now.wall.tone_probability.dark - was.wall.tone_probability.dark) < 0.1
        assert not flipped(was.wall.bold_probability, now.wall.bold_probability)
        assert now.wall.fraction == pytest.approx(was.wall.fraction, abs=0.03)
    dark = [now.exposure.dark_probability for now in readings]
    dim = [now.light.dim_probability for now in readings]
    for chances in (dark, dim):
        assert all(a >= b - 0.01 for a, b in pairwise(chances)), chances
        assert chances[0] - chances[-1] > 0.05
    lightness = [now.exposure.mean_lightness for now in readings]
    assert lightness == sorted(lightness)
    # Without clipping, a stop is a factor of two of the mean.
    means = [now.exposure.mean_luminance for now in readings]
    assert means[2] / means[0] == pytest.approx(2, rel=0.02)


def test_a_stop_less_makes_photos_dark():
    """Seen: the mean chance of a dark photo grows by 0.35 with a stop."""
    grown = [
        read(exposed(pixels(photo), -1)).exposure.dark_probability
        - untouched(photo).exposure.dark_probability
        for photo in PHOTOS
    ]
    assert np.mean(grown) > 0.15


def illuminant(kelvin: float) -> np.ndarray:
    """Linear sRGB of a light, luminance 1: CIE daylight from 4000 K, Planckian below [CIE 015]."""
    xy = CCT_to_xy_CIE_D(kelvin) if kelvin >= 4000 else CCT_to_xy_Kang2002(kelvin)
    light = np.linalg.inv(RGB_COLOURSPACE_sRGB.matrix_RGB_to_XYZ) @ xy_to_XYZ(xy)
    return light / (light @ LUMINANCE_WEIGHTS)


def plain_colour(rgb: np.ndarray, wall: np.ndarray) -> np.ndarray:
    """L*a*b* of the wall's mean light at mid lightness, nothing corrected (by colour-science)."""
    light = linear(rgb)[wall].mean(axis=0)
    light *= 0.4 / (light @ LUMINANCE_WEIGHTS)
    xyz = RGB_COLOURSPACE_sRGB.matrix_RGB_to_XYZ @ light
    return XYZ_to_Lab(xyz, RGB_COLOURSPACE_sRGB.whitepoint)


def at_mid_lightness(lab: tuple[float, float, float]) -> np.ndarray:
    """The corrected colour with its LRV set to the same, so that only its tint is compared."""
    xyz = Lab_to_XYZ(np.array(lab), RGB_COLOURSPACE_sRGB.whitepoint)
    return XYZ_to_Lab(xyz * 0.4 / xyz[1], RGB_COLOURSPACE_sRGB.whitepoint)


@pytest.mark.parametrize("kelvin", [3000, 4000, 8000])
def test_a_warm_or_cool_light_moves_the_wall_less_than_its_pixels(kelvin):
    """Von Kries shift in linear sRGB, without the camera's white balance.

    Seen, wall's pixels and corrected colour, CIEDE2000 in the median: 19 and 8 at 3000 K, 13 and 7
    at 4000 K, 4.7 and 2.9 at 8000 K; the corrected one moved less on 92, 86 and 85 of 100 photos.
    LRV off by 3.6 in the mean and 14 at most at 3000 K. A strong colour was lost or gained on 5 of
    71 walls, all but one of them near even odds. On the demo photos, whose trim is white: 20 and 2.
    """
    raw, corrected = [], []
    for photo in PHOTOS:
        rgb = pixels(photo)
        shifted = from_linear(linear(rgb) * illuminant(kelvin))
        was, now = untouched(photo), read(shifted)
        wall = read_photo_and_surfaces(encoded(rgb, "BMP"))[1] == WALL
        raw.append(delta_E_CIE2000(plain_colour(rgb, wall), plain_colour(shifted, wall)))
        corrected.append(
            delta_E_CIE2000(
                at_mid_lightness(was.wall.colour.lab), at_mid_lightness(now.wall.colour.lab)
            )
        )
        assert now.wall.tone == was.wall.tone
        assert now.wall.lrv.low <= was.wall.lrv.typical <= now.wall.lrv.high
        assert now.wall.lrv.typical == pytest.approx(was.wall.lrv.typical, abs=14)
        assert not flipped(was.wall.bold_probability, now.wall.bold_probability)
    assert np.mean(corrected) < 0.4 * np.mean(raw)
    assert max(corrected) < 7
