"""How much material covers an area or a length: paint, tile, grout, carpet tile, screens, packs.

References
----------
.. [1] Theoretical coverage of a coating, 1,604 sq ft of one mil a US gallon (231 cu in over
   0.001 in, in square feet): SSPC and ASTM coating practice.
.. [2] Makers' data sheets of interior latex: 350–400 sq ft/gal on smooth drywall, plan on 400.
.. [3] Grout by geometry, (A + B) / (A B) × C × D × density, density 1.6 kg/L: makers' data sheets
   of tile adhesives and grouts.
"""

from __future__ import annotations

from math import ceil

from scorer.errors import InputError
from scorer.records import Range, Record
from scorer.upgrades.spread import product

MILS_SQFT_PER_GAL = 1604.0
"""One US gallon spread one mil thick [sq ft] [1]_."""

GROUT_DENSITY = 1.6
"""Cement grout [kg/L] [3]_."""

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


def coverage_sqft_per_gal(volume_solids: float, dry_mils: float, loss: float = 0.0) -> float:
    """Practical coverage of a coating [sq ft/gal].

    .. math:: 1604 \\; VS \\; (1 - loss) / d

    Parameters
    ----------
    volume_solids
        Share of the volume that stays [0–1].
    dry_mils
        Dry film thickness [mil].
    loss
        Share lost to roller, tray and overspray [0–1].

    Raises
    ------
    InputError
        For a share outside 0–1 or a thickness that is not above zero.
    """
    if not 0 < volume_solids <= 1 or not 0 <= loss < 1 or dry_mils <= 0:
        raise InputError(
            "Coverage needs volume_solids above 0 and at most 1, loss from 0 to below 1, and "
            "dry_mils above 0."
        )
    return MILS_SQFT_PER_GAL * volume_solids * (1.0 - loss) / dry_mils


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
    """Grout that fills the joints of tile [kg/m²] [3]_.

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
    """Area of tile whose joints one pound of dry grout fills [sq ft/lb] [3]_."""
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


class ScreenCut(Record):
    """What one window screen takes: frame and spline [ft], mesh [sq ft]; waste not included."""

    frame_ft: float
    spline_ft: float
    mesh_sqft: float


def screen(width_in: float, height_in: float, overlap_in: float = 1.0) -> ScreenCut:
    """Frame, spline and mesh of one screen.

    Parameters
    ----------
    width_in, height_in
        Outside of the frame [in].
    overlap_in
        Mesh beyond the groove on each side, cut off after it is rolled in [in] (common practice,
        no source).
    """
    if min(width_in, height_in) <= 0 or overlap_in < 0:
        raise InputError("A screen's width_in and height_in must be above zero.")
    around_ft = 2.0 * (width_in + height_in) / 12.0
    return ScreenCut(
        frame_ft=around_ft,
        spline_ft=around_ft,
        mesh_sqft=(width_in + 2 * overlap_in) * (height_in + 2 * overlap_in) / 144.0,
    )


def _check(piece: Piece) -> None:
    if min(piece.length_in, piece.width_in) <= 0:
        raise InputError("A piece's length_in and width_in must be above zero.")
