"""Repaint preview, against drawn rooms that differ in paint only."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from scorer.errors import InputError
from scorer.photos.colour import (
    bytes_of_hex,
    bytes_to_linear,
    ciede2000,
    hex_of_bytes,
    linear_to_bytes,
    linear_to_lab,
    luminance,
)
from scorer.photos.painting import (
    LIGHT_NEUTRAL,
    bounce_factor,
    glint_share,
    repaint,
    repaint_scene,
    soften_highlights,
    wall_matte,
)
from scorer.photos.read import read_scene
from scorer.photos.scene import CEILING, FLOOR, TRIM, WALL
from tests.photos.rooms import HEIGHT, WIDTH, draw_room

PAINT = hex_of_bytes(linear_to_bytes(np.full(3, 0.70)))


def pixels(scene, code: int) -> np.ndarray:
    """Pixels well inside a surface."""
    rows = np.arange(HEIGHT) * scene.codes.shape[0] // HEIGHT
    columns = np.arange(WIDTH) * scene.codes.shape[1] // WIDTH
    sure = scene.probability[code] > 0.999
    return sure[rows][:, columns]


def test_new_paint_looks_as_if_it_had_been_drawn():
    # The level rests on the estimate of the old paint (measured elsewhere); given it, every pixel's
    # shading must come out as drawn.
    old, new = draw_room(40, exposure=0.8), draw_room(70, exposure=0.8)
    made = repaint_scene(old, PAINT, same_exposure=True)
    wall = pixels(old, WALL)
    b = linear_to_lab(bytes_to_linear(new.photo.rgb))[wall]
    level = np.median(luminance(bytes_to_linear(new.photo.rgb))[wall]) / np.median(
        luminance(bytes_to_linear(made.after))[wall]
    )
    assert 0.5 < level < 2
    shape = linear_to_lab(bytes_to_linear(made.after) * level)[wall]
    assert np.median(ciede2000(shape, b)) < 2  # shading, apart from the estimated level


def test_shading_is_kept():
    scene = draw_room(30, window=False)
    made = repaint_scene(scene, PAINT, same_exposure=True)
    wall = pixels(scene, WALL)
    left, right = wall.copy(), wall.copy()
    left[:, 60:] = right[:, :-60] = False

    def falloff(rgb: np.ndarray) -> float:
        y = luminance(bytes_to_linear(rgb))
        return float(np.median(y[left]) / np.median(y[right]))

    assert falloff(made.after) == pytest.approx(falloff(scene.photo.rgb), rel=0.08)


@pytest.mark.parametrize("code", [CEILING, FLOOR])
def test_everything_else_only_gets_the_light_thrown_back(code):
    scene = draw_room(15)
    made = repaint_scene(scene, LIGHT_NEUTRAL, same_exposure=True)
    keep = pixels(scene, code)
    keep[1:-1] &= keep[2:] & keep[:-2]
    expected = luminance(bytes_to_linear(made.before))[keep] * made.brightened
    found = luminance(bytes_to_linear(made.after))[keep]
    unclipped = expected < 0.75
    assert unclipped.any()
    assert found[unclipped] == pytest.approx(expected[unclipped], abs=0.02, rel=0.05)
    assert made.matte[pixels(scene, WALL)].mean() > 0.97
    assert made.matte[pixels(scene, TRIM)].mean() < 0.35


def test_lamp_glint_stays_a_glint_and_does_not_blow_up():
    # A red wall with a pale patch, as a lamp leaves on gloss paint (Shafer 1985: body + light).
    tint = np.array([2.2, 0.7, 0.5], np.float32)
    tint /= np.float32(tint @ (0.2126729, 0.7151522, 0.0721750))
    light = np.ones(3, np.float32)
    share = np.zeros((60, 60), np.float32)
    share[20:40, 20:40] = 0.8
    linear = (0.2 * ((1 - share[..., None]) * tint + share[..., None] * light)).astype(np.float32)
    found = glint_share(linear, tint, light)
    assert found[30, 30] == pytest.approx(0.8, abs=0.05)
    assert found[5, 5] == pytest.approx(0.0, abs=0.02)
    grey = glint_share(linear, light, light)  # a grey wall: no telling apart
    assert not grey.any()


def test_white_stretch_beside_an_accent_wall_is_left_alone():
    scene = draw_room(12, wall_tint=(2.4, 0.65, 0.5), window=False)
    rgb = scene.photo.rgb.copy()
    rgb[70:240, :90] = (200, 200, 198)
    mixed = type(scene)(replace(scene.photo, rgb=rgb), scene.surfaces, scene.linear,
                        scene.clipped, scene.black)  # fmt: skip
    made = repaint_scene(mixed, LIGHT_NEUTRAL, same_exposure=True)
    stretch = (slice(90, 220), slice(10, 70))
    change = luminance(bytes_to_linear(made.after)[stretch]) / luminance(
        bytes_to_linear(rgb)[stretch] * made.brightened
    )
    assert np.median(change) == pytest.approx(1, abs=0.15)
    accent = made.after[90:220, 150:460].astype(int)
    assert np.median(np.ptp(accent, axis=-1)) < 30  # red no more


def test_highlights_roll_off_and_keep_their_colour():
    ramp = np.linspace(0, 3, 100, dtype=np.float32)[None, :, None] * np.ones(3, np.float32)
    rolled = soften_highlights(np.minimum(ramp, 0.96))
    assert rolled.max() <= 1
    assert (np.diff(rolled[0, :, 0]) >= -1e-6).all()
    warm = np.array([[[1.2, 1.0, 0.6]]], np.float32)
    ratio = soften_highlights(warm) / warm
    assert ratio.max() - ratio.min() < 1e-6


def test_pale_paint_lowers_the_exposure_unless_told_not_to():
    scene = draw_room(10, exposure=1.2)
    kept = repaint_scene(scene, LIGHT_NEUTRAL, same_exposure=True)
    lowered = repaint_scene(scene, LIGHT_NEUTRAL)
    ceiling = pixels(scene, CEILING)
    assert lowered.after[ceiling].mean() <= kept.after[ceiling].mean()
    assert luminance(bytes_to_linear(lowered.after))[pixels(scene, WALL)].mean() < 0.9


def test_light_thrown_back_by_the_walls():
    # Sumpner 1893: light in a closed room goes with 1 / (1 - mean reflectance). Walls from 20 to
    # 80 % that are half of the room, the rest 40 %: (1 - 0.3) / (1 - 0.6) = 1.75.
    assert bounce_factor(0.2, 0.8) == pytest.approx(1.75)
    assert bounce_factor(0.5, 0.5) == 1


def test_matte_lies_between_nothing_and_all():
    matte = wall_matte(draw_room(50))
    assert matte.min() >= 0
    assert matte.max() <= 1


def test_the_new_paint_reads_lighter():
    scene = draw_room(15)
    made = repaint_scene(scene, LIGHT_NEUTRAL, same_exposure=True)
    again = type(scene)(replace(scene.photo, rgb=made.after), scene.surfaces, scene.linear,
                        scene.clipped, scene.black)  # fmt: skip
    from scorer.photos.scene import build_scene

    after = read_scene(build_scene(again.photo, scene.surfaces), file="a").wall
    before = read_scene(scene, file="a").wall
    assert after.lrv.typical > before.lrv.typical + 15


def test_no_wall_or_wrong_colour():
    blind = replace(draw_room(50), surfaces=None)
    with pytest.raises(InputError, match="No wall is seen"):
        repaint_scene(blind)
    with pytest.raises(ValueError, match="paint_hex"):
        repaint_scene(draw_room(50), "white")
    with pytest.raises(InputError, match="empty"):
        repaint(b"")
    assert len(bytes_of_hex(LIGHT_NEUTRAL)) == 3
