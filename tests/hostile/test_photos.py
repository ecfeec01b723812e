"""Photos that an attacker, or a broken camera, may hand in; tests/photos has the plain ones.

What is right to show of a photo is checked where there is something to show: a polyglot or a
progressive file is still a photo.
"""

from __future__ import annotations

import io
import os
import struct
import subprocess
import sys
import time
import zipfile
import zlib
from pathlib import Path

import cv2
import numpy as np
import pytest
from PIL import ExifTags, Image, ImageCms

from scorer.errors import InputError
from scorer.photos.decode import decode, load_photo, thumbnail_jpeg
from tests.hostile.telling import DEVICE, PLACE, ROOM, encoded, heic, segments, telling

PIXELS = np.asarray(ROOM)


def near(rgb: np.ndarray, most: float = 4.0) -> bool:
    return rgb.shape == PIXELS.shape and np.abs(rgb.astype(int) - PIXELS).mean() < most


def zipped() -> bytes:
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w") as archive:
        archive.writestr("evil.exe", b"MZ" * 100)
    return out.getvalue()


JPEG = encoded(ROOM, "JPEG", quality=92)


def turned(orientation: int) -> Image.Exif:
    exif = Image.Exif()
    exif[ExifTags.Base.Orientation] = orientation
    return exif


SCRIPT = b"<script>alert(1)</script>"
SHOWN = {
    "a zip behind a JPEG": JPEG + zipped(),
    "a page inside a JPEG": encoded(ROOM, "JPEG", quality=92, comment=SCRIPT * 50),
    "a page behind a PNG": encoded(ROOM, "PNG") + b"<html>" + SCRIPT,
    "progressive": encoded(ROOM, "JPEG", quality=92, progressive=True),
    "no chroma subsampling": encoded(ROOM, "JPEG", quality=92, subsampling=0),
    "palette": encoded(ROOM.convert("P", palette=Image.Palette.ADAPTIVE), "PNG"),
    "interlaced": encoded(ROOM, "PNG", interlace=1),
    "animated WebP": encoded(
        ROOM, "WEBP", quality=95, save_all=True, append_images=[ROOM.rotate(180)], duration=10
    ),
    "animated PNG": encoded(ROOM, "PNG", save_all=True, append_images=[ROOM.rotate(180)]),
    "animated GIF": encoded(
        ROOM, "GIF", save_all=True, append_images=[ROOM.rotate(180)] * 20, duration=10
    ),
    "many pages": encoded(ROOM, "TIFF", save_all=True, append_images=[ROOM.rotate(180)] * 5),
    "HEIC": heic(ROOM, quality=95),
    "HEIC of two": heic(ROOM, quality=95, save_all=True, append_images=[ROOM.rotate(180)]),
    "CMYK TIFF": encoded(ROOM.convert("CMYK"), "TIFF"),
    "broken Exif": encoded(ROOM, "JPEG", quality=92, exif=b"Exif\0\0MM\0*\0\0\0\x08\xff\xff" * 40),
    "Exif in a circle": encoded(
        ROOM, "JPEG", quality=92,
        # TIFF 6.0, section 2: the first directory names itself as the one that follows it.
        exif=b"Exif\0\0" + struct.pack(">2sHIHHHIII", b"MM", 42, 8, 1, 0x8769, 4, 1, 8, 8),
    ),
    "Exif that ends in the middle": JPEG[:2] + b"\xff\xe1\0\x10Exif\0\0II*\0\xff\xff" + JPEG[2:],
    "no such orientation": encoded(ROOM, "JPEG", quality=92, exif=turned(99)),
    "a profile of many parts": encoded(
        ROOM, "JPEG", quality=92, icc_profile=bytes(range(256)) * 1_000
    ),
    "broken profile": encoded(ROOM, "JPEG", quality=92, icc_profile=b"\0" * 500),
    "profile of another space": encoded(
        ROOM, "JPEG", quality=92,
        icc_profile=ImageCms.ImageCmsProfile(ImageCms.createProfile("LAB")).tobytes(),
    ),
}  # fmt: skip


