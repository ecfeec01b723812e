"""Sharpness, blur, tilt, bars and lettering."""

from __future__ import annotations

import cv2
import numpy as np
import pytest
from PIL import Image, ImageDraw, ImageFont
from scipy.ndimage import laplace

from scorer.photos.colour import bytes_to_lab
from scorer.photos.quality import (
    blur_left,
    looks_marked,
    sharpness,
    tilt_degrees,
    trust,
)


def scene(width: int = 640, height: int = 480) -> np.ndarray:
    """Upright edges, level edges and texture, grey."""
    rng = np.random.default_rng(4)
    grey = np.full((height, width), 150, np.uint8)
    for left in range(30, width - 60, 90):
        cv2.rectangle(grey, (left, 60 + left % 70), (left + 45, height - 60), 60 + left % 120, -1)
    return np.clip(grey + rng.normal(0, 4, grey.shape), 0, 255).astype(np.uint8)


def lightness_of(grey: np.ndarray) -> np.ndarray:
    return np.ascontiguousarray(bytes_to_lab(np.dstack([grey] * 3))[..., 0])


def turned(grey: np.ndarray, degrees: float) -> np.ndarray:
    """The picture turned clockwise and enlarged so that no border shows."""
    height, width = grey.shape
    matrix = cv2.getRotationMatrix2D((width / 2, height / 2), -degrees, 1.3)
    return cv2.warpAffine(grey, matrix, (width, height))


def test_sharpness_is_the_variance_of_the_laplacian():
    # J. L. Pech-Pacheco et al., ICPR 2000; scipy's Laplacian is the same 4-neighbour kernel.
    l_star = lightness_of(scene())
    expected = laplace(l_star.astype(float), mode="mirror").var()
    assert sharpness(l_star) == pytest.approx(expected, rel=1e-4)


def test_blur_lowers_sharpness_and_leaves_more():
    grey = scene()
    sharp, left = [], []
    for sigma in (0.01, 1, 2, 4):
        l_star = lightness_of(cv2.GaussianBlur(grey, (0, 0), sigma))
        sharp.append(sharpness(l_star))
        left.append(blur_left(l_star))
    assert sharp == sorted(sharp, reverse=True)
    assert left == sorted(left)  # F. Crete et al., 2007: the blurred loses little by blurring
    assert left[0] < 0.45
    assert left[-1] > 0.7


@pytest.mark.parametrize("degrees", [-6.0, -3.5, 0.0, 2.0, 5.0])
def test_tilt(degrees):
    assert tilt_degrees(turned(scene(), degrees)) == pytest.approx(degrees, abs=0.4)


def test_looking_up_is_not_tilt():
    grey = scene()
    height, width = grey.shape
    corners = np.float32([[0, 0], [width, 0], [width, height], [0, height]])
    leaning = np.float32([[60, 0], [width - 60, 0], [width, height], [0, height]])
    converging = cv2.warpPerspective(
        grey, cv2.getPerspectiveTransform(corners, leaning), (width, height),
        borderMode=cv2.BORDER_REPLICATE,
    )  # fmt: skip
    assert tilt_degrees(converging) == pytest.approx(0, abs=0.6)


def test_no_lines_no_tilt():
    assert tilt_degrees(np.full((300, 400), 120, np.uint8)) is None


def test_wide_bars_are_a_reason():
    grey = scene()
    boxed = trust(640, 640, grey, lightness_of(grey), (0.0, 0.125, 1.0, 0.875))
    assert boxed.picture == (0.0, 0.125, 1.0, 0.875)
    assert boxed.reasons == ("plain bars around it (left out, 25%), as on a screenshot",)
    thin = trust(640, 500, grey, lightness_of(grey), (0.0, 0.02, 1.0, 0.98))
    assert thin.reasons == ()
    assert trust(640, 480, grey, lightness_of(grey)).picture is None
    # What counts is the size of the picture, not that of the frame around it.
    inside = trust(640, 960, grey, lightness_of(grey), (0.0, 0.4, 1.0, 0.6))
    assert "small: 640 × 192 pixels" in inside.reasons


def lettered(grey: np.ndarray, text: str, place: tuple[int, int]) -> np.ndarray:
    image = Image.fromarray(grey)
    ImageDraw.Draw(image).text(place, text, fill=250, font=ImageFont.load_default(16))
    return np.asarray(image)


def test_lettering_near_an_edge():
    grey = scene()
    assert not looks_marked(grey)
    assert looks_marked(lettered(grey, "© 2025 Example Listings", (400, 450)))
    assert looks_marked(lettered(grey, "photo by nobody at all", (12, 6)))


def test_reasons_are_plain_words():
    grey = scene()
    good = trust(2000, 1500, grey, lightness_of(grey))
    assert good.reasons == ()
    assert (good.width_px, good.height_px) == (2000, 1500)
    soft = cv2.GaussianBlur(turned(grey, 6), (0, 0), 3)
    reasons = trust(300, 225, soft, lightness_of(soft)).reasons
    assert "small: 300 × 225 pixels" in reasons
    assert "blurred" in reasons
    assert any(r.startswith("tilted by 6") for r in reasons)
