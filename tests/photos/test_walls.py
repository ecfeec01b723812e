"""The wall as a surface, on drawn rooms whose paint is known."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest
from colour import CCS_ILLUMINANTS, xy_to_XYZ
from colour.models import RGB_COLOURSPACE_sRGB
from hypothesis import given, settings
from hypothesis import strategies as st

from scorer.photos.calibration import LinearModel, calibration, log_odds, logistic
from scorer.photos.colour import LUMINANCE_WEIGHTS, ciede2000, linear_to_lab
from scorer.photos.read import read_scene
from scorer.photos.reading import ToneProbability
from scorer.photos.wall_features import wall_features
from scorer.photos.walls import (
    lrv_range,
    most_likely_tone,
    read_wall,
    tone_chances,
    wall_mask,
)
from scorer.photos.white import estimate_white, light_tint
from tests.photos.rooms import draw_room

CHANCE = st.floats(0.0, 1.0)


def read(lrv: float, **how):
    wall = read_wall(draw_room(lrv, **how))
    assert wall is not None
    assert wall.lrv is not None
    return wall


def test_features_are_the_stops_that_were_drawn():
    # Paint of 20 % beside a ceiling of 80 % in the same light is two stops darker: log2(0.2/0.8).
    scene = draw_room(20, window=False)
    features = wall_features(scene, wall_mask(scene), estimate_white(scene))
    assert features["beside_ceiling"] == pytest.approx(math.log2(0.20 / 0.80), abs=0.1)
    assert features["beside_trim"] == pytest.approx(math.log2(0.20 / 0.75), abs=0.1)


@pytest.mark.parametrize("lrv", [8, 20, 40, 70])
@pytest.mark.parametrize("exposure", [0.25, 0.5, 1.0])
def test_exposure_changes_no_ratio(lrv, exposure):
    plain = draw_room(lrv, window=False)
    other = draw_room(lrv, window=False, exposure=exposure)
    names = ("over_best", "beside_best", "over_p95", "chroma")
    a, b = (wall_features(s, wall_mask(s), estimate_white(s)) for s in (plain, other))
    # 0.12 stops: rounding to 8 bits of a wall that is nearly black
    assert [a[n] for n in names[:3]] == pytest.approx([b[n] for n in names[:3]], abs=0.15)


def test_lighter_paint_reads_lighter():
    lrvs = [5, 12, 22, 35, 50, 65, 80]
    walls = [read(lrv) for lrv in lrvs]
    typical = [wall.lrv.typical for wall in walls]
    assert typical == sorted(typical)
    dark = [wall.tone_probability.dark for wall in walls]
    assert dark == sorted(dark, reverse=True)
    assert walls[0].tone_probability.dark > 20 * walls[-1].tone_probability.dark
    assert walls[-1].tone == "light"


@pytest.mark.parametrize("lrv", [6, 15, 45, 75])
def test_ranking_survives_exposure_and_cast(lrv):
    for how in ({"exposure": 0.3}, {"cast": (1.25, 1.0, 0.7)}, {"exposure": 0.6, "window": False}):
        assert read(lrv, **how).lrv.typical < read(lrv + 18, **how).lrv.typical


def test_a_dim_photo_of_light_walls_is_not_a_dark_wall():
    light_walls_dark_photo, dark_walls = read(75, exposure=0.12), read(8)
    assert light_walls_dark_photo.tone == "light"
    assert light_walls_dark_photo.tone_probability.dark < 0.02
    assert dark_walls.tone_probability.dark > 0.2  # nobody asked the network here
    assert light_walls_dark_photo.lrv.typical > 2 * dark_walls.lrv.typical
    photo = read_scene(draw_room(75, exposure=0.12), file="a")
    assert photo.exposure.kind == "dark"


def test_colour_cast_is_taken_out():
    paint = (0.75, 0.9, 1.3)  # bluish
    truth = linear_to_lab(np.array(paint) / np.dot(paint, (0.2126729, 0.7151522, 0.0721750)) * 0.4)
    for cast in ((1.0, 1.0, 1.0), (1.3, 1.0, 0.65), (0.8, 1.0, 1.25)):
        wall = read(40, wall_tint=paint, cast=cast, exposure=0.7)
        lab = (truth[0], *wall.colour.lab[1:])
        assert ciede2000(lab, truth) < 5


@pytest.mark.parametrize("illuminant", ["A", "D50", "D75", "FL2", "FL4"])
@pytest.mark.parametrize("lrv", [8, 40, 70])
def test_the_colour_of_the_light_is_found(illuminant, lrv):
    """CIE 15:2018, tables of illuminants A, D50, D75, FL2 and FL4, through colour-science."""
    xy = CCS_ILLUMINANTS["CIE 1931 2 Degree Standard Observer"][illuminant]
    light = RGB_COLOURSPACE_sRGB.matrix_XYZ_to_RGB @ xy_to_XYZ(xy)
    scene = draw_room(lrv, wall_tint=(0.75, 0.9, 1.3), cast=tuple(light), exposure=0.6)
    found = light_tint(scene)
    assert found @ LUMINANCE_WEIGHTS == pytest.approx(1.0)
    grey = [linear_to_lab(tint * 0.5 / (tint @ LUMINANCE_WEIGHTS)) for tint in (found, light)]
    assert ciede2000(*grey) < 2


def test_without_surfaces_bright_greys_tell_the_light():
    light = np.array((1.2, 1.0, 0.8))
    bare = replace(draw_room(30, cast=tuple(light), window=False), surfaces=None)
    assert light_tint(bare) == pytest.approx(light / (light @ LUMINANCE_WEIGHTS), abs=0.05)


def test_what_stood_for_white_is_said():
    assert estimate_white(draw_room(20)).reference in {"ceiling", "trim"}
    white = estimate_white(draw_room(50, cast=(1.2, 1.0, 0.8), window=False))
    assert white.tint[0] / white.tint[2] == pytest.approx(1.2 / 0.8, rel=0.05)


def test_no_network_no_wall():
    scene = draw_room(50)
    blind = type(scene)(scene.photo, None, scene.linear, scene.clipped, scene.black)
    assert read_wall(blind) is None


def test_region_and_fraction_are_those_drawn():
    wall = read(40, window=False)
    assert wall.fraction == pytest.approx(3 / 5 - 12 / 320, abs=0.01)
    left, top, right, bottom = wall.region
    assert (left, right) == (0, 1)
    assert top == pytest.approx(1 / 5, abs=0.02)
    assert bottom == pytest.approx(4 / 5 - 12 / 320, abs=0.02)


@given(CHANCE, CHANCE)
def test_chances_sum_to_one(dark, light):
    if dark + light == 0:
        light = 0.1
    chances = tone_chances(dark, light)
    assert chances.dark + chances.mid + chances.light == pytest.approx(1, abs=2e-4)


@settings(max_examples=300)
@given(st.floats(-20, 130), st.floats(1.5, 15), CHANCE, CHANCE)
def test_range_rises_and_agrees_with_the_chances(mean, spread, a, b):
    dark, light = min(a, b), 1 - max(a, b)
    chances = ToneProbability(dark=dark, mid=max(0.0, 1 - dark - light), light=light)
    lrv = lrv_range(mean, spread, chances)
    assert 3 <= lrv.low <= lrv.typical <= lrv.high <= 94
    # The middle of the distribution lies in the band that holds the middle of the chances.
    if dark > 0.51:
        assert lrv.typical <= 25.1
    if light > 0.51:
        assert lrv.typical >= 59.9
    if dark < 0.049:
        assert lrv.low >= 24.9
    if light < 0.049:
        assert lrv.high <= 60.1


def test_where_measurement_and_chances_agree_the_range_is_the_measured_one():
    # Standard logistic: its 95th percentile is ln(0.95/0.05) = 2.944 scales above the middle.
    mean, spread = 70.0, 5.0
    cuts = (57.08, 81.84)
    dark = logistic((cuts[0] - mean) / spread)
    light = logistic((mean - cuts[1]) / spread)
    chances = ToneProbability(dark=dark, mid=1 - dark - light, light=light)
    lrv = lrv_range(mean, spread, chances)

    def y(l_star: float) -> float:
        return 100 * ((l_star + 16) / 116) ** 3

    assert lrv.typical == pytest.approx(y(mean), abs=0.15)
    assert lrv.low == pytest.approx(y(mean - 2.944 * spread), abs=0.15)
    assert lrv.high == pytest.approx(y(mean + 2.944 * spread), abs=0.3)


def test_most_likely_tone_leans_to_the_darker_on_a_tie():
    assert most_likely_tone(ToneProbability(dark=0.4, mid=0.4, light=0.2)) == "dark"
    assert most_likely_tone(ToneProbability(dark=0.1, mid=0.5, light=0.4)) == "mid"


def test_models_ignore_what_was_not_seen_and_hold_wild_figures():
    model = LinearModel(
        features=("a", "b"), mean=(1.0, 0.0), scale=(2.0, 1.0),
        weights=((1.0, -1.0),), intercept=(0.5,),
    )  # fmt: skip
    assert model.sums({"a": 3.0, "b": 2.0}) == [0.5 + 1.0 - 2.0]
    assert model.sums({"a": 3.0}) == [1.5]
    assert model.sums({"a": math.nan, "b": -1.0}) == [1.5]
    assert model.sums({"b": 1e9}) == [0.5 - 6.0]
    assert logistic(0) == 0.5
    assert log_odds(0.5) == 0
    assert math.isnan(log_odds(math.nan))


def test_the_shipped_calibration_is_whole():
    models = calibration().models
    assert {"wall_dark", "wall_light", "wall_bold", "wall_lightness", "photo_dark", "photo_bright",
            "room_dim", "room_bright", "dated"} <= set(models)  # fmt: skip
    # Signs that a person expects: a wall far below the bright end is darker.
    lightness = models["wall_lightness"]
    weights = dict(zip(lightness.features, lightness.weights[0], strict=True))
    assert weights["level_over_p90"] > 0
    assert weights["net_lightness"] > 0
    dark = dict(zip(models["wall_dark"].features, models["wall_dark"].weights[0], strict=True))
    assert dark["over_p95"] < 0
    assert dark["net_tone_dark"] > 0
