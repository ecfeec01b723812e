"""Overlays: the region that is outlined is the region that was measured."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from scorer.errors import InputError
from scorer.photos.colour import bytes_of_hex
from scorer.photos.decode import DecodedPhoto
from scorer.photos.explain import (
    SUBJECTS,
    figure_region,
    figure_words,
    overlay,
    overlay_scene,
)
from scorer.photos.read import read_scene
from scorer.photos.reading import Reading
from scorer.photos.scene import Scene, build_scene
from tests.photos.rooms import draw_room


def repainted(scene: Scene, cells: np.ndarray, rgb: tuple[int, int, int]) -> Scene:
    """The same room with other pixels where `cells` says so."""
    height, width = scene.photo.rgb.shape[:2]
    rows = np.arange(height) * cells.shape[0] // height
    columns = np.arange(width) * cells.shape[1] // width
    pixels = scene.photo.rgb.copy()
    pixels[cells[rows][:, columns]] = rgb
    return build_scene(DecodedPhoto(pixels, width, height), scene.surfaces)


def swatch(scene: Scene) -> str:
    return overlay_scene(scene, read_scene(scene, file="a"), "wall").swatch


def test_the_figure_comes_from_the_outlined_pixels_and_no_others():
    scene = draw_room(40, wall_tint=(1.1, 1.0, 0.8), window=False)
    made = overlay_scene(scene, read_scene(scene, file="a"), "wall")
    # Red paint inside the outline turns the swatch red.
    inside = repainted(scene, made.region, (170, 30, 30))
    red = bytes_of_hex(swatch(inside)).astype(int)
    assert red[0] > red[1] + 60
    # Red paint on the floor, outside the outline, leaves the colour alone (floor is no white).
    floor = figure_region(scene, "floor")
    assert not (floor & made.region).any()
    outside = repainted(scene, floor, (170, 30, 30))
    before, after = (bytes_of_hex(swatch(s)).astype(int) for s in (scene, outside))
    assert np.abs(before - after).max() <= 12


def test_the_outline_runs_around_the_region():
    scene = draw_room(15, window=False)
    made = overlay_scene(scene, read_scene(scene, file="a"), "wall")
    height, width = scene.photo.rgb.shape[:2]
    changed = (made.rgb[:height] != scene.photo.rgb).any(axis=2)
    assert changed.any()
    rows = np.flatnonzero(changed[:, width // 2])
    top, bottom = np.flatnonzero(made.region[:, made.region.shape[1] // 2])[[0, -1]]
    scale = height / made.region.shape[0]
    assert rows.min() == pytest.approx(top * scale, abs=5)
    assert rows.max() == pytest.approx((bottom + 1) * scale, abs=5)
    middle = slice(int((top + 15) * scale), int((bottom - 15) * scale))
    assert not changed[middle, 20:-20].any()


def test_swatch_and_figure_are_those_of_the_reading():
    scene = draw_room(20, wall_tint=(1.2, 1.0, 0.6))
    reading = read_scene(scene, file="a")
    made = overlay_scene(scene, reading, "wall")
    assert made.swatch == reading.wall.colour.hex
    assert f"light reflectance {reading.wall.lrv.typical:.0f}" in made.caption
    assert reading.wall.reference in made.caption
    patch = bytes_of_hex(made.swatch).astype(int)
    strip = made.rgb[scene.photo.rgb.shape[0] :].astype(int)
    assert (np.abs(strip - patch).sum(axis=2) == 0).sum() > 100


@pytest.mark.parametrize("subject", SUBJECTS)
def test_every_subject_has_its_words(subject):
    heads = {
        "floor": {"carpet": 0.9, "wood": 0.1},
        "cabinets": {"none": 0.2, "white": 0.8},
    }
    scene = draw_room(50, heads=heads)
    made = overlay_scene(scene, read_scene(scene, file="a"), subject)
    assert made.caption[0].isupper()
    assert made.rgb.shape[1] == scene.photo.rgb.shape[1]
    assert made.rgb.shape[0] > scene.photo.rgb.shape[0]


def test_what_is_not_seen_is_said():
    scene = draw_room(50)
    blind = replace(scene, surfaces=None)
    words, colour = figure_words(read_scene(blind, file="a"), "wall")
    assert (words, colour) == ("Wall: too little in view to judge", None)
    assert not overlay_scene(blind, read_scene(blind, file="a"), "floor").region.any()


def test_wrong_subject_and_bad_photo():
    with pytest.raises(ValueError, match="subject must be one of"):
        overlay(b"", "roof")
    with pytest.raises(InputError, match="empty"):
        overlay(b"", "wall")
    with pytest.raises(InputError, match="no photo"):
        figure_words(Reading(file="a", error="no photo."), "wall")
