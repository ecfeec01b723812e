"""How light the photo is, how light the room is, and illuminance from the camera's exposure.

References
----------
.. [1] ISO 2720:1974, "General purpose photographic exposure meters (photoelectric type)":
   N²/t = L·S/K with K from 10.6 to 13.4, and N²/t = E·S/C with C from 240 to 400.
.. [2] ISO 12232:2019: standard output sensitivity places an 18 % grey at 8-bit sRGB 118.
.. [3] IES Lighting Handbook, 1st ed. 1947, p. 10-34: reflectance of ceiling 65–80 %, walls 35–55 %,
   floor 10–20 %.
"""

from __future__ import annotations

import math

import numpy as np

from scorer.photos.calibration import log_odds
from scorer.photos.colour import lightness
from scorer.photos.decode import CameraExposure
from scorer.photos.scene import CEILING, FLOOR, LAMP, TRIM, WALL, WINDOW, Scene
from scorer.records import Range

K_RANGE = (10.6, 12.5, 13.4)  # cd·s/m²·ISO [1]; 12.5 is the commonest
C_RANGE = (240.0, 250.0, 400.0)  # lx·s·ISO, flat receptor [1]; 250 is the commonest
_MID_GREY = 0.18
_TONE_CURVE = 2**0.5  # cameras' tone curves move mid-tones by up to half a stop; from memory
_ROOM_REFLECTANCE = (0.35, 0.55)  # mean of an ordinary and of a light room, between those of [3]


def exposure_value(camera: CameraExposure) -> float:
    """Exposure value at ISO 100: log2(N²/t · 100/S) [1]_."""
    return math.log2(camera.f_number**2 / camera.seconds * 100 / camera.iso)


def luminance_for(camera: CameraExposure, k: float = K_RANGE[1]) -> float:
    """Luminance [cd/m²] that a reflected-light meter reads for this exposure: K/100·2^EV [1]_."""
    return k / 100 * 2 ** exposure_value(camera)


def illuminance_for(camera: CameraExposure, c: float = C_RANGE[1]) -> float:
    """Illuminance [lx] that an incident-light meter reads for this exposure: C/100·2^EV [1]_."""
    return c / 100 * 2 ** exposure_value(camera)


def scene_luminance(camera: CameraExposure, mean_luminance: float) -> Range | None:
    """Mean luminance of what the photo shows [cd/m²].

    The meter's equation gives the luminance that comes out as mid-grey [2]_; the photo's own mean
    says how far from mid-grey it came out. None where a flash fired: the room's light is then not
    what the camera saw.
    """
    if camera.flash or mean_luminance <= 0:
        return None
    placed = mean_luminance / _MID_GREY
    low, typical, high = (luminance_for(camera, k) * placed for k in K_RANGE)
    return Range(
        low=_three(low / _TONE_CURVE), typical=_three(typical), high=_three(high * _TONE_CURVE)
    )


def room_illuminance(camera: CameraExposure, mean_luminance: float) -> Range | None:
    """Mean illuminance on what the photo shows [lx]: E = π·L/ρ for matt surfaces.

    ISO 2720's own constants stand for a mean reflectance ρ of π·12.5/250 = 0.16. Rooms are lighter,
    so typical and low take ρ from handbook reflectances [3]_; high is the incident-light equation
    with the standard's largest C. A camera's figure, not a light meter's.
    """
    seen = scene_luminance(camera, mean_luminance)
    if seen is None:
        return None
    usual, light = _ROOM_REFLECTANCE
    placed = mean_luminance / _MID_GREY
    return Range(
        low=_three(math.pi * seen.low / light),
        typical=_three(math.pi * seen.typical / usual),
        high=_three(illuminance_for(camera, C_RANGE[2]) * placed),
    )


def _three(value: float) -> float:
    """Three significant digits: the figure is not known better."""
    return float(f"{value:.3g}")


def window_shares(scene: Scene) -> tuple[float | None, float | None]:
    """Part of the frame that is window, and part of that which is blown out [0–1].

    None, None without a surface map; the second is None where no window is seen.
    """
    if scene.surfaces is None:
        return None, None
    window = scene.mask(WINDOW)
    share = float(window.mean())
    if window.sum() < 12:
        return round(share, 4), None
    return round(share, 4), round(float(scene.clipped[window].mean()), 4)


def light_features(scene: Scene) -> dict[str, float]:
    """What the exposure and room-light models look at; NaN where a surface is not seen.

    L* percentiles of the frame and of what is neither window nor lamp, L* of wall, ceiling and
    floor, shares of window and of clipped and black pixels, how uneven the wall is lit.
    """
    y = scene.luminance
    l_star = lightness(y).astype(np.float32)
    lit = ~((scene.codes == WINDOW) | (scene.codes == LAMP))
    inside = l_star[lit] if lit.sum() > 0.2 * lit.size else l_star.ravel()
    features: dict[str, float] = {"mean_lightness": float(lightness(y.mean()))}
    for name, values in (("frame", l_star.ravel()), ("inside", inside)):
        for percent, value in zip(
            (5, 25, 50, 75, 95), np.percentile(values, (5, 25, 50, 75, 95)), strict=True
        ):
            features[f"{name}_{percent}"] = float(value)
    for name, code in (("wall", WALL), ("ceiling", CEILING), ("floor", FLOOR), ("trim", TRIM)):
        features[f"{name}_lightness"] = _median(l_star[scene.mask(code)])
    wall = scene.mask(WALL)
    if wall.sum() >= 50:
        low, high = np.percentile(l_star[wall], (10, 90))
        features["wall_unevenness"] = float(high - low)
    else:
        features["wall_unevenness"] = float("nan")
    features["window_share"] = float((scene.codes == WINDOW).mean())
    features["clipped_share"] = float(scene.clipped.mean())
    features["black_share"] = float(scene.black.mean())
    return features


def network_light(scene: Scene) -> dict[str, float]:
    """Log odds of the network's answers about light, as features beside the measured ones."""
    asked = (("exposure", "dark"), ("exposure", "bright"), ("light", "dim"), ("light", "bright"))
    return {f"net_{q}_{a}": log_odds(scene.head(q, a)) for q, a in asked}


def _median(values: np.ndarray) -> float:
    return float(np.median(values)) if len(values) >= 50 else float("nan")
