"""The same picture in another colour space or kind of file, and the camera as a light meter."""

from __future__ import annotations

import struct

import cv2
import numpy as np
import pytest
from colour import RGB_COLOURSPACES, XYZ_to_Lab
from colour.adaptation import matrix_chromatic_adaptation_VonKries
from colour.difference import delta_E_CIE2000
from colour.models import RGB_COLOURSPACE_sRGB
from PIL import ExifTags, Image, ImageCms
from PIL.TiffImagePlugin import IFDRational

from scorer.photos import load_photo, read_photo
from scorer.photos.likeness import hamming
from scorer.photos.reading import Reading
from tests.photos.changes import PHOTOS, encoded, exposed, linear, pixels, read, untouched

D50 = np.array([0.9642, 1.0, 0.8249])  # ICC.1:2022, profile connection space


def profile_of(name: str) -> bytes:
    """A matrix profile of an RGB space [ICC.1:2022], from the space's published primaries.

    LittleCMS's own sRGB profile with the colorants, adapted to D50 by Bradford's method, and the
    curve put in their places.
    """
    space = RGB_COLOURSPACES[name]
    white = space.matrix_RGB_to_XYZ.sum(axis=1)
    adapted = matrix_chromatic_adaptation_VonKries(white, D50, "Bradford")
    colorants = (adapted @ space.matrix_RGB_to_XYZ).T
    data = bytearray(ImageCms.ImageCmsProfile(ImageCms.createProfile("sRGB")).tobytes())
    data = bytearray(bytes(data).replace("sRGB".encode("utf-16-be"), "test".encode("utf-16-be")))
    (count,) = struct.unpack_from(">I", data, 128)
    for index in range(count):
        tag, offset, _ = struct.unpack_from(">4sII", data, 132 + 12 * index)
        if tag in (b"rXYZ", b"gXYZ", b"bXYZ"):
            xyz = colorants[b"rgb".index(tag[:1])]
            struct.pack_into(">3i", data, offset + 8, *(round(v * 65536) for v in xyz))
        if tag.endswith(b"TRC") and name.startswith("Adobe"):  # Adobe RGB (1998): 563/256
            assert data[offset : offset + 4] == b"para"
            curve = (round(563 / 256 * 65536), 65536, 0, 0, 0)
            struct.pack_into(">5i", data, offset + 12, *curve)
    return bytes(data)


def stored_in(rgb: np.ndarray, name: str) -> np.ndarray:
    """The same colours as numbers of another RGB space (by colour-science)."""
    space = RGB_COLOURSPACES[name]
    light = linear(rgb) @ RGB_COLOURSPACE_sRGB.matrix_RGB_to_XYZ.T @ space.matrix_XYZ_to_RGB.T
    return np.round(255 * space.cctf_encoding(np.clip(light, 0, 1))).astype(np.uint8)


def differences(first: np.ndarray, second: np.ndarray) -> np.ndarray:
    """CIEDE2000 of every 13th pixel."""
    labs = [
        XYZ_to_Lab(linear(p[::13, ::13]) @ RGB_COLOURSPACE_sRGB.matrix_RGB_to_XYZ.T,
                   RGB_COLOURSPACE_sRGB.whitepoint)
        for p in (first, second)
    ]  # fmt: skip
    return np.asarray(delta_E_CIE2000(*labs))


@pytest.mark.parametrize("photo", PHOTOS[:3])
@pytest.mark.parametrize("space", ["sRGB", "Display P3", "Adobe RGB (1998)"])
def test_a_colour_profile_is_taken_into_account(photo, space):
    """Seen: rounding to 8 bits in another space leaves 0.12 to 0.23 in the mean and 1.3 at the 99th
    percentile; with the profile left out, 0.8 to 3.0 in the mean. The wall's colour moves by 0.2.
    """
    rgb = pixels(photo)
    stored = stored_in(rgb, space)
    file = encoded(stored, icc_profile=profile_of(space))
    apart = differences(load_photo(file), rgb)
    assert apart.mean() < 0.3
    assert np.percentile(apart, 99) < 1.6
    if space != "sRGB":
        assert differences(stored, rgb).mean() > 0.7
    now, was = read_photo(file), untouched(photo)
    assert delta_E_CIE2000(now.wall.colour.lab, was.wall.colour.lab) < 0.6
    assert now.wall.lrv.typical == pytest.approx(was.wall.lrv.typical, abs=0.6)


