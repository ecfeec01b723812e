"""Decoding: what a phone or a listing may hand in, and what an attacker may."""

from __future__ import annotations

import io
import struct
import zlib
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from numpy.testing import assert_allclose
from PIL import ExifTags, Image, ImageCms
from PIL.TiffImagePlugin import IFDRational

from scorer.errors import InputError
from scorer.photos.decode import decode, load_photo, thumbnail_jpeg


def gradient(width: int = 320, height: int = 240) -> np.ndarray:
    """A picture whose four corners differ: red left to right, green top to bottom."""
    red = np.linspace(40, 210, width)[None, :].repeat(height, 0)
    green = np.linspace(30, 220, height)[:, None].repeat(width, 1)
    return np.stack([red, green, np.full_like(red, 90)], axis=-1).astype(np.uint8)


def encoded(image: Image.Image, kind: str, **options: object) -> bytes:
    out = io.BytesIO()
    image.save(out, kind, **options)
    return out.getvalue()


@pytest.mark.parametrize("kind", ["JPEG", "PNG", "WEBP", "TIFF", "BMP", "GIF"])
def test_formats_come_out_the_same(kind):
    rgb = gradient()
    photo = decode(encoded(Image.fromarray(rgb), kind))
    assert (photo.width_px, photo.height_px) == (320, 240)
    assert np.abs(photo.rgb.astype(int) - rgb).mean() < 6  # GIF has 256 colours


def test_heic_from_a_phone_is_read_upright():
    import pillow_heif

    pillow_heif.register_heif_opener()
    exif = Image.Exif()
    exif[ExifTags.Base.Orientation] = 6
    rgb = gradient()
    data = encoded(Image.fromarray(rgb), "HEIF", quality=90, exif=exif.tobytes())
    photo = decode(data)
    assert (photo.width_px, photo.height_px) == (240, 320)
    assert np.abs(photo.rgb.astype(int) - np.rot90(rgb, -1)).mean() < 4


# Exif 2.32 (CIPA DC-008): orientation says where the stored picture's first row and column belong.
TURN = {
    1: lambda a: a,
    2: lambda a: a[:, ::-1],
    3: lambda a: a[::-1, ::-1],
    4: lambda a: a[::-1],
    5: lambda a: a.transpose(1, 0, 2),
    6: lambda a: np.rot90(a, -1),
    7: lambda a: a[::-1, ::-1].transpose(1, 0, 2),
    8: lambda a: np.rot90(a, 1),
}


@pytest.mark.parametrize("orientation", TURN)
@pytest.mark.parametrize("longest", [None, 100])
def test_orientation(orientation, longest):
    exif = Image.Exif()
    exif[ExifTags.Base.Orientation] = orientation
    rgb = gradient()
    photo = decode(encoded(Image.fromarray(rgb), "JPEG", quality=95, exif=exif), longest_px=longest)
    expected = TURN[orientation](rgb)
    assert (photo.height_px, photo.width_px) == expected.shape[:2]
    if longest:
        assert max(photo.rgb.shape) == longest
        corners = photo.rgb[[0, 0, -1, -1], [0, -1, 0, -1]].astype(int)
        wanted = expected[[0, 0, -1, -1], [0, -1, 0, -1]].astype(int)
        assert np.abs(corners - wanted).max() < 12
    else:
        assert np.abs(photo.rgb.astype(int) - expected).mean() < 3


def test_reduced_decoding_measures_the_same_colours():
    big = np.asarray(Image.fromarray(gradient()).resize((3000, 2250), Image.Resampling.BICUBIC))
    data = encoded(Image.fromarray(big), "JPEG", quality=92)
    small = load_photo(data, longest_px=768)
    assert small.shape == (576, 768, 3)
    whole = np.asarray(Image.fromarray(big).resize((768, 576), Image.Resampling.BOX))
    assert np.abs(small.astype(int) - whole).mean() < 1


