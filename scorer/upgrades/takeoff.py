"""Quantities of a room: areas, lengths and counts from its sizes, or from what is usual.

Measures are the names that catalogue rows use; the ending tells the unit: ``_sqft`` [sq ft],
``_ft`` [ft], all others [each].

- any room: ``each`` and ``room`` (one), ``floor_sqft``, ``ceiling_sqft``, ``wall_sqft`` (openings,
  cabinets and tile off), ``gross_wall_sqft`` (nothing off), ``one_wall_sqft``, ``perimeter_ft``,
  ``baseboard_ft`` (doors off), ``casing_ft``, ``trim_ft`` (baseboard and casing),
  ``short_trim_ft``, ``small_floor_sqft``, ``home_floor_sqft``;
- openings: ``door_count``, ``window_count``, ``screen_area_sqft``, ``screen_perimeter_ft``;
- closets: ``closet_count``, ``closet_wall_sqft``, ``closet_floor_sqft``;
- kitchen: ``counter_ft``, ``counter_sqft``, ``base_cabinet_ft``, ``wall_cabinet_ft``,
  ``added_cabinet_ft``, ``cabinet_face_sqft``, ``cabinet_door_count``, ``cabinet_pull_count``,
  ``backsplash_sqft``;
- bathroom: ``vanity_face_sqft``, ``tub_wall_sqft``, ``wet_joint_ft``;
- electrical: ``outlet_count``, ``light_count``, ``bulb_count``, ``alarm_count``;
- outside: ``deck_sqft``, ``small_deck_sqft``, ``guard_ft``, ``stair_rail_ft``, ``gutter_ft``,
  ``siding_sqft``, ``front_siding_sqft``, ``small_siding_sqft``, ``porch_screen_sqft``,
  ``porch_screen_ft``, ``bed_sqft``.

References
----------
.. [1] NFPA 70, 210.52(A): no point of a wall more than 6 ft from a receptacle, so one each 12 ft;
   International Property Maintenance Code 605.2: at least two in a habitable room.
"""

from __future__ import annotations

from collections.abc import Callable
from functools import cache
from math import sqrt
from pathlib import Path
from typing import Literal

from pydantic import Field

from scorer.conditions.data_file import checked, csv_rows
from scorer.errors import InputError
from scorer.records import Range, Record
from scorer.rooms import Room, RoomKind
from scorer.upgrades.spread import product

SIZE_FILE = Path(__file__).parent / "data" / "room_sizes.csv"

MeasureUnit = Literal["sq ft", "ft", "each"]

SQUARE, USUAL, LONG = 4.0, 4.05, 4.25
"""Perimeter over the square root of the area: of a square, of 1 : 1.25, of 1 : 2 (geometry)."""

LONGER_WALL = Range(low=0.25, typical=0.28, high=0.34)
"""Longer wall over the perimeter, for the same shapes (geometry)."""

COUNTER_OVER_ROOT = Range(low=0.85, typical=1.15, high=1.5)
"""Counter length over the square root of the kitchen's floor area (common practice, no source)."""

COUNTER_DEPTH_FT = 25.0 / 12.0
"""Stock counter, 25 in deep [ft] (trade)."""

BACKSPLASH_FT = 1.5
"""18 in between counter and wall cabinets [ft] (trade)."""

FACE_FT = 2.5
"""Fronts of stock base and wall cabinets, 30 in high [ft] (trade)."""

WALL_CABINET_SHARE = 0.85
"""Length of wall cabinets over that of counter (common practice, no source)."""

PULLS_PER_DOOR = 1.55
"""Doors and drawers with a pull over doors alone (common practice, no source)."""

OUTLET_EVERY_FT = 12.0
"""[ft] [1]_"""

NOT_OPENINGS = Range(low=0.75, typical=0.82, high=0.9)
"""Siding over the whole street front (common practice, no source)."""

