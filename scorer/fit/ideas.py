"""When an idea does not fit: the next one that does."""

from __future__ import annotations

from scorer.fit.geometry import Box, along_wall, door_swings, free_stretches, standing
from scorer.fit.pieces import TIGHT_IN, WORK_AISLE_IN, island, table
from scorer.fit.room_plan import HAIR_IN, SIDES, FitResult, RoomPlan, Side

SMALLER_ISLANDS_IN = ((48.0, 30.0), (42.0, 24.0), (36.0, 24.0))
"""Sizes to try before giving the island up (common practice, no source) [in]."""

SMALL_TABLES_IN = ((48.0, 30.0), (36.0, 24.0), (30.0, 20.0))
"""Tables for four, two and one against the wall (common practice, no source) [in]."""

SHORTEST_RUN_IN = 24.0
RUN_DEPTH_IN = 24.0


def island_or_instead(
    plan: RoomPlan, length_in: float, depth_in: float, *, seats: int = 0, overhang_in: float = 0.0
) -> FitResult:
    """Check an island; where it fails or is tight, name what fits instead, best first.

    Tried in turn: a smaller island without seats, a run of base and wall cabinets along the longest
    free stretch of wall, a small table (by the window if there is one).
    """
    result = island(plan, length_in, depth_in, seats=seats, overhang_in=overhang_in)
    if result.verdict == "pass":
        return result
    instead = []
    for long, deep in SMALLER_ISLANDS_IN:
        if long * deep < length_in * depth_in and island(plan, long, deep).verdict == "pass":
            instead.append(f"An island of {long:.0f} by {deep:.0f} in fits, without seats.")
            break
    run = longest_run(plan)
    if run is not None:
        wall, _, length = run
        instead.append(
            f"A run of base and wall cabinets {length:.0f} in long fits along the {wall} wall."
        )
    small = _small_table(plan)
    if small is not None:
        instead.append(f"A {small.idea} fits against the wall.")
    if not instead:
        instead.append("Nothing more fits: keep the floor free and use the walls for shelves.")
    return result.model_copy(update={"instead": tuple(instead)})


def longest_run(plan: RoomPlan) -> tuple[Side, float, float] | None:
    """Longest stretch where base cabinets leave a work aisle: (wall, offset, length) [in]."""
    best: tuple[Side, float, float] | None = None
    for wall in SIDES:
        for offset, length in free_stretches(plan, wall):
            box = along_wall(plan, wall, offset, length, RUN_DEPTH_IN)
            if length < SHORTEST_RUN_IN or not _aisle_in_front(plan, wall, box):
                continue
            if any(box.overlaps(swing) for swing in door_swings(plan)):
                continue
            if best is None or length > best[2]:
                best = (wall, offset, length)
    return best


def _aisle_in_front(plan: RoomPlan, wall: Side, box: Box) -> bool:
    aisle = WORK_AISLE_IN[1]
    front = {
        "north": Box(box.left, box.bottom, box.right, box.bottom + aisle),
        "south": Box(box.left, box.top - aisle, box.right, box.top),
        "west": Box(box.right, box.top, box.right + aisle, box.bottom),
        "east": Box(box.left - aisle, box.top, box.left, box.bottom),
    }[wall]
    inside = (
        front.left >= -HAIR_IN
        and front.top >= -HAIR_IN
        and front.right <= plan.length_in + HAIR_IN
        and front.bottom <= plan.width_in + HAIR_IN
    )
    return inside and not any(front.overlaps(thing.box) for thing in standing(plan))


def _small_table(plan: RoomPlan) -> FitResult | None:
    for by_window in (True, False):
        for long, deep in SMALL_TABLES_IN:
            result = table(plan, long, deep, traffic="none", by_window=by_window)
            if result.verdict == "pass" and result.checks[0].value >= TIGHT_IN - 4.0:
                return result
    return None
