"""Colours, procedural textures and the surface finishes made from them.

Textures are numpy arrays of linear reflectance, drawn from the model's random generator, so a
scene is the same each time. All mesh texture coordinates are metres; a texture says how many
metres it spans.
"""

from __future__ import annotations

from functools import cache

import numpy as np
from PIL import Image

from .mesh import Model

RGB = tuple[float, float, float]


def linear(hex_colour: str) -> RGB:
    """Linear reflectance of an sRGB hex colour (IEC 61966-2-1)."""
    c = np.array([int(hex_colour.lstrip("#")[i : i + 2], 16) for i in (0, 2, 4)]) / 255
    out = np.where(c <= 0.04045, c / 12.92, ((c + 0.055) / 1.055) ** 2.4)
    return (float(out[0]), float(out[1]), float(out[2]))


def encode(values: np.ndarray) -> np.ndarray:
    """sRGB-encode linear values in 0..1 (IEC 61966-2-1)."""
    v = np.clip(values, 0, 1)
    return np.where(v <= 0.0031308, v * 12.92, 1.055 * v ** (1 / 2.4) - 0.055)


def luminance(rgb: RGB) -> float:
    """Relative luminance Y, 0..1, of a linear sRGB colour; times 100 it is the LRV."""
    return float(np.dot(rgb, (0.2126, 0.7152, 0.0722)))


def lab_to_linear(lightness: float, a: float, b: float) -> RGB:
    """CIE L*a*b* (D65) to linear sRGB, clipped to what a paint can reflect."""
    fy = (lightness + 16) / 116
    f = np.array([fy + a / 500, fy, fy - b / 200])
    xyz = np.where(f > 6 / 29, f**3, 3 * (6 / 29) ** 2 * (f - 4 / 29)) * [0.95047, 1.0, 1.08883]
    matrix = np.array(
        [[3.2406, -1.5372, -0.4986], [-0.9689, 1.8758, 0.0415], [0.0557, -0.2040, 1.0570]]
    )
    out = np.clip(matrix @ xyz, 0.012, 0.92)
    return (float(out[0]), float(out[1]), float(out[2]))


def resize(values: np.ndarray, width: int, height: int) -> np.ndarray:
    """Cubic resize of an (h, w) array."""
    image = Image.fromarray(np.ascontiguousarray(values, np.float32))
    return np.asarray(image.resize((width, height), Image.Resampling.BICUBIC))


def blur(image: np.ndarray, sigma: float) -> np.ndarray:
    """Gaussian blur of an (h, w, ...) array, edges repeated; `sigma` in pixels."""
    reach = max(1, int(3 * sigma + 0.5))
    kernel = np.exp(-0.5 * (np.arange(-reach, reach + 1) / sigma) ** 2)
    kernel /= kernel.sum()
    for axis in (0, 1):
        pads = [(reach, reach) if a == axis else (0, 0) for a in range(image.ndim)]
        padded = np.pad(image, pads, mode="edge")
        size = image.shape[axis]
        image = sum(k * np.take(padded, range(i, i + size), axis) for i, k in enumerate(kernel))
    return image


def noise(
    rng: np.random.Generator, size: int, cells: tuple[int, int], octaves: int = 4
) -> np.ndarray:
    """Tileable smooth noise, mean 0, spread 1; `cells` (across, down) at the first octave."""
    total = np.zeros((size, size))
    for octave in range(octaves):
        nx, ny = min(size, cells[0] * 2**octave), min(size, cells[1] * 2**octave)
        grid = np.pad(rng.normal(size=(ny, nx)), 2, mode="wrap").astype(np.float32)
        fx, fy = size / nx, size / ny
        big = resize(grid, round((nx + 4) * fx), round((ny + 4) * fy))
        total += (
            big[round(2 * fy) : round(2 * fy) + size, round(2 * fx) : round(2 * fx) + size]
            / 2**octave
        )
    return (total - total.mean()) / (total.std() + 1e-9)


@cache
def _grain(seed: int, size: int = 512) -> np.ndarray:
    rng = np.random.default_rng(seed)
    bend = noise(rng, size, (1, 6), 2)
    rings = np.sin((np.arange(size)[:, None] / size * 14 + bend * 0.9) * 2 * np.pi)
    return 0.55 * rings + 0.9 * noise(rng, size, (2, 64), 3) + 0.3 * noise(rng, size, (16, 256), 2)


