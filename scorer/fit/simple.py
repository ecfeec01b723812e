"""A kitchen from a few answers, where nobody has drawn it."""

from __future__ import annotations

from collections.abc import Sequence

from scorer.fit.room_plan import Appliance, Cabinets, PlanOpening, RoomPlan, Side

WINDOW_IN, DOOR_IN, RANGE_IN = 36.0, 32.0, 30.0
"""Usual widths of a window, a door and a range [in]; common practice, no source."""

OVEN_DOOR_IN = 20.0
"""Depth of an open oven door [in]; common practice, no source."""

CORNER_IN = 2.0


def simple_kitchen(
    length_ft: float,
    width_ft: float,
    cabinet_walls: Sequence[Side],
    window_walls: Sequence[Side] = (),
    door_walls: Sequence[Side] = (),
    *,
    estimated: bool = False,
) -> RoomPlan:
    """A rectangular kitchen with whole runs of cabinets, the range on the first of them.

    Parameters
    ----------
    length_ft, width_ft
        West to east and north to south, inside wall to wall [ft].
    cabinet_walls
        Walls with base cabinets from corner to corner.
    window_walls, door_walls
        Walls with one window in the middle, and one door near the southern or eastern corner.
    estimated
        The sizes come from a photo, not from a tape.

    Raises
    ------
    ValueError
        (pydantic) naming the thing and the wall where something is longer than its wall.
    """
    length, width = 12.0 * length_ft, 12.0 * width_ft
    along: dict[Side, float] = {"north": length, "south": length, "east": width, "west": width}
    windows = tuple(
        PlanOpening(
            kind="window",
            wall=wall,
            offset_in=max(0.0, (along[wall] - WINDOW_IN) / 2.0),
            width_in=WINDOW_IN,
        )
        for wall in window_walls
    )
    doors = tuple(
        PlanOpening(
            kind="door",
            wall=wall,
            offset_in=max(0.0, along[wall] - DOOR_IN - CORNER_IN),
            width_in=DOOR_IN,
            swing="out",
        )
        for wall in door_walls
    )
    fixtures = tuple(
        Appliance(
            kind="range",
            wall=wall,
            offset_in=max(0.0, (along[wall] - RANGE_IN) / 2.0),
            width_in=RANGE_IN,
            door_in=OVEN_DOOR_IN,
        )
        for wall in cabinet_walls[:1]
    )
    return RoomPlan(
        length_in=length,
        width_in=width,
        openings=(*windows, *doors),
        cabinets=tuple(
            Cabinets(wall=wall, offset_in=0.0, length_in=along[wall]) for wall in cabinet_walls
        ),
        appliances=fixtures,
        estimated=estimated,
    )
