"""Exposure, room light and the camera as a light meter."""

from __future__ import annotations

import math

import numpy as np
import pytest

from scorer.photos.decode import CameraExposure
from scorer.photos.light import (
    C_RANGE,
    K_RANGE,
    exposure_value,
    illuminance_for,
    light_features,
    luminance_for,
    room_illuminance,
    scene_luminance,
    window_shares,
)
from tests.photos.rooms import draw_room

WORKED = CameraExposure(seconds=1 / 60, f_number=4, iso=400)


def test_meter_equation_worked_example():
    # ISO 2720:1974 with K = 12.5 and C = 250: EV = log2(16 × 60) = 9.907, EV100 = 7.907.
    assert exposure_value(WORKED) == pytest.approx(7.907, abs=5e-4)
    assert luminance_for(WORKED) == pytest.approx(30.0)
    assert illuminance_for(WORKED) == pytest.approx(600.0)


# ISO 100 table that follows from ISO 2720: L = 2^(EV−3) cd/m², E = 2.5 × 2^EV lx.
@pytest.mark.parametrize(
    ("ev", "cd_m2", "lux"),
    [(-1, 0.0625, 1.25), (0, 0.125, 2.5), (5, 4, 80), (8, 32, 640), (15, 4096, 81920)],
)
def test_exposure_value_table(ev, cd_m2, lux):
    camera = CameraExposure(seconds=2.0**-ev, f_number=1.0, iso=100)
    assert exposure_value(camera) == pytest.approx(ev)
    assert luminance_for(camera) == pytest.approx(cd_m2)
    assert illuminance_for(camera) == pytest.approx(lux)


def test_sunny_sixteen():
    # f/16 at 1/ISO s reads 256 × 12.5 = 3200 cd/m² (ANSI PH3.49, quoted in the trade).
    assert luminance_for(CameraExposure(1 / 100, 16, 100)) == pytest.approx(3200)


def test_constants_stay_in_the_standard_and_make_the_range():
    # ISO 2720:1974: K 10.6 to 13.4, C 240 to 400 for a flat receptor.
    assert K_RANGE[0] == 10.6
    assert K_RANGE[2] == 13.4
    assert C_RANGE[0] == 240
    assert C_RANGE[2] == 400
    seen = scene_luminance(
        WORKED, 0.18
    )  # a mid-grey picture is what the meter's equation speaks of
    assert seen is not None
    assert seen.typical == pytest.approx(30.0)
    assert seen.low < luminance_for(WORKED, 10.6)
    assert seen.high > luminance_for(WORKED, 13.4)


def test_illuminance_follows_from_luminance_and_reflectance():
    # A matt surface of reflectance ρ has L = ρ·E/π (Lambert); the range must hold ρ = 0.2 to 0.5,
    # between floor and ceiling of the IES Lighting Handbook 1947, p. 10-34.
    lux = room_illuminance(WORKED, 0.18)
    assert lux is not None
    assert lux.low < math.pi * 30 / 0.5 < lux.typical < math.pi * 30 / 0.2 < lux.high
    # The incident-light equation itself (600 lx with C = 250) lies inside, below C = 400.
    assert lux.typical < illuminance_for(WORKED) < lux.high
    assert lux.high == pytest.approx(960)


def test_flash_tells_nothing_of_the_room():
    assert scene_luminance(CameraExposure(1 / 60, 4, 400, flash=True), 0.18) is None
    assert room_illuminance(CameraExposure(1 / 60, 4, 400, flash=True), 0.18) is None


def test_twice_the_light_reads_twice_the_luminance():
    # The same room at 1/60 s, and lit twice as much at 1/120 s: the picture is the same.
    a = scene_luminance(CameraExposure(1 / 60, 4, 400), 0.3)
    b = scene_luminance(CameraExposure(1 / 120, 4, 400), 0.3)
    assert a is not None
    assert b is not None
    assert b.typical == pytest.approx(2 * a.typical, rel=0.01)


def test_window_share_and_blown_window():
    scene = draw_room(60)
    share, blown = window_shares(scene)
    assert share == pytest.approx(100 * 90 / (480 * 320), abs=0.006)
    assert blown == pytest.approx(1.0, abs=0.06)
    _, dim = window_shares(draw_room(60, exposure=0.2))
    assert dim == pytest.approx(0.0, abs=0.02)
    none, no_blown = window_shares(draw_room(60, window=False))
    assert none == 0
    assert no_blown is None


def test_mean_lightness_rises_with_exposure():
    levels = [light_features(draw_room(40, exposure=e))["mean_lightness"] for e in (0.1, 0.3, 0.9)]
    assert levels == sorted(levels)
    assert levels[2] - levels[0] > 20


def test_unseen_surfaces_are_not_numbers():
    features = light_features(draw_room(40, window=False))
    assert np.isfinite(features["wall_lightness"])
    assert features["window_share"] == 0
