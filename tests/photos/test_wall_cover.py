"""Plain paint against tile, panels and paper."""

from __future__ import annotations

import csv
import math

import cv2
import numpy as np
import pytest
from scipy.stats import norm
from skimage import data

from scorer.photos import wall_cover
from scorer.photos.read import read_scene
from scorer.photos.wall_cover import cover_features, covered_probability
from tests.photos.rooms import draw_room

ALL = np.ones((171, 256), bool)


def drawn_wall(
    joint: float = 0.0, pitch: int = 24, noise: float = 1.0, level: float = 150.0
) -> np.ndarray:
    """A wall lit from the left, with joints darker by `joint` levels, and the camera's noise."""
    rows, columns = np.mgrid[:512, :768]
    grey = level * np.linspace(1.0, 0.7, 768)[None, :] * np.ones((512, 1))
    grey = np.where((rows % pitch < 3) | (columns % pitch < 3), grey - joint, grey)
    grey += np.random.default_rng(2).normal(0, noise, grey.shape)
    return np.clip(grey, 0, 255).astype(np.uint8)


def test_constants_are_those_of_gaussian_noise() -> None:
    # Quartiles of the half-normal distribution, from scipy; the masks' norms from their weights.
    assert pytest.approx(norm.ppf(0.875), abs=1e-4) == wall_cover._QUARTILE_OF_NOISE
    weights = -np.full((5, 5), 1 / 25)
    weights[1:4, 1:4] += 1 / 9
    expected = norm.ppf(0.75) * np.linalg.norm(weights)
    assert pytest.approx(expected, abs=1e-4) == wall_cover._MEDIAN_OF_CONTRAST
    # Immerkær 1996, eq. 4: the mask's response to unit noise is 6 before it is divided by 6.
    assert np.linalg.norm(wall_cover._NOISE_MASK) == pytest.approx(1.0)
    assert wall_cover._NOISE_MASK.sum() == pytest.approx(0.0)


@pytest.mark.parametrize("noise", [0.0, 2.0, 4.0, 6.0])
@pytest.mark.parametrize("level", [60.0, 150.0, 230.0])
def test_grain_is_no_pattern(noise: float, level: float) -> None:
    assert covered_probability(drawn_wall(noise=noise, level=level), ALL) < 0.05


@pytest.mark.parametrize("noise", [1.0, 6.0])
def test_tile_joints_are_a_pattern(noise: float) -> None:
    chance = covered_probability(drawn_wall(joint=30, noise=noise), ALL)
    assert chance > 0.9
    assert chance > covered_probability(drawn_wall(joint=8, noise=noise), ALL)


@pytest.mark.parametrize("name", ["brick", "gravel", "grass"])
def test_photographed_surfaces_against_themselves_smoothed(name: str) -> None:
    # Photographs of textures (CC0 Textures) that scikit-image carries: no plain paint among them.
    photo = getattr(data, name)()
    smooth = cv2.GaussianBlur(photo, (0, 0), 25)  # the light on it stays, its texture goes
    whole = np.ones((128, 128), bool)
    assert covered_probability(photo, whole) > 0.25
    assert covered_probability(smooth, whole) < 0.01


def test_a_tiled_corner_does_not_make_a_painted_wall_tile() -> None:
    grey = drawn_wall()
    grey[:, :220] = drawn_wall(joint=40)[:, :220]
    assert covered_probability(grey, ALL) < 0.25
    only = ALL.copy()
    only[:, 66:] = False
    assert covered_probability(grey, only) > 0.9


def test_things_outside_the_wall_have_no_say() -> None:
    tiled = drawn_wall(joint=60, pitch=16)
    grey = tiled.copy()
    grey[100:400, 200:600] = drawn_wall()[100:400, 200:600]
    mask = np.zeros((171, 256), bool)
    mask[36:130, 70:197] = True
    assert covered_probability(grey, mask) < 0.05
    assert covered_probability(tiled, mask) > 0.9


@pytest.mark.parametrize("shape", [(10, 10), (512, 768)])
def test_too_little_wall_says_nothing(shape: tuple[int, int]) -> None:
    mask = np.zeros((171, 256), bool)
    mask[:3, :3] = True
    grey = np.full(shape, 128, np.uint8)
    assert covered_probability(grey, mask) is None
    assert math.isnan(cover_features(grey, mask)["wall_shading"])


def test_odd_sizes_are_read() -> None:
    assert covered_probability(drawn_wall()[:333, :501], np.ones((85, 128), bool)) is not None


def test_a_reading_carries_it_indoors_only() -> None:
    inside = read_scene(draw_room(50), file="a.jpg")
    assert inside.wall is not None
    assert inside.wall.covered_probability < 0.25
    outside = read_scene(draw_room(50), file="front.jpg", room_kind_hint="front")
    assert outside.wall is not None
    assert outside.wall.covered_probability is None


def test_labels_that_it_was_fitted_to() -> None:
    fit = pytest.importorskip("scorer.training.fit_wall_cover", reason="needs the extra train")
    with fit.LABELS.open(newline="", encoding="utf-8") as stream:
        rows = list(csv.DictReader(stream))
    names = [row["name"] for row in rows]
    assert len(names) == len(set(names)) == 347
    known = {"paint", "unclear"} | fit.COVERED | {f"part_{kind}" for kind in fit.COVERED}
    assert {row["cover_1"] for row in rows} <= known
    assert {row["cover_2"] for row in rows} <= known | {""}
    labels = fit.read_labels()
    assert sum(cover in fit.COVERED for cover in labels.values()) == 24


def test_area_under_the_curve_against_scikit_learn() -> None:
    fit = pytest.importorskip("scorer.training.fit_wall_cover", reason="needs the extra train")
    from sklearn.metrics import roc_auc_score

    rng = np.random.default_rng(4)
    positive = rng.random(200) < 0.2
    chances = np.round(rng.random(200) + 0.3 * positive, 1)  # with ties
    assert fit.area_under_curve(chances, positive) == pytest.approx(
        roc_auc_score(positive, chances)
    )