@pytest.mark.filterwarnings("ignore::UserWarning")
@pytest.mark.parametrize("name", SHOWN)
@pytest.mark.parametrize("ending", [".jpg", ".png", ".heic", ".exe"])
def test_what_is_inside_counts_not_the_ending(name: str, ending: str, tmp_path: Path) -> None:
    path = tmp_path / f"kitchen{ending}"
    path.write_bytes(SHOWN[name])
    assert near(load_photo(path), 8.0)
    small = thumbnail_jpeg(path, 200)
    assert b"script" not in small
    assert b"evil" not in small
    assert small.startswith(b"\xff\xd8")


@pytest.mark.parametrize("data", [heic(ROOM), encoded(ROOM, "WEBP"), encoded(ROOM, "AVIF")])
@pytest.mark.parametrize("share", [0.02, 0.3, 0.7, 0.98])
def test_cut_short_gives_one_sentence(data: bytes, share: float) -> None:
    sentence, shape = "", PIXELS.shape
    try:
        shape = load_photo(data[: int(len(data) * share)], name="kitchen.heic").shape
    except InputError as error:
        sentence = str(error)
    assert shape == PIXELS.shape
    assert sentence.startswith("kitchen.heic: ") or not sentence
    assert "\n" not in sentence


def gif_bomb(side: int) -> bytes:
    """A GIF whose header claims a size (GIF89a, section 18) and which holds nothing."""
    return b"GIF89a" + struct.pack("<HHBBB", side, side, 0, 0, 0) + b"\x3b"


def tiff_bomb(side: int, strips: int) -> bytes:
    """A TIFF that claims a size and a number of strips (TIFF 6.0, section 2)."""
    tags = [(256, side), (257, side), (258, 8), (259, 1), (262, 1), (273, 8), (277, 1),
            (278, 1), (279, strips)]  # fmt: skip
    head = struct.pack("<2sHIH", b"II", 42, 8, len(tags))
    return head + b"".join(struct.pack("<HHII", t, 4, 1, v) for t, v in tags) + b"\0" * 4


def webp_bomb(width: int, height: int) -> bytes:
    """An extended WebP header (RFC 9649, 2.7) that claims a canvas."""
    body = b"WEBPVP8X" + struct.pack("<I", 10) + b"\0" * 4
    body += (width - 1).to_bytes(3, "little") + (height - 1).to_bytes(3, "little")
    return b"RIFF" + struct.pack("<I", len(body)) + body


def png_text_bomb() -> bytes:
    """A PNG whose compressed text (PNG, 11.3.3) grows to 200 MB."""
    data = b"Comment\0\0" + zlib.compress(b"\0" * 200_000_000, 9)
    chunk = struct.pack(">I", len(data)) + b"zTXt" + data
    chunk += struct.pack(">I", zlib.crc32(b"zTXt" + data))
    good = encoded(ROOM, "PNG")
    at = good.index(b"IDAT") - 4
    return good[:at] + chunk + good[at:]


def bmp_bomb() -> bytes:
    good = bytearray(encoded(Image.new("RGB", (64, 64)), "BMP"))
    good[18:26] = struct.pack("<ii", 2**31 - 1, 2**31 - 1)
    return bytes(good)


BOMBS = {
    "GIF": gif_bomb(65_535),
    "TIFF": tiff_bomb(60_000, 2**31),
    "WebP": webp_bomb(16_384, 16_384),
    "BMP": bmp_bomb(),
    "PNG text": png_text_bomb(),
    "JPEG": JPEG.replace(struct.pack(">HH", 360, 540), struct.pack(">HH", 65_500, 65_500)),
    "HEIC": heic(ROOM).replace(struct.pack(">II", 540, 360), struct.pack(">II", 2**30, 2**30)),
}
BOMB_SCRIPT = """
import resource, sys
resource.setrlimit(resource.RLIMIT_AS, (4_000_000_000, 4_000_000_000))
from scorer.errors import InputError
from scorer.photos.decode import decode
before = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss
try:
    decode(sys.argv[1])
except InputError as error:
    print("refused", error)
else:
    print("shown")
print((resource.getrusage(resource.RUSAGE_SELF).ru_maxrss - before) // 1000, "MB")
"""