def test_colour_profile_is_applied():
    # The same pixel values mean another colour in another RGB space. Swap red and green in the
    # profile: a correct reader must swap them back when it goes to sRGB.
    srgb = ImageCms.ImageCmsProfile(ImageCms.createProfile("sRGB")).tobytes()
    swapped = srgb.replace(b"rXYZ", b"tmpX").replace(b"gXYZ", b"rXYZ").replace(b"tmpX", b"gXYZ")
    swapped = swapped.replace("sRGB".encode("utf-16-be"), "else".encode("utf-16-be"))
    image = Image.fromarray(gradient())
    photo = decode(encoded(image, "PNG", icc_profile=swapped))
    assert_allclose(photo.rgb[..., 0].astype(int), gradient()[..., 1], atol=3)
    assert_allclose(photo.rgb[..., 1].astype(int), gradient()[..., 0], atol=3)
    broken = decode(encoded(image, "PNG", icc_profile=b"not a profile"))
    assert_allclose(broken.rgb, gradient())


def test_other_pixel_kinds():
    grey = Image.fromarray(gradient()[..., 0])
    assert_allclose(load_photo(encoded(grey, "PNG"))[..., 2], gradient()[..., 0])
    sixteen = Image.fromarray(gradient()[..., 0].astype(np.uint16) * 257)
    assert_allclose(load_photo(encoded(sixteen, "PNG"))[..., 1], gradient()[..., 0], atol=1)
    cmyk = Image.fromarray(gradient()).convert("CMYK")
    assert np.abs(load_photo(encoded(cmyk, "JPEG")).astype(int) - gradient()).mean() < 3
    palette = Image.fromarray(gradient()).convert("P", palette=Image.Palette.ADAPTIVE)
    assert np.abs(load_photo(encoded(palette, "PNG")).astype(int) - gradient()).mean() < 6
    glass = Image.new("RGBA", (64, 64), (10, 20, 30, 0))
    assert_allclose(load_photo(encoded(glass, "PNG")), 255)  # nothing there: white shows through
    frames = [Image.new("RGB", (64, 64), c) for c in ("red", "blue")]
    animated = encoded(frames[0], "GIF", save_all=True, append_images=frames[1:])
    assert load_photo(animated)[0, 0].tolist() == [255, 0, 0]  # the first picture counts


def test_camera_exposure_is_read():
    exif = Image.Exif()
    details = exif.get_ifd(ExifTags.IFD.Exif)
    details[ExifTags.Base.ExposureTime] = IFDRational(1, 60)
    details[ExifTags.Base.FNumber] = IFDRational(4, 1)
    details[ExifTags.Base.ISOSpeedRatings] = 400
    details[ExifTags.Base.Flash] = 1
    camera = decode(encoded(Image.fromarray(gradient()), "JPEG", exif=exif)).camera
    assert camera is not None
    assert (camera.f_number, camera.iso, camera.flash) == (4, 400, True)
    assert camera.seconds == pytest.approx(1 / 60)


def test_nonsense_exposure_is_left_out():
    exif = Image.Exif()
    details = exif.get_ifd(ExifTags.IFD.Exif)
    details[ExifTags.Base.ExposureTime] = IFDRational(0, 1)
    details[ExifTags.Base.FNumber] = IFDRational(0, 0)
    details[ExifTags.Base.ISOSpeedRatings] = 0
    assert decode(encoded(Image.fromarray(gradient()), "JPEG", exif=exif)).camera is None


def png_header(width: int, height: int) -> bytes:
    """A PNG that claims a size and holds next to nothing."""

    def chunk(kind: bytes, data: bytes) -> bytes:
        return (
            struct.pack(">I", len(data)) + kind + data
            + struct.pack(">I", zlib.crc32(kind + data))
        )  # fmt: skip

    head = struct.pack(">IIBBBBB", width, height, 8, 2, 0, 0, 0)
    body = zlib.compress(b"\0" * 100)
    return b"\x89PNG\r\n\x1a\n" + chunk(b"IHDR", head) + chunk(b"IDAT", body) + chunk(b"IEND", b"")


