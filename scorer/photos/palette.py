"""Light neutral wall colours for a preview, named by the open colour-name system and LRV only."""

from __future__ import annotations

from functools import cache

from scorer.photos.colour import hex_of_lab, lrv_of_hex
from scorer.photos.names import colour_name
from scorer.records import Record

_LIGHTNESS = (87.0, 90.5, 94.0)
_TINTS = {"warm": (1.0, 7.0), "plain": (0.0, 1.5), "cool": (-0.8, -2.5)}
"""CIE a* and b* of a tint that most people call white or off-white (common practice, no source)."""


class Paint(Record):
    """A wall colour: ``label`` is its ISCC-NBS name, tint and light reflectance value."""

    hex: str
    label: str


@cache
def light_neutrals() -> tuple[Paint, ...]:
    """Nine light neutrals, LRV about 70 to 85, warm first."""
    paints = []
    for tint, (a, b) in _TINTS.items():
        for lightness in _LIGHTNESS:
            shade = hex_of_lab((lightness, a, b))
            name = colour_name((lightness, a, b))
            paints.append(
                Paint(hex=shade, label=f"{name.capitalize()}, {tint}, LRV {lrv_of_hex(shade):.0f}")
            )
    return tuple(paints)