@pytest.mark.skipif(sys.platform == "win32", reason="needs resource limits")
@pytest.mark.parametrize("name", BOMBS)
def test_a_bomb_fills_no_memory(name: str, tmp_path: Path) -> None:
    path = tmp_path / "kitchen.jpg"
    path.write_bytes(BOMBS[name])
    started = time.monotonic()
    got = subprocess.run(
        [sys.executable, "-c", BOMB_SCRIPT, str(path)],
        capture_output=True,
        text=True,
        timeout=120,
        check=True,
    )
    first, last = got.stdout.splitlines()[0], got.stdout.splitlines()[-1]
    assert first.startswith("refused kitchen.jpg: ") or name == "PNG text"
    assert int(last.split()[0]) < 250, got.stdout  # a 120-million-pixel photo alone takes 360 MB
    assert time.monotonic() - started < 60


def test_sixteen_bits_a_channel() -> None:
    """PNG, 11.2.1: colour type 2 with a bit depth of 16."""
    done, png = cv2.imencode(".png", PIXELS[..., ::-1].astype(np.uint16) * 257)
    assert done
    assert near(load_photo(png.tobytes()), 1.0)


LINES = [(1, 1), (1, 30_000), (30_000, 1), (2, 30_000), (30_000, 2)]


@pytest.mark.parametrize(
    ("kind", "size"),
    [(kind, size) for kind in ("PNG", "JPEG") for size in LINES]
    + [("WEBP", (1, 1)), ("WEBP", (1, 16_383))],  # RFC 9649: 14 bits a side
)
def test_lines_and_points_are_no_photos(kind: str, size: tuple[int, int]) -> None:
    with pytest.raises(InputError, match=r"^photo: .*only|strip"):
        load_photo(encoded(Image.new("RGB", size, (90, 80, 70)), kind))


def test_sixteen_bits_and_odd_pixel_kinds() -> None:
    grey = PIXELS[..., 1].astype(np.uint16) * 257
    assert np.abs(
        load_photo(encoded(Image.fromarray(grey), "TIFF"))[..., 1].astype(int) - PIXELS[..., 1]
    ).max() <= 1  # fmt: skip
    floats = Image.fromarray(PIXELS[..., 1].astype(np.float32) / 255)
    assert load_photo(encoded(floats, "TIFF")).shape == PIXELS.shape
    broken = np.full((64, 64), np.nan, np.float32)
    broken[0, 0] = np.inf
    assert load_photo(encoded(Image.fromarray(broken), "TIFF")).dtype == np.uint8
    one_bit = ROOM.convert("1")
    assert load_photo(encoded(one_bit, "PNG")).shape == PIXELS.shape
    inverted = encoded(ROOM.convert("CMYK"), "JPEG", quality=95)
    assert near(load_photo(inverted), 5.0)


# Privacy ---------------------------------------------------------------------------------------


@pytest.mark.parametrize("kind", ["JPEG", "PNG", "WEBP", "HEIF"])
def test_no_exported_photo_tells_place_or_device(kind: str) -> None:
    data = telling()
    with Image.open(io.BytesIO(data)) as image:
        exif, xmp = image.info["exif"], image.info["xmp"]
    if kind == "HEIF":
        data = heic(ROOM, exif=exif, xmp=xmp)
    elif kind != "JPEG":
        data = encoded(ROOM, kind, exif=exif, **({"xmp": xmp} if kind == "WEBP" else {}))
    assert DEVICE in data
    small = thumbnail_jpeg(data, 300)
    assert PLACE not in small
    assert DEVICE not in small
    # Only JFIF's own header (APP0) may be there: no APP1 (Exif, XMP) to APP15, no comment.
    assert [m for m in segments(small) if m == 0xFE or 0xE1 <= m <= 0xEF] == []
    with Image.open(io.BytesIO(small)) as image:
        assert dict(image.getexif()) == {}
        assert set(image.info) <= {"jfif", "jfif_version", "jfif_unit", "jfif_density"}


