"""Colour arithmetic against published values and a general reference library."""

from __future__ import annotations

import warnings

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from numpy.testing import assert_allclose

from scorer.photos.colour import (
    bytes_of_hex,
    bytes_to_lab,
    bytes_to_linear,
    ciede2000,
    correlated_temperature,
    hex_of_bytes,
    hex_of_lab,
    lab_of_hex,
    lab_to_linear,
    lightness,
    linear_to_bytes,
    linear_to_lab,
    linear_to_srgb,
    lrv_of_hex,
    luminance,
    luminance_of_lightness,
    srgb_to_linear,
    temperature_of_chromaticity,
)

with warnings.catch_warnings():
    warnings.simplefilter("ignore")  # it warns that plotting is not installed
    import colour as reference

UNIT = st.floats(0, 1, allow_nan=False)

# G. Sharma, W. Wu, E. N. Dalal, Color Res. Appl. 30:21–30, 2005, Table 1: pairs 1–6, 7, 13–16, 17,
# 21, 25, 30 and 34, chosen for blue, near-grey, hue wrap-around, large and dark differences.
SHARMA = [
    ((50, 2.6772, -79.7751), (50, 0, -82.7485), 2.0425),
    ((50, 3.1571, -77.2803), (50, 0, -82.7485), 2.8615),
    ((50, 2.8361, -74.0200), (50, 0, -82.7485), 3.4412),
    ((50, -1.3802, -84.2814), (50, 0, -82.7485), 1.0000),
    ((50, -1.1848, -84.8006), (50, 0, -82.7485), 1.0000),
    ((50, -0.9009, -85.5211), (50, 0, -82.7485), 1.0000),
    ((50, 0, 0), (50, -1, 2), 2.3669),
    ((50, 2.4900, -0.0010), (50, -2.4900, 0.0009), 7.1792),
    ((50, 2.4900, -0.0010), (50, -2.4900, 0.0010), 7.1792),
    ((50, 2.4900, -0.0010), (50, -2.4900, 0.0011), 7.2195),
    ((50, 2.4900, -0.0010), (50, -2.4900, 0.0012), 7.2195),
    ((50, 2.5, 0), (50, 0, -2.5), 4.3065),
    ((50, 2.5, 0), (73, 25, -18), 27.1492),
    ((50, 2.5, 0), (50, 3.1736, 0.5854), 1.0000),
    ((60.2574, -34.0099, 36.2677), (60.4626, -34.1751, 39.4387), 1.2644),
    ((2.0776, 0.0795, -1.1350), (0.9033, -0.0636, -0.5514), 0.9082),
]


@pytest.mark.parametrize(("first", "second", "expected"), SHARMA)
def test_ciede2000_gives_the_published_differences(first, second, expected):
    assert ciede2000(first, second) == pytest.approx(expected, abs=5e-5)
    assert ciede2000(second, first) == pytest.approx(expected, abs=5e-5)


def test_ciede2000_agrees_with_the_reference_library_everywhere():
    rng = np.random.default_rng(0)
    a, b = rng.uniform((0, -100, -100), (100, 100, 100), (2, 20_000, 3))
    assert_allclose(ciede2000(a, b), reference.difference.delta_E_CIE2000(a, b), atol=1e-9)


# IEC 61966-2-1:1999; values worked by hand from the standard's formula.
@pytest.mark.parametrize(
    ("byte", "linear"), [(0, 0.0), (10, 0.003035), (51, 0.033105), (119, 0.184475),
                         (128, 0.215861), (204, 0.603827), (255, 1.0)],
)  # fmt: skip
def test_srgb_decoding(byte, linear):
    assert srgb_to_linear(byte / 255) == pytest.approx(linear, abs=1e-6)
    assert bytes_to_linear(np.array([byte], np.uint8))[0] == pytest.approx(linear, abs=1e-6)
    assert linear_to_srgb(linear) * 255 == pytest.approx(byte, abs=0.01)


@given(st.lists(UNIT, min_size=3, max_size=3))
def test_srgb_agrees_with_the_reference_library(rgb):
    linear = srgb_to_linear(rgb)
    assert_allclose(linear, reference.models.eotf_sRGB(np.array(rgb)), atol=1e-7)
    assert_allclose(linear_to_srgb(linear), rgb, atol=1e-6)


