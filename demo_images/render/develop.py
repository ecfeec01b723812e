"""Develop a rendering as a phone or a cheap camera would: exposure, imperfect white balance, glare,
vignette, noise, tone curve, JPEG.
"""

from __future__ import annotations

import io
from dataclasses import dataclass

import numpy as np
from PIL import Image

from .camera import Shot
from .materials import blur, encode


@dataclass(frozen=True)
class Development:
    """One photographic version.

    ev : stops above (+) or below the metered exposure; balance : share of the illuminant's cast
    that white balance removes, 0..1; warmth : extra cast, log2 of red over blue; curve : strength
    of the S-curve; glare : share of the mean light spread over the frame.
    """

    ev: float = 0.0
    balance: float = 0.85
    warmth: float = 0.0
    tint: float = 0.0
    curve: float = 0.3
    glare: float = 0.02
    vignette: float = 0.15
    noise: float = 0.008
    blur: float = 0.4
    quality: int = 85


def illuminant(shot: Shot) -> np.ndarray:
    """Mean light colour of the room (green = 1), from radiance over reflectance."""
    use = (shot.albedo.min(-1) > 0.02) & (shot.albedo.max(-1) < 0.95)
    if np.isin(shot.codes, (1, 2, 3, 8)).sum() > 500:
        use &= np.isin(shot.codes, (1, 2, 3, 8))
    light = np.median(shot.radiance[use] / shot.albedo[use], axis=0)
    return light / max(light[1], 1e-9)


def meter(shot: Shot) -> float:
    """Gain that a centre-weighted meter would choose (highlights held back)."""
    lum = shot.radiance @ [0.2126, 0.7152, 0.0722]
    h, w = lum.shape
    y, x = np.mgrid[-1 : 1 : h * 1j, -1 : 1 : w * 1j]
    weight = np.exp(-(x**2 + y**2))
    clipped = np.minimum(lum, np.percentile(lum, 92))
    mean = float((clipped * weight).sum() / weight.sum())
    return 0.27 / max(mean, 1e-6)


def develop(
    shot: Shot,
    how: Development,
    seed: int = 0,
    gain: float | None = None,
    light: np.ndarray | None = None,
) -> tuple[bytes, dict[str, float]]:
    """JPEG bytes and the figures used: gain, illuminant, cast left in, clipped share."""
    rng = np.random.default_rng(seed)
    gain = (meter(shot) if gain is None else gain) * 2.0**how.ev
    light = illuminant(shot) if light is None else light
    cast = light ** (1 - how.balance) * 2.0 ** np.array(
        [how.warmth / 2, how.tint / 2, -how.warmth / 2]
    )
    cast /= cast @ [0.2126, 0.7152, 0.0722]
    balance = cast / light * (light @ [0.2126, 0.7152, 0.0722])
    h, w = shot.radiance.shape[:2]
    y, x = np.mgrid[-1 : 1 : h * 1j, -1 : 1 : w * 1j]
    image = np.clip(shot.radiance, 0, None) * gain * balance
    small = (
        np.minimum(image, 6)[: h // 8 * 8, : w // 8 * 8]
        .reshape(h // 8, 8, w // 8, 8, 3)
        .mean((1, 3))
    )
    soft = np.repeat(np.repeat(blur(small, w / 320), 8, 0), 8, 1)
    soft = np.pad(soft, ((0, h - len(soft)), (0, w - soft.shape[1]), (0, 0)), mode="edge")
    soft = blur(soft, 4.0)
    image = (1 - how.glare) * image + how.glare * (0.6 * soft + 0.4 * image.clip(0, 3).mean((0, 1)))
    image *= (1 - how.vignette * (x**2 + y**2) / 2)[..., None]
    if how.blur > 0.1:
        image = blur(image, how.blur)
    grain = rng.normal(size=image.shape) * np.sqrt(
        np.clip(image, 0, 1) * how.noise * 0.02 + (how.noise * 0.3) ** 2
    )
    image = image + blur(grain, 0.6) * 1.4
    knee = 0.72
    over = np.clip(image - knee, 0, None)
    image = np.where(image > knee, knee + (1 - knee) * (1 - np.exp(-over / (1 - knee))), image)
    shown = encode(image)
    shown = (1 - how.curve) * shown + how.curve * (shown * shown * (3 - 2 * shown))
    pixels = np.clip(np.rint(shown * 255), 0, 255).astype(np.uint8)
    buffer = io.BytesIO()
    Image.fromarray(pixels).save(
        buffer, "JPEG", quality=how.quality, subsampling=0 if how.quality > 90 else 2
    )
    figures = {
        "gain": float(gain),
        "clipped": float((pixels.max(-1) >= 250).mean()),
        **{f"illum_{c}": float(v) for c, v in zip("rgb", light, strict=True)},
        **{f"cast_{c}": float(v) for c, v in zip("rgb", cast, strict=True)},
        **{f"wb_{c}": float(v) for c, v in zip("rgb", balance, strict=True)},
    }
    return buffer.getvalue(), figures