def test_explained_and_repainted_photos_are_bare_pixels() -> None:
    from scorer.photos import overlay

    pixels = overlay(telling(), "wall").rgb
    assert isinstance(pixels, np.ndarray)
    assert decode(telling()).rgb.dtype == np.uint8


def test_no_traceback_reaches_the_command_line(tmp_path: Path) -> None:
    paths = []
    for name, data in {**BOMBS, "cut": JPEG[:3000], "text": b"\x1b[2Jnot a photo"}.items():
        if name == "PNG text":
            continue
        path = tmp_path / f"{name}\n\x1b[31m.jpg"
        path.write_bytes(data)
        paths.append(str(path))
    good = tmp_path / "good.jpg"
    good.write_bytes(JPEG)
    code = "from scorer.commands import main; main()"
    got = subprocess.run(
        [sys.executable, "-c", code, "read", *paths, str(good)],
        capture_output=True,
        text=True,
        timeout=180,
        check=False,
    )
    assert got.returncode == 1
    assert "Traceback" not in got.stderr + got.stdout
    assert "\x1b" not in got.stderr + got.stdout  # no name may steer the terminal
    assert "good.jpg" in got.stdout


# Files that are no files, or too large ------------------------------------------------------------


def odd_files(home: Path) -> dict[str, str]:
    """A home of one photo, a pipe that never ends, a device, and files too large to be read."""
    home.mkdir(parents=True)
    (home / "front.jpg").write_bytes(JPEG)
    os.mkfifo(home / "kitchen.jpg")
    os.mkfifo(home / "listing.json")
    os.mkfifo(home / "tags.csv")
    (home / "bath.jpg").symlink_to("/dev/zero")
    for name, size in (("bedroom.jpg", 120_000_001), ("den.jpg", 3_000_000_000)):
        with (home / name).open("wb") as file:
            file.truncate(size)  # a hole: it takes no room on the disk
    return {"kitchen.jpg": "empty", "bath.jpg": "empty", "bedroom.jpg": "limit", "den.jpg": "limit"}


@pytest.mark.skipif(not hasattr(os, "mkfifo"), reason="needs named pipes")
def test_pipes_devices_and_huge_files_cost_themselves(tmp_path: Path) -> None:
    home = tmp_path / "homes" / "oak"
    bad = odd_files(home)
    for name, words in bad.items():
        with pytest.raises(InputError, match=words):
            decode(home / name)
    code = "from scorer.commands import main; main()"
    got = subprocess.run(
        [sys.executable, "-c", code, "screen", str(home.parent), "--json"],
        capture_output=True,
        text=True,
        timeout=120,
        check=False,
    )
    assert got.returncode == 1
    for name, words in bad.items():
        assert [line for line in got.stderr.splitlines() if name in line and words in line], name


@pytest.mark.skipif(not hasattr(os, "mkfifo"), reason="needs named pipes")
def test_the_page_waits_for_no_pipe(tmp_path: Path) -> None:
    from scorer.store import Store
    from scorer.workspace import Workspace

    bad = odd_files(tmp_path / "homes" / "oak")
    space = Workspace(Store(tmp_path / "data" / "homes.sqlite"))
    space.import_folder(tmp_path / "homes")
    space.read_all()
    (item,) = space.screen_all()
    errors = {reading.file: reading.error or "" for reading in item.result.readings}
    assert errors["front.jpg"] == ""
    for name, words in bad.items():
        assert words in errors[name]