SASH_AREA = Range(low=0.5, typical=0.6, high=1.0)
SASH_EDGE = Range(low=0.7, typical=0.75, high=1.0)
"""A screen covers the lower sash or the whole window: share of its area, and of its edge."""

LEAST_LEFT = 0.25
"""Openings never take more than the rest of a wall's area or a room's perimeter [0–1]."""


class _Size(Record):
    field: str
    room_kind: RoomKind | Literal["*"]
    low: float = Field(ge=0)
    typical: float = Field(ge=0)
    high: float = Field(ge=0)
    unit: Literal["sq ft", "ft", "each", "share"]
    source: str = Field(min_length=3)


@cache
def typical_sizes(path: Path = SIZE_FILE) -> dict[tuple[str, str], Range]:
    """Usual figures by field and kind of room, ``*`` for any kind without a row of its own.

    Raises
    ------
    InputError
        Naming file, row and field of the first thing that does not hold.
    """
    sizes: dict[tuple[str, str], Range] = {}
    for cells in csv_rows(path, tuple(_Size.model_fields)):
        where = f"{path.name}, row {cells['field']} of {cells['room_kind']}"
        size = checked(_Size, cells, where)
        if not size.low <= size.typical <= size.high:
            raise InputError(f"{where}, field low: low, typical and high must rise.")
        if (size.field, str(size.room_kind)) in sizes:
            raise InputError(f"{where}, field field: stands there twice; take one out.")
        sizes[size.field, str(size.room_kind)] = Range(
            low=size.low, typical=size.typical, high=size.high
        )
    return sizes


def measure(name: str, room: Room) -> Range:
    """A quantity of a room.

    Length, width, height and openings are used where they are known; else the floor area, with
    the perimeter of a square to that of a 1 : 2 room; else the usual sizes of the kind of room.

    Parameters
    ----------
    name
        One of :data:`MEASURES`.
    room
        The room.

    Returns
    -------
    Range
        10th percentile, typical and 90th percentile in the measure's unit; the more is known, the
        narrower.

    Raises
    ------
    InputError
        For a measure that does not exist.
    """
    rule = MEASURES.get(name)
    if rule is None:
        raise InputError(f"There is no measure {name!r}; choose one of {', '.join(MEASURES)}.")
    return rule(room)


def unit_of(name: str) -> MeasureUnit:
    """Unit of a measure, told by its ending."""
    if name.endswith("_sqft"):
        return "sq ft"
    return "ft" if name.endswith("_ft") else "each"


def _usual(field: str, room: Room) -> Range:
    sizes = typical_sizes()
    own = sizes.get((field, room.kind.value))
    return own if own is not None else sizes[field, "*"]


def _table(field: str) -> Callable[[Room], Range]:
    return lambda room: _usual(field, room)


def _one(room: Room) -> Range:
    return Range.exactly(1.0)


def _floor(room: Room) -> Range:
    if room.length_ft and room.width_ft:
        return Range.exactly(room.length_ft * room.width_ft)
    if room.floor_area_sqft:
        return Range.exactly(room.floor_area_sqft)
    return _usual("floor_sqft", room)


def _height(room: Room) -> Range:
    return Range.exactly(room.height_ft) if room.height_ft else _usual("height_ft", room)


def _root(room: Room, factor: Range) -> Range:
    """A length that grows with the square root of the floor area."""
    area = _floor(room)
    roots = Range(low=sqrt(area.low), typical=sqrt(area.typical), high=sqrt(area.high))
    return product(roots, factor)


def _perimeter(room: Room) -> Range:
    if room.length_ft and room.width_ft:
        return Range.exactly(2.0 * (room.length_ft + room.width_ft))
    return _root(room, Range(low=SQUARE, typical=USUAL, high=LONG))


def _count(kind: str, room: Room) -> Range:
    if room.openings:
        return Range.exactly(float(sum(o.kind == kind for o in room.openings)))
    return _usual(f"{kind}_count", room)


