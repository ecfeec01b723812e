"""Colour arithmetic: sRGB, linear light, CIE L*a*b*, colour difference, correlated temperature.

Arrays hold the three channels last. Linear light is relative to sRGB white: 1 is (255, 255, 255).

References
----------
.. [1] IEC 61966-2-1:1999, "Colour management – Default RGB colour space – sRGB".
.. [2] CIE 015:2018, "Colorimetry".
.. [3] G. Sharma, W. Wu, E. N. Dalal, "The CIEDE2000 color-difference formula: implementation notes,
   supplementary test data, and mathematical observations", Color Res. Appl. 30:21–30, 2005.
.. [4] C. S. McCamy, "Correlated color temperature as an explicit function of chromaticity
   coordinates", Color Res. Appl. 17:142–144, 1992.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray

FloatArray = NDArray[np.float64]
Float32Array = NDArray[np.float32]
ByteArray = NDArray[np.uint8]

# Linear sRGB to CIE XYZ under D65 [1]; the middle row gives luminance.
RGB_TO_XYZ = np.array(
    [
        [0.4124564, 0.3575761, 0.1804375],
        [0.2126729, 0.7151522, 0.0721750],
        [0.0193339, 0.1191920, 0.9503041],
    ]
)
XYZ_TO_RGB = np.linalg.inv(RGB_TO_XYZ)
LUMINANCE_WEIGHTS = RGB_TO_XYZ[1]
WHITE_XYZ = RGB_TO_XYZ.sum(axis=1)  # D65 as sRGB has it, so that greys get a* = b* = 0
_EPSILON, _KAPPA = 216 / 24389, 24389 / 27  # CIE's exact fractions [2]


def srgb_to_linear(encoded: ArrayLike) -> FloatArray:
    """Linear light of sRGB values in 0–1 (values outside are kept on their own side) [1]_."""
    c = np.asarray(encoded, dtype=np.float64)
    high = np.power((np.maximum(c, 0.04045) + 0.055) / 1.055, 2.4)
    return np.asarray(np.where(c <= 0.04045, c / 12.92, high))


def linear_to_srgb(linear: ArrayLike) -> FloatArray:
    """The sRGB encoding, 0–1, of linear light [1]_."""
    v = np.asarray(linear, dtype=np.float64)
    high = 1.055 * np.power(np.maximum(v, 0.0031308), 1 / 2.4) - 0.055
    return np.where(v <= 0.0031308, 12.92 * v, high)


LINEAR_OF_BYTE = srgb_to_linear(np.arange(256) / 255).astype(np.float32)
"""Linear light [0–1] of each 8-bit sRGB level."""


def bytes_to_linear(rgb: ByteArray) -> Float32Array:
    """Linear light [0–1] of 8-bit sRGB, by table."""
    return LINEAR_OF_BYTE[rgb]


def linear_to_bytes(linear: ArrayLike) -> ByteArray:
    """8-bit sRGB of linear light; what lies outside 0–1 is clipped."""
    encoded = linear_to_srgb(np.clip(linear, 0.0, 1.0))
    return np.round(encoded * 255).astype(np.uint8)


def luminance(linear: ArrayLike) -> FloatArray:
    """Relative luminance Y [0–1] of linear sRGB."""
    return np.asarray(np.asarray(linear, dtype=np.float64) @ LUMINANCE_WEIGHTS)


def lightness(relative_luminance: ArrayLike) -> FloatArray:
    """CIE L* [0–100] of relative luminance Y [0–1] [2]_."""
    y = np.asarray(relative_luminance, dtype=np.float64)
    return np.where(y > _EPSILON, 116 * np.cbrt(np.maximum(y, 0)) - 16, _KAPPA * y)


def luminance_of_lightness(l_star: ArrayLike) -> FloatArray:
    """Relative luminance Y [0–1] of CIE L* [0–100]."""
    f = np.asarray(l_star, dtype=np.float64)
    return np.where(f > _KAPPA * _EPSILON, ((f + 16) / 116) ** 3, f / _KAPPA)


def linear_to_lab(linear: ArrayLike) -> FloatArray:
    """CIE L*a*b* (D65) of linear sRGB [2]_."""
    ratio = np.asarray(linear, dtype=np.float64) @ RGB_TO_XYZ.T / WHITE_XYZ
    f = np.where(ratio > _EPSILON, np.cbrt(ratio), (_KAPPA * ratio + 16) / 116)
    x, y, z = f[..., 0], f[..., 1], f[..., 2]
    return np.stack([116 * y - 16, 500 * (x - y), 200 * (y - z)], axis=-1)


def lab_to_linear(lab: ArrayLike) -> FloatArray:
    """Linear sRGB of CIE L*a*b* (D65); may leave 0–1 where sRGB cannot show the colour."""
    values = np.asarray(lab, dtype=np.float64)
    y = (values[..., 0] + 16) / 116
    f = np.stack([y + values[..., 1] / 500, y, y - values[..., 2] / 200], axis=-1)
    cubed = f**3
    ratio = np.where(cubed > _EPSILON, cubed, (116 * f - 16) / _KAPPA)
    return np.asarray(ratio * WHITE_XYZ @ XYZ_TO_RGB.T)


def bytes_to_lab(rgb: ByteArray) -> Float32Array:
    """CIE L*a*b* of an 8-bit sRGB picture of shape (h, w, 3), fast; within 0.4 of exact."""
    import cv2

    return np.asarray(
        cv2.cvtColor(np.float32(1 / 255) * rgb.astype(np.float32), cv2.COLOR_RGB2Lab), np.float32
    )


def hex_of_bytes(rgb: ArrayLike) -> str:
    """``#rrggbb`` of three 8-bit values."""
    r, g, b = (int(v) for v in np.asarray(rgb).reshape(3))
    return f"#{r:02x}{g:02x}{b:02x}"