# CIE 15 examples as kept in colour-science's own tests (test_lightness.py).
@pytest.mark.parametrize(
    ("y", "l_star"), [(12.19722535, 41.527875844653), (23.04276781, 55.116362849525)]
)
def test_lightness_gives_the_published_values(y, l_star):
    assert lightness(y / 100) == pytest.approx(l_star, abs=1e-9)
    assert luminance_of_lightness(l_star) * 100 == pytest.approx(y, abs=1e-9)


# Light reflectance value is 100 × CIE Y (BS 8493:2008+A1:2010); L* by CIE 015, grey by
# IEC 61966-2-1.
@pytest.mark.parametrize(
    ("lrv", "l_star", "grey"),
    [(5, 26.73, 63.2), (18, 49.50, 117.6), (25, 57.08, 137.0), (35, 65.75, 159.7),
     (60, 81.84, 203.4), (80, 91.68, 231.1), (90, 96.00, 243.4)],
)  # fmt: skip
def test_reflectance_lightness_and_grey_level(lrv, l_star, grey):
    assert lightness(lrv / 100) == pytest.approx(l_star, abs=0.01)
    assert linear_to_srgb(lrv / 100) * 255 == pytest.approx(grey, abs=0.06)


# Y of the ISCC-NBS centroids, NBS Special Publication 440.
@pytest.mark.parametrize(
    ("hexadecimal", "y"),
    [("#f2f3f4", 89.5), ("#b9b8b5", 47.9), ("#848482", 23.0), ("#555555", 9.1), ("#222222", 1.6)],
)
def test_reflectance_of_a_named_grey(hexadecimal, y):
    assert lrv_of_hex(hexadecimal) == pytest.approx(y, abs=0.06)


# L*a*b* (D65) of the sRGB primaries: colour-science and coloraide agree on these.
@pytest.mark.parametrize(
    ("hexadecimal", "lab"),
    [("#ff0000", (53.24, 80.09, 67.20)), ("#00ff00", (87.74, -86.18, 83.18)),
     ("#0000ff", (32.30, 79.19, -107.86)), ("#808080", (53.585, 0, 0))],
)  # fmt: skip
def test_lab_of_the_primaries(hexadecimal, lab):
    assert_allclose(lab_of_hex(hexadecimal), lab, atol=0.02)
    pixel = bytes_of_hex(hexadecimal).reshape(1, 1, 3)
    assert_allclose(bytes_to_lab(pixel)[0, 0], lab, atol=0.4)


@given(st.lists(st.integers(0, 255), min_size=3, max_size=3))
def test_lab_and_hex_come_back(rgb):
    lab = linear_to_lab(srgb_to_linear(np.array(rgb) / 255))
    assert_allclose(linear_to_srgb(np.maximum(lab_to_linear(lab), 0)) * 255, rgb, atol=1e-3)
    assert hex_of_lab(lab) == hex_of_bytes(rgb)
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        xyz = reference.sRGB_to_XYZ(np.array(rgb) / 255)
    assert_allclose(lab, reference.XYZ_to_Lab(xyz, [0.3127, 0.3290]), atol=0.05)


def test_luminance_of_white_is_one():
    assert luminance([1.0, 1.0, 1.0]) == pytest.approx(1.0, abs=1e-6)
    assert linear_to_bytes([2.0, -1.0, 1.0]).tolist() == [255, 0, 255]


# C. S. McCamy, Color Res. Appl. 17:142, 1992; values as in colour-science's test_mccamy1992.py.
@pytest.mark.parametrize(
    ("x", "y", "kelvin"), [(0.31270, 0.32900, 6505.08), (0.44757, 0.40745, 2857.29),
                           (0.3457, 0.3585, 5001.0)],
)  # fmt: skip
def test_correlated_temperature(x, y, kelvin):
    assert temperature_of_chromaticity(x, y) == pytest.approx(kelvin, abs=0.6)
    assert temperature_of_chromaticity(x, y) == pytest.approx(
        float(reference.temperature.xy_to_CCT_McCamy1992([x, y])), abs=1e-6
    )


def test_temperature_of_srgb_white_is_daylight():
    assert correlated_temperature([1, 1, 1]) == pytest.approx(6504, abs=3)
    assert np.isnan(correlated_temperature([0, 0, 0]))
