"""One photo, one reading: from bytes to the record."""

from __future__ import annotations

import io
import json

import numpy as np
import pytest
from PIL import ExifTags, Image
from PIL.TiffImagePlugin import IFDRational

from scorer.photos import ALGORITHM_VERSION, read_photo, read_photo_and_surfaces
from scorer.photos.calibration import calibration
from scorer.photos.read import guess_room, pixel_codes, read_scene
from scorer.photos.reading import Finish, Reading
from tests.photos.rooms import draw_room


def jpeg_of(rgb: np.ndarray, **options: object) -> bytes:
    out = io.BytesIO()
    Image.fromarray(rgb).save(out, "JPEG", quality=92, **options)
    return out.getvalue()


@pytest.fixture(scope="module")
def photo() -> bytes:
    exif = Image.Exif()
    details = exif.get_ifd(ExifTags.IFD.Exif)
    details[ExifTags.Base.ExposureTime] = IFDRational(1, 60)
    details[ExifTags.Base.FNumber] = IFDRational(4, 1)
    details[ExifTags.Base.ISOSpeedRatings] = 400
    return jpeg_of(draw_room(30).photo.rgb, exif=exif)


def test_a_reading_is_whole_and_comes_back_from_json(photo):
    reading, codes = read_photo_and_surfaces(photo, name="bedroom.jpg", room_kind_hint="bedroom")
    assert reading.error is None
    assert reading.file == "bedroom.jpg"
    assert reading.room.kind == "bedroom"
    assert reading.wall is not None
    assert reading.light.scene_luminance_cd_m2 is not None
    assert reading.light.illuminance_lux is not None
    assert sum(colour.share for colour in reading.dominant) == pytest.approx(1, abs=0.01)
    assert len(reading.content_hash) == 16
    assert reading.trust.width_px == 480
    assert reading.seconds > 0
    assert codes.shape == (320, 480)
    assert codes.dtype == np.uint8
    assert codes.max() <= 9
    text = reading.model_dump_json()
    assert Reading.model_validate_json(text) == reading
    keys = set(json.loads(text))
    assert {"file", "error", "room", "exposure", "light", "wall", "finish", "dominant",
            "sharpness", "seconds"} <= keys  # fmt: skip


def test_the_same_photo_reads_the_same(photo):
    first, second = (read_photo(photo).model_copy(update={"seconds": None}) for _ in range(2))
    assert first == second


def test_a_bad_file_gives_a_sentence_and_no_figures(tmp_path):
    path = tmp_path / "kitchen.jpg"
    path.write_bytes(b"not a photo at all")
    reading, codes = read_photo_and_surfaces(path)
    assert codes is None
    assert reading.file == str(path)
    assert reading.error.startswith("kitchen.jpg: ")
    assert (reading.wall, reading.exposure, reading.room, reading.dominant) == (None,) * 3 + ((),)


@pytest.mark.parametrize("value", [0, 128, 255])
def test_a_flat_picture_is_read_without_complaint(value):
    reading = read_photo(jpeg_of(np.full((200, 300, 3), value, np.uint8)))
    assert reading.error is None
    assert reading.exposure.mean_luminance == pytest.approx(((value / 255 + 0.055) / 1.055) ** 2.4
                                                            if value else 0, abs=0.01)  # fmt: skip


def test_random_noise_is_read_without_complaint():
    noise = np.random.default_rng(0).integers(0, 256, (97, 141, 3), dtype=np.uint8)
    assert read_photo(jpeg_of(noise)).error is None


def test_exposure_falls_with_the_light():
    chances = [
        read_scene(draw_room(60, exposure=e), file="a").exposure.dark_probability
        for e in (0.05, 0.2, 0.9)
    ]
    assert chances == sorted(chances, reverse=True)
    assert chances[0] > 0.8
    assert chances[-1] < 0.3


def test_outside_there_is_no_wall_to_paint():
    reading = read_scene(draw_room(10), file="front.jpg", room_kind_hint="front")
    assert reading.wall.tone is None
    assert reading.light is None
    assert reading.wall.fraction > 0.3


def test_room_comes_from_the_listing_before_the_network():
    scene = draw_room(heads={"room": {"kitchen": 0.7, "bathroom": 0.1, "unsure": 0.2}})
    assert guess_room(scene, "hall").kind == "hall"
    assert guess_room(scene, None).kind == "kitchen"
    assert guess_room(draw_room(), None).kind == "unsure"


def test_finish_only_where_there_are_finishes():
    def told(dated: float, average: float, updated: float, room: str) -> Finish | None:
        heads = {"era": {"dated": dated, "average": average, "updated": updated}}
        return read_scene(draw_room(heads=heads), file="a", room_kind_hint=room).finish

    old = told(0.8, 0.15, 0.05, "kitchen").dated_probability
    average, between = (told(*a, "bathroom") for a in ((0.1, 0.8, 0.1), (0.4, 0.2, 0.4)))
    assert told(0.05, 0.15, 0.8, "kitchen").dated_probability < 0.2 < old
    assert old > 0.6
    assert average == between  # what leans neither way is neither
    assert told(0.8, 0.15, 0.05, "bedroom") is None


def test_floor_is_said_only_where_a_floor_is_seen():
    heads = {"floor": {"carpet": 0.7, "wood": 0.2, "tile": 0.05, "other": 0.05}}
    floor = read_scene(draw_room(heads=heads), file="a").floor
    assert (floor.kind, floor.probability) == ("carpet", 0.7)
    assert floor.fraction == pytest.approx(0.2, abs=0.01)
    assert read_scene(draw_room(), file="a").cabinets is None


def test_surface_codes_have_the_size_of_the_upright_photo():
    exif = Image.Exif()
    exif[ExifTags.Base.Orientation] = 6
    big = np.kron(draw_room(30).photo.rgb, np.ones((3, 3, 1), np.uint8))
    _, codes = read_photo_and_surfaces(jpeg_of(big, exif=exif))
    assert codes.shape == (1440, 960)
    drawn = pixel_codes(draw_room(30))
    assert drawn[10, 10] == 2
    assert drawn[150, 300] == 1
    assert drawn[310, 300] == 3


def test_version_follows_the_calibration():
    assert ALGORITHM_VERSION.endswith(calibration().version)