def _doors(room: Room) -> Range:
    return _count("door", room)


def _windows(room: Room) -> Range:
    return _count("window", room)


def _there(count: Callable[[Room], Range]) -> Callable[[Room], Range]:
    """At least one, unless the openings are known: work is only measured on what is there."""

    def counted(room: Room) -> Range:
        found = count(room)
        if room.openings:
            return found
        return Range(
            low=max(1.0, found.low), typical=max(1.0, found.typical), high=max(1.0, found.high)
        )

    return counted


def _less(whole: Range, off: Range) -> Range:
    def left(total: float, taken: float) -> float:
        return max(total - taken, LEAST_LEFT * total)

    return Range(
        low=left(whole.low, off.high),
        typical=left(whole.typical, off.typical),
        high=left(whole.high, off.low),
    )


def _gross_walls(room: Room) -> Range:
    return product(_perimeter(room), _height(room))


def _walls(room: Room) -> Range:
    if room.openings:
        off = Range.exactly(sum(o.width_ft * o.height_ft for o in room.openings))
    else:
        off = product(_doors(room), _usual("door_sqft", room)) + product(
            _windows(room), _usual("window_sqft", room)
        )
    return product(_less(_gross_walls(room), off), _usual("bare_wall_share", room))


def _one_wall(room: Room) -> Range:
    if room.length_ft and room.width_ft:
        longest = Range.exactly(max(room.length_ft, room.width_ft))
    else:
        longest = product(_perimeter(room), LONGER_WALL)
    return product(longest, _height(room))


def _baseboard(room: Room) -> Range:
    if room.openings:
        gaps = Range.exactly(sum(o.width_ft for o in room.openings if o.kind != "window"))
    else:
        gaps = product(_doors(room), _usual("door_width_ft", room))
    return _less(_perimeter(room), gaps)


def _casing(room: Room) -> Range:
    """One side of each door and window."""
    if room.openings:
        return Range.exactly(
            sum(
                2.0 * o.height_ft + (2.0 if o.kind == "window" else 1.0) * o.width_ft
                for o in room.openings
            )
        )
    return product(_doors(room), _usual("door_casing_ft", room)) + product(
        _windows(room), _usual("window_casing_ft", room)
    )


def _trim(room: Room) -> Range:
    return _baseboard(room) + _casing(room)


def _screens(room: Room, each: str) -> Range:
    if room.openings:
        windows = [o for o in room.openings if o.kind == "window"]
        if each == "screen_sqft_each":
            return Range.exactly(sum(o.width_ft * o.height_ft for o in windows)).times(SASH_AREA)
        return Range.exactly(sum(2.0 * (o.width_ft + o.height_ft) for o in windows)).times(
            SASH_EDGE
        )
    return product(_there(_windows)(room), _usual(each, room))


def _counter(room: Room) -> Range:
    return _root(room, COUNTER_OVER_ROOT)


def _cabinet_run(room: Room) -> Range:
    """Fronts side by side, base and wall; outside a kitchen as many as its few doors are wide."""
    if room.kind is not RoomKind.KITCHEN:
        doors, width = _usual("cabinet_door_count", room), _usual("cabinet_door_width_ft", room)
        return product(doors, width)
    return _counter(room).scaled(1.0 + WALL_CABINET_SHARE)


def _cabinet_doors(room: Room) -> Range:
    if room.kind is not RoomKind.KITCHEN:
        return _usual("cabinet_door_count", room)
    width = _usual("cabinet_door_width_ft", room)
    run = _cabinet_run(room)
    per_foot = Range(low=1 / width.high, typical=1 / width.typical, high=1 / width.low)
    return product(run, per_foot)


def _counter_area(room: Room) -> Range:
    if room.kind is not RoomKind.KITCHEN:
        return _usual("counter_sqft", room)
    return _counter(room).scaled(COUNTER_DEPTH_FT)


