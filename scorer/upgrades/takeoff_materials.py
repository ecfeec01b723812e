"""How much material covers an area or a length: tile, grout, carpet tile, and whole packs.

References
----------
.. [1] Grout by geometry, (A + B) / (A B) × C × D × density, density 1.6 kg/L: makers' data sheets
   of tile adhesives and grouts.
"""

from __future__ import annotations

from math import ceil

from scorer.errors import InputError
from scorer.records import Range, Record
from scorer.upgrades.spread import product

GROUT_DENSITY = 1.6
"""Cement grout [kg/L] [1]_."""

KG_M2_TO_LB_SQFT = 0.204816
"""From kg/m² to lb/sq ft (exact: 1 lb = 0.45359237 kg, 1 ft = 0.3048 m)."""

MM_PER_IN = 25.4

HAIR = 1e-6
"""A quantity over a whole number of packs by less than this needs no further pack [pack]."""


class Piece(Record):
    """A tile of wall, floor or carpet: nominal sides, thickness and joint [in]."""

    length_in: float
    width_in: float
    thickness_in: float
    joint_in: float = 0.0


def needed(quantity: Range, covers: Range, waste_percent: float = 0.0) -> Range:
    """Material for a quantity, waste included.

    Parameters
    ----------
    quantity
        Measured on the room, coats included [sq ft, ft or each].
    covers
        What one unit of the material does [the same, a unit].
    waste_percent
        Cut off and broken [%].
    """
    if covers.low <= 0:
        raise InputError("A material's coverage must be above zero.")
    more = 1.0 + waste_percent / 100.0
    each = Range(low=1 / covers.high, typical=1 / covers.typical, high=1 / covers.low)
    return product(quantity, each).scaled(more)


def whole_packs(quantity: float, pack_size: float) -> int:
    """Whole packs that hold a quantity [pack]."""
    if pack_size <= 0:
        raise InputError("pack_size must be above zero.")
    return max(0, ceil(quantity / pack_size - HAIR))


def pieces(area_sqft: float, piece: Piece) -> float:
    """Tiles that cover an area, nominal size, without waste [each]: 144 sq in a sq ft."""
    return area_sqft * pieces_per_sqft(piece)


def pieces_per_sqft(piece: Piece) -> float:
    """Tiles in a sq ft, nominal size [each/sq ft]."""
    _check(piece)
    return 144.0 / (piece.length_in * piece.width_in)


def grout_kg_per_m2(
    length_mm: float,
    width_mm: float,
    depth_mm: float,
    joint_mm: float,
    density: float = GROUT_DENSITY,
) -> float:
    """Grout that fills the joints of tile [kg/m²] [1]_.

    Parameters
    ----------
    length_mm, width_mm, depth_mm
        Sides A and B and thickness C of the tile [mm].
    joint_mm
        Width D of the joint [mm].
    density
        Of the grout [kg/L].
    """
    if min(length_mm, width_mm) <= 0 or min(depth_mm, joint_mm) < 0:
        raise InputError("A tile's sides must be above zero, its depth and joint not below.")
    return (length_mm + width_mm) / (length_mm * width_mm) * depth_mm * joint_mm * density


def grout_sqft_per_lb(piece: Piece) -> float:
    """Area of tile whose joints one pound of dry grout fills [sq ft/lb] [1]_."""
    _check(piece)
    per_m2 = grout_kg_per_m2(
        piece.length_in * MM_PER_IN,
        piece.width_in * MM_PER_IN,
        piece.thickness_in * MM_PER_IN,
        piece.joint_in * MM_PER_IN,
    )
    if per_m2 == 0:
        raise InputError("Tile laid without joints takes no grout; give joint_in.")
    return 1.0 / (per_m2 * KG_M2_TO_LB_SQFT)


def _check(piece: Piece) -> None:
    if min(piece.length_in, piece.width_in) <= 0:
        raise InputError("A piece's length_in and width_in must be above zero.")