class Finishes:
    """Named materials of a model; each method adds one (once) and returns its name."""

    def __init__(self, model: Model) -> None:
        self.model = model
        self.rng = model.rng

    def _put(
        self,
        name: str,
        colour: object,
        rough: float | None,
        specular: float = 0.5,
        metallic: float = 0.0,
    ) -> str:
        if rough is None:
            bsdf = {"type": "diffuse", "reflectance": colour}
        else:
            bsdf = {
                "type": "principled",
                "base_color": colour,
                "roughness": rough,
                "specular": specular,
                "metallic": metallic,
            }
        self.model.materials[name] = bsdf
        return name

    def plain(
        self, name: str, colour: str | RGB, rough: float | None = None, specular: float = 0.4
    ) -> str:
        """One colour; `rough` None is dead matt."""
        rgb = linear(colour) if isinstance(colour, str) else colour
        return self._put(name, ("rgb", rgb), rough, specular)

    def image(
        self,
        name: str,
        array: np.ndarray,
        metres: tuple[float, float],
        rough: float | None = None,
        specular: float = 0.4,
    ) -> str:
        """A texture spanning `metres` (across, down)."""
        return self._put(
            name,
            ("bitmap", np.clip(array, 0.004, 0.95).astype(np.float32), metres),
            rough,
            specular,
        )

    def metal(self, name: str = "chrome", colour: str = "#d8d8d8", rough: float = 0.15) -> str:
        """Bare metal."""
        return self._put(name, ("rgb", linear(colour)), rough, 0.5, 1.0)

    def mirror(self) -> str:
        """Silvered glass."""
        self.model.materials["mirror"] = {
            "type": "conductor",
            "material": "none",
            "specular_reflectance": ("rgb", (0.86, 0.88, 0.87)),
        }
        return "mirror"

    def glow(self, name: str, radiance: object) -> str:
        """A surface that gives light: an RGB radiance or an (h, w, 3) picture of it."""
        self.model.materials[name] = {"type": "diffuse", "reflectance": ("rgb", (0.1, 0.1, 0.1))}
        self.model.emitters[name] = radiance
        return name

    # ---- woods -------------------------------------------------------------------------------
    def wood(self, name: str, colour: str, rough: float = 0.4, contrast: float = 0.16) -> str:
        """Solid board, grain along texture u."""
        g = _grain(int(self.rng.integers(6)))[..., None]
        base = np.array(linear(colour))
        tint = base ** (1 + contrast * 1.6 * np.clip(g, -2, 2) * [0.8, 1.0, 1.2] * 0.35)
        return self.image(name, tint * (1 - contrast * 0.35 * np.clip(g, -2, 2)), (1.6, 0.8), rough)

    def planks(
        self,
        name: str,
        colour: str,
        width: float = 0.09,
        rough: float = 0.3,
        seam: float = 0.35,
        spread: float = 0.12,
        contrast: float = 0.14,
        lengths: int = 2,
    ) -> str:
        """Floor or deck boards along texture u, 2.4 m square."""
        size, metres = 1024, 2.4
        rows = max(4, round(metres / width))
        out = np.empty((size, size, 3))
        edges = np.linspace(0, size, rows + 1).round().astype(int)
        base = np.array(linear(colour))
        for r in range(rows):
            g = np.roll(
                resize(_grain(int(self.rng.integers(6))), size, size), self.rng.integers(size), 0
            )[: edges[r + 1] - edges[r]]
            starts = np.sort(
                (self.rng.integers(size) + np.arange(lengths) * size // lengths) % size
            )
            tone = np.empty(size)
            for i in range(lengths):
                span = (
                    np.arange(
                        starts[i], starts[(i + 1) % lengths] + (size if i == lengths - 1 else 0)
                    )
                    % size
                )
                tone[span] = self.rng.normal(0, spread)
            shade = np.exp(np.clip(tone, -2 * spread, 2 * spread)[None, :] - contrast * g * 0.6)
            row = base * shade[..., None]
            row[:2] *= 1 - seam
            row[:, starts] *= 1 - seam
            row[:, (starts + 1) % size] *= 1 - seam
            out[edges[r] : edges[r + 1]] = row
        return self.image(name, out, (metres, metres), rough)

    # ---- soft --------------------------------------------------------------------------------
    def carpet(self, name: str, colour: str, worn: float = 0.05) -> str:
        """Cut pile: fine noise over slow blotches."""
        fine = self.rng.normal(size=(512, 512))
        fine = blur(fine, 0.9)
        fine /= fine.std()
        tone = np.exp(0.16 * fine + worn * noise(self.rng, 512, (3, 3), 3))
        return self.image(name, np.array(linear(colour)) * tone[..., None], (1.3, 1.3))

    def fabric(
        self, name: str, colour: str, pattern: str = "weave", second: str = "#e8e4da"
    ) -> str:
        """Cloth: weave, stripe, check, dots or leaves, half a metre a repeat."""
        y, x = np.mgrid[0:512, 0:512] / 512 * 2 * np.pi
        tone = np.exp(
            0.05 * np.sin(x * 60) * np.sin(y * 60)
            + 0.05 * self.rng.normal(size=x.shape)
            + 0.05 * noise(self.rng, 512, (3, 3), 3)
        )
        if pattern == "stripe":
            mix = (np.sin(x * 6) > 0.2).astype(float)
        elif pattern == "check":
            mix = 0.5 * (np.sin(x * 4) > 0) + 0.5 * (np.sin(y * 4) > 0)
        elif pattern == "dots":
            mix = (np.sin(x * 8) * np.sin(y * 8) > 0.6).astype(float)
        elif pattern == "leaves":
            mix = (noise(self.rng, 512, (9, 9), 2) > 0.9).astype(float)
        else:
            mix = np.zeros_like(x)
        both = (
            np.array(linear(colour)) * (1 - mix[..., None])
            + np.array(linear(second)) * mix[..., None]
        )
        return self.image(name, both * tone[..., None], (0.5, 0.5))

    # ---- hard --------------------------------------------------------------------------------
    def tile(
        self,
        name: str,
        colour: str,
        grout: str,
        size: tuple[float, float] = (0.3, 0.3),
        bond: bool = False,
        second: str | None = None,
        rough: float = 0.2,
        mottle: float = 0.05,
    ) -> str:
        """Tiles of `size` metres; `bond` shifts each other row by half; `second` checkers."""
        nx, ny, px = 4, 4, 1024
        w, h = px // nx, px // ny
        out = np.empty((px, px, 3))
        base, other = np.array(linear(colour)), np.array(linear(second or colour))
        cloud = noise(self.rng, px, (8, 8), 5)
        joint_x = max(2, round(0.004 / (size[0] * nx) * px))
        joint_y = max(2, round(0.004 / (size[1] * ny) * px))
        for r in range(ny):
            for c in range(nx):
                ink = other if (r + c) % 2 and second else base
                shade = np.exp(self.rng.normal(0, mottle * 0.7))
                xs = (np.arange(w) + c * w + (w // 2 if bond and r % 2 else 0)) % px
                out[r * h : (r + 1) * h, xs] = ink * shade
                out[r * h : (r + 1) * h, xs[:joint_x]] = linear(grout)
            out[r * h : r * h + joint_y] = linear(grout)
        return self.image(
            name, out * np.exp(mottle * cloud)[..., None], (size[0] * nx, size[1] * ny), rough
        )

    def stone(
        self,
        name: str,
        colour: str,
        speck: str,
        amount: float = 0.3,
        rough: float = 0.2,
        metres: float = 0.9,
    ) -> str:
        """Speckled slab or laminate."""
        n1, n2 = noise(self.rng, 512, (60, 60), 3), noise(self.rng, 512, (24, 24), 3)
        mix = np.clip((n1 + 0.7 * n2 - 1.3 + amount * 2) * 1.2, 0, 1)[..., None]
        grit = np.exp(0.08 * self.rng.normal(size=(512, 512)))[..., None]
        return self.image(
            name,
            (np.array(linear(colour)) * (1 - mix) + np.array(linear(speck)) * mix) * grit,
            (metres, metres),
            rough,
        )

    def rough_cast(
        self, name: str, colour: str, depth: float = 0.05, cells: int = 40, metres: float = 1.2
    ) -> str:
        """Matt surface with fine relief: popcorn ceiling, plaster, concrete, soil, grass."""
        shade = np.exp(
            depth * noise(self.rng, 512, (cells, cells), 3)
            + depth * 0.7 * noise(self.rng, 512, (3, 3), 3)
        )
        return self.image(name, np.array(linear(colour)) * shade[..., None], (metres, metres))

    def picture(self, name: str) -> str:
        """An invented print: bands of colour and a few discs."""
        h = 128
        y, x = np.mgrid[0:h, 0:h] / h
        art = np.empty((h, h, 3))
        inks = [
            lab_to_linear(self.rng.uniform(25, 90), *self.rng.uniform(-35, 40, 2)) for _ in range(6)
        ]
        level = y + 0.12 * noise(self.rng, h, (3, 2), 3)
        for i, ink in enumerate(inks[:4]):
            art[level > i * 0.27] = ink
        for ink in inks[4:]:
            cx, cy, r = *self.rng.uniform(0.2, 0.8, 2), self.rng.uniform(0.05, 0.18)
            art[(x - cx) ** 2 + (y - cy) ** 2 < r * r] = ink
        return self.image(name, art, (1.0, 1.0), 0.25)


def outdoor_view(rng: np.random.Generator, kind: str, level: float) -> np.ndarray:
    """Radiance picture of what lies outside a window: day, overcast or night."""
    h, w = 192, 256
    y = np.linspace(0, 1, h)[:, None]
    if kind == "night":
        return np.full((h, w, 3), 0.004 * level) * [0.6, 0.8, 1.2]
    sky = np.array([0.62, 0.8, 1.0]) if kind == "day" else np.array([0.93, 0.97, 1.0])
    out = np.ones((h, w, 1)) * sky * (0.75 + 0.25 * (1 - y))[..., None]
    out[: h // 2] *= 1 + 0.1 * np.clip(noise(rng, 256, (2, 4), 4)[: h // 2, :w, None], -1, 2)
    ragged = 0.52 + 0.05 * noise(rng, 256, (9, 1), 4)[0, :w] - 0.12 * rng.random()
    trees = (y > ragged[None]) & (y < 0.75)
    leaf = np.exp(0.5 * noise(rng, 256, (24, 24), 3)[:h, :w])[..., None]
    out = np.where(trees[..., None], np.array([0.10, 0.19, 0.06]) * leaf, out)
    lawn = np.broadcast_to((y > 0.72 + 0.02 * rng.random())[..., None], out.shape)
    return np.where(lawn, np.array([0.16, 0.3, 0.09]) * leaf**0.4, out) * level