def _counter_length(room: Room) -> Range:
    if room.kind is not RoomKind.KITCHEN:
        return _counter_area(room).scaled(1.0 / COUNTER_DEPTH_FT)
    return _counter(room)


def _outlets(room: Room) -> Range:
    if room.kind in {RoomKind.FRONT, RoomKind.DECK, RoomKind.BATHROOM}:
        return _usual("outlet_count", room)
    rule = _perimeter(room).scaled(1.0 / OUTLET_EVERY_FT)
    return Range(
        low=max(2.0, rule.low), typical=max(2.0, rule.typical), high=max(2.0, rule.high) + 2.0
    )


def _front_siding(room: Room) -> Range:
    """The street front: width times height, less a share for door and windows."""
    width = Range.exactly(room.length_ft) if room.length_ft else _usual("front_width_ft", room)
    height = Range.exactly(room.height_ft) if room.height_ft else _usual("front_height_ft", room)
    return product(width, height, NOT_OPENINGS)


def _per(count: Callable[[Room], Range], field: str) -> Callable[[Room], Range]:
    return lambda room: product(count(room), _usual(field, room))


_closets = _table("closet_count")
_lights = _table("light_count")

MEASURES: dict[str, Callable[[Room], Range]] = {
    "each": _one,
    "room": _one,
    "floor_sqft": _floor,
    "ceiling_sqft": _floor,
    "home_floor_sqft": _floor,
    "wall_sqft": _walls,
    "gross_wall_sqft": _gross_walls,
    "one_wall_sqft": _one_wall,
    "perimeter_ft": _perimeter,
    "baseboard_ft": _baseboard,
    "casing_ft": _casing,
    "trim_ft": _trim,
    "short_trim_ft": _table("short_trim_ft"),
    "small_floor_sqft": _table("small_floor_sqft"),
    "door_count": _there(_doors),
    "window_count": _there(_windows),
    "screen_area_sqft": lambda room: _screens(room, "screen_sqft_each"),
    "screen_perimeter_ft": lambda room: _screens(room, "screen_ft_each"),
    "closet_count": _closets,
    "closet_wall_sqft": _per(_closets, "closet_wall_sqft_each"),
    "closet_floor_sqft": _per(_closets, "closet_floor_sqft_each"),
    "counter_ft": _counter_length,
    "counter_sqft": _counter_area,
    "base_cabinet_ft": _counter_length,
    "wall_cabinet_ft": lambda room: _counter(room).scaled(WALL_CABINET_SHARE),
    "added_cabinet_ft": _table("added_cabinet_ft"),
    "cabinet_face_sqft": lambda room: _cabinet_run(room).scaled(FACE_FT),
    "cabinet_door_count": _cabinet_doors,
    "cabinet_pull_count": lambda room: _cabinet_doors(room).scaled(PULLS_PER_DOOR),
    "backsplash_sqft": lambda room: _counter(room).scaled(BACKSPLASH_FT),
    "vanity_face_sqft": _table("vanity_face_sqft"),
    "tub_wall_sqft": _table("tub_wall_sqft"),
    "wet_joint_ft": _table("wet_joint_ft"),
    "outlet_count": _outlets,
    "light_count": _lights,
    "bulb_count": _per(_lights, "bulbs_per_light"),
    "alarm_count": _table("alarm_count"),
    "deck_sqft": _floor,
    "small_deck_sqft": _table("small_deck_sqft"),
    "guard_ft": _table("guard_ft"),
    "stair_rail_ft": _table("stair_rail_ft"),
    "gutter_ft": _table("gutter_ft"),
    "siding_sqft": _table("siding_sqft"),
    "front_siding_sqft": _front_siding,
    "small_siding_sqft": _table("small_siding_sqft"),
    "porch_screen_sqft": _table("porch_screen_sqft"),
    "porch_screen_ft": _table("porch_screen_ft"),
    "bed_sqft": _table("bed_sqft"),
}
"""Every measure by its name: a function of the room."""
