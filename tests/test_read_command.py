"""``value-add read``: its contract, and what it says of photos that cannot be used."""

from __future__ import annotations

from pathlib import Path

import pytest
from PIL import Image

from scorer.commands.read import described
from scorer.photos.reading import Reading
from tests.command_line import bad_photos, lines, run
from tests.homes import DARK_RED, save_photo

READ_KEYS = {
    "file",
    "error",
    "room",
    "exposure",
    "light",
    "wall",
    "finish",
    "dominant",
    "sharpness",
    "seconds",
}


def test_read_prints_one_object_a_line(tmp_path: Path) -> None:
    first = save_photo(tmp_path / "kitchen.jpg")
    second = save_photo(tmp_path / "b.png", DARK_RED)
    result = run("read", first, second, "--json")
    assert result.exit_code == 0
    objects = lines(result)
    assert [item["file"] for item in objects] == [str(first), str(second)]
    for item in objects:
        assert set(item) >= READ_KEYS
        assert item["error"] is None
        assert set(item["room"]) >= {"kind", "probability"}
        assert item["exposure"]["kind"] in {"dark", "ok", "bright"}
        assert 0 <= item["exposure"]["dark_probability"] <= 1
        assert set(item["dominant"][0]) >= {"hex", "name", "share"}
        assert sum(colour["share"] for colour in item["dominant"]) == pytest.approx(1, abs=0.02)
        assert item["seconds"] > 0
        if item["light"] is not None:
            assert item["light"]["kind"] in {"dim", "ok", "bright"}
            assert 0 <= item["light"]["dim_probability"] <= 1
        wall = item["wall"]
        if wall is not None and wall["tone_probability"] is not None:
            assert set(wall["tone_probability"]) == {"dark", "mid", "light"}
            assert sum(wall["tone_probability"].values()) == pytest.approx(1, abs=0.01)
            assert wall["lrv"]["low"] <= wall["lrv"]["typical"] <= wall["lrv"]["high"]
            assert set(wall["colour"]) >= {"hex", "name", "lab"}


def test_read_writes_surface_codes(tmp_path: Path) -> None:
    photo = save_photo(tmp_path / "kitchen.jpg")
    other = save_photo(tmp_path / "other" / "kitchen.png")
    result = run("read", photo, other, "--json", "--surfaces", tmp_path / "surfaces")
    assert result.exit_code == 0
    assert "another photo is called kitchen" in result.stderr
    for name in ("kitchen.png", "kitchen-2.png"):
        with Image.open(tmp_path / "surfaces" / name) as codes:
            assert codes.mode == "L"
            assert codes.size == (540, 360)
            assert codes.getextrema()[1] <= 9


def test_read_without_json_is_short_text(tmp_path: Path) -> None:
    result = run("read", save_photo(tmp_path / "a.jpg"))
    assert result.exit_code == 0
    assert "colours" in result.stdout
    assert len(result.stdout.splitlines()) < 15


def test_read_words_chances_as_everywhere() -> None:
    told = described(
        Reading.model_validate(
            {
                "file": "a.jpg",
                "room": {"kind": "living_room", "probability": 0.94},
                "exposure": {
                    "kind": "ok",
                    "dark_probability": 0.37,
                    "mean_lightness": 61.2,
                    "mean_luminance": 0.3,
                    "clipped_bright_share": 0.0,
                    "clipped_dark_share": 0.0,
                },
                "wall": {
                    "fraction": 0.15,
                    "tone": "dark",
                    "tone_probability": {"dark": 0.93, "mid": 0.07, "light": 0.0},
                    "lrv": {"low": 3, "typical": 6, "high": 14},
                },
                "finish": {"dated_probability": 0.42},
            }
        )
    )
    assert told.splitlines()[1:] == [
        "  room      living room (94% likely)",
        "  photo     ok (lightness 61 of 100; 37% likely too dark)",
        "  wall      15% of the photo; dark (93% likely); gives back 6% of the light (LRV 3 to 14)",
        "  finish    42% likely dated",
    ]
    unsure = {"file": "a.jpg", "room": {"kind": "unsure", "probability": 0.97}}
    assert described(Reading.model_validate(unsure)).endswith("room      not sure which")


def test_read_gives_each_bad_photo_its_sentence_and_goes_on(tmp_path: Path) -> None:
    good = save_photo(tmp_path / "good.jpg")
    bad = bad_photos(tmp_path / "bad")
    result = run("read", *bad.values(), tmp_path / "missing.jpg", good, "--json")
    assert result.exit_code == 1
    *failed, read = lines(result)
    assert read["error"] is None
    for item in failed:
        assert item["error"]
        assert "\n" not in item["error"]
        assert all(item[key] is None for key in READ_KEYS - {"file", "error", "seconds"})
        assert item["error"] in result.stderr
    assert run("read", *bad.values()).exit_code == 2
