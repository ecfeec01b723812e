"""Triangle meshes built in code: boxes, rounded boxes, lathes, tubes and sheets.

Lengths are metres, z is up. Every mesh belongs to a material name and to a surface code, the same
codes as in the surface maps (1 wall, 2 ceiling, 3 floor, 4 window, 5 lamp, 6 cabinet or counter,
7 other, 8 trim or door, 9 mirror). Code 10 is wall tile: written as 7, and in a file of its own.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from pathlib import Path

import numpy as np

WALL, CEILING, FLOOR, WINDOW, LAMP, CABINET, OTHER, TRIM, MIRROR, TILE = range(1, 11)
Vec = Sequence[float]


def _rotation(yaw: float, pitch: float = 0.0, roll: float = 0.0) -> np.ndarray:
    cy, sy = np.cos(np.radians(yaw)), np.sin(np.radians(yaw))
    cp, sp = np.cos(np.radians(pitch)), np.sin(np.radians(pitch))
    cr, sr = np.cos(np.radians(roll)), np.sin(np.radians(roll))
    about_z = np.array([[cy, -sy, 0], [sy, cy, 0], [0, 0, 1.0]])
    about_x = np.array([[1.0, 0, 0], [0, cp, -sp], [0, sp, cp]])
    about_y = np.array([[cr, 0, sr], [0, 1.0, 0], [-sr, 0, cr]])
    return about_z @ about_x @ about_y


class Model:
    """Meshes of one scene, grouped by material and surface code, with a stack of placements."""

    def __init__(self, seed: int = 0) -> None:
        self.rng = np.random.default_rng(seed)
        self.parts: dict[tuple[str, int], list[tuple[np.ndarray, ...]]] = defaultdict(list)
        self.materials: dict[str, dict] = {}
        self.emitters: dict[str, object] = {}
        self.lights: list[dict] = []
        self._stack: list[tuple[np.ndarray, np.ndarray]] = [(np.eye(3), np.zeros(3))]

    @contextmanager
    def at(
        self, position: Vec, yaw: float = 0.0, pitch: float = 0.0, roll: float = 0.0
    ) -> Iterator[None]:
        """Place what is built inside the block at `position`, turned by `yaw` degrees."""
        rotation, origin = self._stack[-1]
        self._stack.append(
            (
                rotation @ _rotation(yaw, pitch, roll),
                rotation @ np.asarray(position, float) + origin,
            )
        )
        try:
            yield
        finally:
            self._stack.pop()

    def add(
        self,
        material: str,
        code: int,
        vertices: np.ndarray,
        normals: np.ndarray,
        uv: np.ndarray,
        faces: np.ndarray,
    ) -> None:
        """Add one mesh: (n, 3) vertices and normals, (n, 2) texture metres, (m, 3) indices."""
        rotation, origin = self._stack[-1]
        self.parts[material, code].append(
            (vertices @ rotation.T + origin, normals @ rotation.T, uv, faces)
        )

    # ---- flat pieces -------------------------------------------------------------------------
    def quad(
        self, material: str, code: int, corner: Vec, u: Vec, v: Vec, unit: bool = False
    ) -> None:
        """Parallelogram from `corner` along `u` and `v`; normal is u x v."""
        c, a, b = (np.asarray(t, float) for t in (corner, u, v))
        normal = np.cross(a, b)
        normal = normal / np.linalg.norm(normal)
        la, lb = (1.0, 1.0) if unit else (np.linalg.norm(a), np.linalg.norm(b))
        uv = np.array([[0, 0], [la, 0], [la, lb], [0, lb]])
        if not unit:  # one continuous texture over pieces of the same plane
            uv = uv + np.array([np.dot(c, a) / la, np.dot(c, b) / lb])
        self.add(
            material,
            code,
            np.array([c, c + a, c + a + b, c + b]),
            np.tile(normal, (4, 1)),
            uv,
            np.array([[0, 1, 2], [0, 2, 3]]),
        )

    def box(self, material: str, code: int, low: Vec, high: Vec, grain: str = "x") -> None:
        """Axis-aligned box; texture u runs along the `grain` axis on faces that hold it."""
        lo, hi = np.asarray(low, float), np.asarray(high, float)
        along = "xyz".index(grain)
        shift = self.rng.uniform(0, 5, 2)
        for axis in range(3):
            others = [a for a in range(3) if a != axis]
            u_axis = along if along in others else others[0]
            v_axis = others[1] if u_axis == others[0] else others[0]
            for sign in (-1, 1):
                points = []
                for pu, pv in ((0, 0), (1, 0), (1, 1), (0, 1)):
                    p = np.zeros(3)
                    p[axis] = hi[axis] if sign > 0 else lo[axis]
                    p[u_axis] = hi[u_axis] if pu else lo[u_axis]
                    p[v_axis] = hi[v_axis] if pv else lo[v_axis]
                    points.append(p)
                pts = np.array(points)
                normal = np.zeros(3)
                normal[axis] = sign
                order = np.array([[0, 1, 2], [0, 2, 3]])
                if np.dot(np.cross(pts[1] - pts[0], pts[2] - pts[0]), normal) < 0:
                    order = order[:, ::-1]
                self.add(
                    material,
                    code,
                    pts,
                    np.tile(normal, (4, 1)),
                    pts[:, [u_axis, v_axis]] + shift,
                    order,
                )

    # ---- smooth pieces -----------------------------------------------------------------------
    def sheet(
        self,
        material: str,
        code: int,
        at: Callable[..., np.ndarray],
        nu: int,
        nv: int,
        size: Vec = (1.0, 1.0),
        flip: bool = False,
    ) -> None:
        """Smooth surface `at(u, v) -> (..., 3)` over the unit square."""
        u, v = np.meshgrid(np.linspace(0, 1, nu), np.linspace(0, 1, nv))
        points = at(u, v)
        du = np.gradient(points, axis=1)
        dv = np.gradient(points, axis=0)
        normal = np.cross(du, dv)
        normal /= np.linalg.norm(normal, axis=-1, keepdims=True) + 1e-12
        index = np.arange(nu * nv).reshape(nv, nu)
        a, b, c, d = (
            t.ravel() for t in (index[:-1, :-1], index[:-1, 1:], index[1:, 1:], index[1:, :-1])
        )
        faces = np.concatenate([np.stack([a, b, c], 1), np.stack([a, c, d], 1)])
        if flip:
            faces, normal = faces[:, ::-1], -normal
        uv = np.stack([u * size[0], v * size[1]], -1).reshape(-1, 2)
        self.add(material, code, points.reshape(-1, 3), normal.reshape(-1, 3), uv, faces)

    def rbox(
        self,
        material: str,
        code: int,
        low: Vec,
        high: Vec,
        radius: float = 0.02,
        n: int = 5,
        puff: float = 0.0,
    ) -> None:
        """Box with rounded edges; `puff` swells the faces (cushions, pillows)."""
        lo, hi = np.asarray(low, float), np.asarray(high, float)
        half, centre = (hi - lo) / 2, (hi + lo) / 2
        r = min(radius, *(half * 0.999))
        arc = np.tan(np.linspace(-1, 1, n) * np.pi / 4) * r
        for axis in range(3):
            a, b = [t for t in range(3) if t != axis]

            def coordinates(length: float, count: int = n) -> np.ndarray:
                edge = length - r
                inner = np.linspace(-edge, edge, 9 if puff else 2)[1:-1]
                return np.concatenate(
                    [arc[: count // 2 + 1] - edge, inner, arc[count // 2 :] + edge]
                )

            ga, gb = np.meshgrid(coordinates(half[a]), coordinates(half[b]))
            for sign in (-1, 1):
                p = np.zeros((*ga.shape, 3))
                p[..., a], p[..., b], p[..., axis] = ga, gb, sign * half[axis]
                core = np.clip(p, -(half - r), half - r)
                out = p - core
                out /= np.linalg.norm(out, axis=-1, keepdims=True) + 1e-12
                q = core + r * out
                if puff:
                    fall = np.cos(np.clip(p[..., a] / half[a], -1, 1) * np.pi / 2) * np.cos(
                        np.clip(p[..., b] / half[b], -1, 1) * np.pi / 2
                    )
                    q[..., axis] += sign * puff * fall
                index = np.arange(ga.size).reshape(ga.shape)
                i, j, k, m = (
                    t.ravel()
                    for t in (index[:-1, :-1], index[:-1, 1:], index[1:, 1:], index[1:, :-1])
                )
                faces = np.concatenate([np.stack([i, j, k], 1), np.stack([i, k, m], 1)])
                e_a, e_b, e_n = np.eye(3)[a], np.eye(3)[b], np.eye(3)[axis]
                if np.dot(np.cross(e_a, e_b), e_n) * sign < 0:
                    faces = faces[:, ::-1]
                self.add(
                    material,
                    code,
                    q.reshape(-1, 3) + centre,
                    out.reshape(-1, 3),
                    np.stack([ga, gb], -1).reshape(-1, 2),
                    faces,
                )

    def lathe(
        self,
        material: str,
        code: int,
        centre: Vec,
        profile: Sequence[Vec],
        stretch: Vec = (1.0, 1.0),
        n: int = 28,
    ) -> None:
        """Turn the (radius, height) `profile` about the vertical through `centre`."""
        prof = np.asarray(profile, float)
        c = np.asarray(centre, float)

        def at(u: np.ndarray, v: np.ndarray) -> np.ndarray:
            t = v * (len(prof) - 1)
            r = np.interp(t, range(len(prof)), prof[:, 0])
            z = np.interp(t, range(len(prof)), prof[:, 1])
            angle = u * 2 * np.pi
            return c + np.stack(
                [r * np.cos(angle) * stretch[0], r * np.sin(angle) * stretch[1], z], -1
            )

        girth = 2 * np.pi * float(prof[:, 0].max())
        turned = float(np.sum((prof[1:, 0] + prof[:-1, 0]) * np.diff(prof[:, 1]))) < 0
        self.sheet(
            material,
            code,
            at,
            n,
            max(2, 2 * len(prof) - 1),
            (girth, np.ptp(prof[:, 1])),
            flip=turned,
        )

    def ball(self, material: str, code: int, centre: Vec, radius: Vec, n: int = 20) -> None:
        """Ellipsoid with the three radii."""
        c, r = np.asarray(centre, float), np.asarray(radius, float)

        def at(u: np.ndarray, v: np.ndarray) -> np.ndarray:
            phi, theta = u * 2 * np.pi, (v - 0.5) * np.pi * 0.999
            return c + r * np.stack(
                [np.cos(phi) * np.cos(theta), np.sin(phi) * np.cos(theta), np.sin(theta)], -1
            )

        self.sheet(material, code, at, n, n // 2 + 2, (2 * np.pi * r[0], np.pi * r[2]))

    def tube(
        self, material: str, code: int, points: Sequence[Vec], radius: float, n: int = 12
    ) -> None:
        """Round bar through `points`, with closed ends."""
        path = np.asarray(points, float)
        ahead = np.gradient(path, axis=0)
        ahead /= np.linalg.norm(ahead, axis=1, keepdims=True) + 1e-12
        side = np.cross(ahead, [0.31, 0.52, 0.79])
        side /= np.linalg.norm(side, axis=1, keepdims=True)
        up = np.cross(ahead, side)
        r = np.full(len(path), radius)
        path = np.concatenate([path[:1], path, path[-1:]])
        side = np.concatenate([side[:1], side, side[-1:]])
        up = np.concatenate([up[:1], up, up[-1:]])
        r = np.concatenate([[1e-4], r, [1e-4]])

        def at(u: np.ndarray, v: np.ndarray) -> np.ndarray:
            i = np.rint(v * (len(path) - 1)).astype(int)
            angle = (u * 2 * np.pi)[..., None]
            return path[i] + r[i][..., None] * (np.cos(angle) * side[i] + np.sin(angle) * up[i])

        self.sheet(material, code, at, n, len(path), (2 * np.pi * radius, 1.0))

    # ---- output ------------------------------------------------------------------------------
    def write(self, folder: Path) -> list[tuple[Path, str, int]]:
        """Write one binary PLY file a group; return (path, material, code) in a fixed order."""
        groups = []
        for number, (material, code) in enumerate(sorted(self.parts)):
            pieces = self.parts[material, code]
            offset, faces = 0, []
            for piece in pieces:
                faces.append(piece[3] + offset)
                offset += len(piece[0])
            joined = [np.concatenate([p[i] for p in pieces]) for i in range(3)]
            table = np.concatenate(joined, axis=1).astype("<f4")
            index = np.concatenate(faces)
            rows = np.empty(len(index), dtype=[("n", "u1"), ("i", "<i4", 3)])
            rows["n"], rows["i"] = 3, index
            names = ("x", "y", "z", "nx", "ny", "nz", "u", "v")
            header = "\n".join(
                [
                    "ply",
                    "format binary_little_endian 1.0",
                    f"element vertex {len(table)}",
                    *(f"property float {name}" for name in names),
                    f"element face {len(rows)}",
                    "property list uchar int vertex_indices",
                    "end_header",
                    "",
                ]
            )
            path = folder / f"{number:03d}.ply"
            path.write_bytes(header.encode() + table.tobytes() + rows.tobytes())
            groups.append((path, material, code))
        return groups