JPEG = encoded(Image.fromarray(gradient()), "JPEG", quality=90)
HOSTILE = {
    "empty": (b"", "empty"),
    "text": (b"a shopping list, not a photo", "not a JPEG"),
    "cut short": (JPEG[: len(JPEG) // 2], "cut short"),
    "header only": (JPEG[:20], ""),
    "zeros": (b"\0" * 5000, "not a JPEG"),
    "page": (b"<html><body>not found</body></html>", "not a JPEG"),
    "drawing": (b"%!PS-Adobe-3.0 EPSF-3.0\n%%BoundingBox: 0 0 9 9\n", "not a JPEG"),
    "one pixel": (encoded(Image.new("RGB", (1, 1)), "PNG"), "only 1 × 1"),
    "line": (encoded(Image.new("RGB", (1, 30_000)), "PNG"), "only 1 × 30000"),
    "strip": (encoded(Image.new("RGB", (40, 3000)), "PNG"), "strip"),
    "bomb": (png_header(40_000, 40_000), "million pixels"),
    "smaller bomb": (png_header(12_000, 11_000), "million pixels"),
    "lying header": (png_header(800, 600), ""),
    "false HEIC": (b"\0\0\0\x18ftypheic" + b"\0" * 100, ""),
}


@pytest.mark.filterwarnings("ignore::PIL.Image.DecompressionBombWarning")
@pytest.mark.parametrize("name", HOSTILE)
def test_a_bad_file_gets_one_sentence(name, tmp_path: Path):
    data, words = HOSTILE[name]
    path = tmp_path / "kitchen.jpg"
    path.write_bytes(data)
    for source in (path, data):
        with pytest.raises(InputError) as caught:
            decode(source, name="kitchen.jpg")
        sentence = str(caught.value)
        assert sentence.startswith("kitchen.jpg: ")
        assert words in sentence
        assert sentence.endswith(".")
        assert "\n" not in sentence
        assert ";" in sentence  # what is wrong; how to mend it


def test_missing_file_and_folder(tmp_path: Path):
    with pytest.raises(InputError, match=r"gone\.jpg: the file cannot be found"):
        decode(tmp_path / "gone.jpg")
    with pytest.raises(InputError, match="folder"):
        decode(tmp_path)
    with pytest.raises(InputError):
        decode("bad\0name.jpg")


@settings(max_examples=150, deadline=None)
@given(st.data())
def test_a_damaged_photo_never_escapes_as_another_error(data):
    damaged = bytearray(JPEG)
    for _ in range(data.draw(st.integers(1, 12))):
        damaged[data.draw(st.integers(0, len(damaged) - 1))] = data.draw(st.integers(0, 255))
    cut = data.draw(st.integers(1, len(damaged)))
    sentence = ""
    try:
        rgb = load_photo(bytes(damaged[:cut]), longest_px=128)
    except InputError as error:
        sentence = str(error)
    assert sentence.startswith("photo: ") if sentence else rgb.dtype == np.uint8


def test_thumbnail_is_upright_and_carries_no_metadata():
    exif = Image.Exif()
    exif[ExifTags.Base.Orientation] = 6
    exif[ExifTags.Base.Make] = "a camera"
    exif.get_ifd(ExifTags.IFD.GPSInfo)[1] = "N"
    data = encoded(Image.fromarray(gradient()), "JPEG", exif=exif, comment=b"my home")
    small = thumbnail_jpeg(data, 90)
    with Image.open(io.BytesIO(small)) as image:
        assert image.size == (90, 120)
        assert dict(image.getexif()) == {}
        assert not {"exif", "icc_profile", "comment", "xmp"} & set(image.info)
    assert b"camera" not in small
    assert b"my home" not in small
    with pytest.raises(ValueError, match="width"):
        thumbnail_jpeg(data, 0)