def bytes_of_hex(text: str) -> ByteArray:
    """The three 8-bit values of ``#rrggbb``."""
    return np.frombuffer(bytes.fromhex(text.removeprefix("#")), dtype=np.uint8)


def lab_of_hex(text: str) -> FloatArray:
    """CIE L*a*b* of ``#rrggbb``."""
    return linear_to_lab(srgb_to_linear(bytes_of_hex(text) / 255))


def hex_of_lab(lab: ArrayLike) -> str:
    """Nearest ``#rrggbb``, clipped into sRGB."""
    return hex_of_bytes(linear_to_bytes(lab_to_linear(lab)))


def lrv_of_hex(text: str) -> float:
    """Light reflectance value [0–100] of a paint given as it looks under D65: 100 × CIE Y."""
    return float(100 * luminance(srgb_to_linear(bytes_of_hex(text) / 255)))


def ciede2000(lab1: ArrayLike, lab2: ArrayLike) -> FloatArray:
    """CIEDE2000 colour difference, kL = kC = kH = 1, of arrays that broadcast [3]_."""
    a, b = np.asarray(lab1, dtype=np.float64), np.asarray(lab2, dtype=np.float64)
    l1, a1, b1 = a[..., 0], a[..., 1], a[..., 2]
    l2, a2, b2 = b[..., 0], b[..., 1], b[..., 2]
    mean_c7 = ((np.hypot(a1, b1) + np.hypot(a2, b2)) / 2) ** 7
    g = 0.5 * (1 - np.sqrt(mean_c7 / (mean_c7 + 25.0**7)))
    a1, a2 = (1 + g) * a1, (1 + g) * a2
    c1, c2 = np.hypot(a1, b1), np.hypot(a2, b2)
    h1 = np.degrees(np.arctan2(b1, a1)) % 360
    h2 = np.degrees(np.arctan2(b2, a2)) % 360
    grey = c1 * c2 == 0

    dh = (h2 - h1 + 180) % 360 - 180
    # a difference of exactly half a turn keeps the sign of h2 - h1 [3]
    dh = np.where(np.abs(h2 - h1) == 180, h2 - h1, dh)
    dh = np.where(grey, 0.0, dh)
    delta_l, delta_c = l2 - l1, c2 - c1
    delta_h = 2 * np.sqrt(c1 * c2) * np.sin(np.radians(dh) / 2)

    mean_l, mean_c = (l1 + l2) / 2, (c1 + c2) / 2
    mean_h = (h1 + h2) / 2
    apart = np.abs(h1 - h2) > 180
    mean_h = np.where(apart & (h1 + h2 < 360), mean_h + 180, mean_h)
    mean_h = np.where(apart & (h1 + h2 >= 360), mean_h - 180, mean_h)
    mean_h = np.where(grey, h1 + h2, mean_h)

    t = (
        1
        - 0.17 * np.cos(np.radians(mean_h - 30))
        + 0.24 * np.cos(np.radians(2 * mean_h))
        + 0.32 * np.cos(np.radians(3 * mean_h + 6))
        - 0.20 * np.cos(np.radians(4 * mean_h - 63))
    )
    turn = 30 * np.exp(-(((mean_h - 275) / 25) ** 2))
    c7 = mean_c**7
    r_c = 2 * np.sqrt(c7 / (c7 + 25.0**7))
    s_l = 1 + 0.015 * (mean_l - 50) ** 2 / np.sqrt(20 + (mean_l - 50) ** 2)
    s_c = 1 + 0.045 * mean_c
    s_h = 1 + 0.015 * mean_c * t
    r_t = -np.sin(np.radians(2 * turn)) * r_c
    ratio_l, ratio_c, ratio_h = delta_l / s_l, delta_c / s_c, delta_h / s_h
    total = ratio_l**2 + ratio_c**2 + ratio_h**2 + r_t * ratio_c * ratio_h
    return np.asarray(np.sqrt(np.maximum(total, 0.0)))


def correlated_temperature(linear: ArrayLike) -> float:
    """Correlated colour temperature [K] of one linear sRGB colour, by McCamy's cubic [4]_.

    Good near the Planckian locus between about 2,000 and 12,500 K; NaN for black. Of a photo it
    tells how warm the picture came out, not which lamp is in the room: the camera balanced the
    white before.
    """
    x, y, z = RGB_TO_XYZ @ np.asarray(linear, dtype=np.float64)
    total = x + y + z
    if total <= 0:
        return float("nan")
    return temperature_of_chromaticity(float(x / total), float(y / total))


def temperature_of_chromaticity(x: float, y: float) -> float:
    """Correlated colour temperature [K] of CIE 1931 chromaticity (x, y) [4]_."""
    n = (x - 0.3320) / (y - 0.1858)
    return float(-449.0 * n**3 + 3525.0 * n**2 - 6823.3 * n + 5520.33)