def test_every_kind_of_pixel_gives_the_same_answer():
    """Seen: 16-bit and alpha as the 8-bit photo; 256 colours 0.5 LRV and 1 in CIEDE2000 off."""
    rgb = pixels(PHOTOS[2])
    was = untouched(PHOTOS[2])
    opaque = np.dstack([rgb, np.full(rgb.shape[:2], 255, np.uint8)])
    deep = rgb[..., ::-1].astype(np.uint16) * 257
    files = {
        "16-bit PNG": cv2.imencode(".png", deep)[1].tobytes(),
        "16-bit TIFF": cv2.imencode(".tiff", deep)[1].tobytes(),
        "alpha": encoded(opaque, mode="RGBA"),
        "alpha WebP": encoded(opaque, "WEBP", "RGBA", lossless=True),
        "TIFF": encoded(rgb, "TIFF"),
        "CMYK": encoded(rgb, "JPEG", "CMYK", quality=95),
        "palette": encoded(rgb, "GIF", "P"),
    }
    for kind, file in files.items():
        now = read_photo(file, name="bath")
        exact = kind not in {"CMYK", "palette"}
        assert now.error is None, kind
        assert now.wall.tone == was.wall.tone, kind
        near = 0.05 if exact else 1.0
        assert now.wall.lrv.typical == pytest.approx(was.wall.lrv.typical, abs=near), kind
        colours = now.wall.colour.lab, was.wall.colour.lab
        assert delta_E_CIE2000(*colours) < (0.05 if exact else 1.6), kind
        assert hamming(now.content_hash, was.content_hash) <= (0 if exact else 2), kind


def test_white_shows_through_glass_alike():
    """Half-transparent over white is the same as half-way to white, in the file's own numbers."""
    rgb = pixels(PHOTOS[2])
    half = np.dstack([rgb, np.full(rgb.shape[:2], 128, np.uint8)])
    paler = np.round(255 + (rgb.astype(float) - 255) * 128 / 255).astype(np.uint8)
    now, was = read_photo(encoded(half, mode="RGBA")), read(paler)
    assert now.wall.lrv.typical == pytest.approx(was.wall.lrv.typical, abs=0.5)
    assert now.exposure.mean_lightness == pytest.approx(was.exposure.mean_lightness, abs=0.1)


def taken_with(rgb: np.ndarray, seconds: float, f_number: float, iso: int) -> Reading:
    exif = Image.Exif()
    details = exif.get_ifd(ExifTags.IFD.Exif)
    details[ExifTags.Base.ExposureTime] = IFDRational(round(seconds * 1e6), 1_000_000)
    details[ExifTags.Base.FNumber] = IFDRational(round(f_number * 1000), 1000)
    details[ExifTags.Base.ISOSpeedRatings] = iso
    return read_photo(encoded(rgb, exif=exif.tobytes()))


@pytest.mark.parametrize("photo", PHOTOS[2:4])
def test_a_camera_set_brighter_sees_the_same_room(photo):
    """ISO 2720: N²/t = L·S/K, so each setting that lets in twice the light doubles the pixels.

    Seen: equal to three digits without clipping, which half a stop less leaves out.
    """
    rgb = pixels(photo)
    was = taken_with(rgb, 1 / 50, 4.0, 400).light
    half = exposed(rgb, -1)
    for now in (
        taken_with(half, 1 / 100, 4.0, 400).light,
        taken_with(half, 1 / 50, 4.0 * 2**0.5, 400).light,
        taken_with(half, 1 / 50, 4.0, 200).light,
        taken_with(half, 1 / 25, 4.0, 100).light,
    ):
        for was_seen, seen in (
            (was.scene_luminance_cd_m2, now.scene_luminance_cd_m2),
            (was.illuminance_lux, now.illuminance_lux),
        ):
            for end in ("low", "typical", "high"):
                assert getattr(seen, end) == pytest.approx(getattr(was_seen, end), rel=0.02)


def test_the_same_pixels_from_twice_the_exposure_are_half_the_light():
    rgb = pixels(PHOTOS[2])
    was = taken_with(rgb, 1 / 50, 4.0, 400)
    for now in (
        taken_with(rgb, 1 / 25, 4.0, 400),
        taken_with(rgb, 1 / 50, 4.0 / 2**0.5, 400),
        taken_with(rgb, 1 / 50, 4.0, 800),
    ):
        assert now.light.scene_luminance_cd_m2.typical == pytest.approx(
            was.light.scene_luminance_cd_m2.typical / 2, rel=0.01
        )
        assert now.light.illuminance_lux.typical == pytest.approx(
            was.light.illuminance_lux.typical / 2, rel=0.01
        )
        # The settings tell how light the room is and nothing of its paint.
        assert now.wall == was.wall
        assert now.exposure == was.exposure
