"""Does a free-standing piece fit: an island in the kitchen, a table by the window.

References
----------
.. [1] National Kitchen & Bath Association, "Kitchen Planning Guidelines with Access Standards":
   6 work aisle, 7 walkway, 8 traffic behind seats, 9 seats and knee space.
"""

from __future__ import annotations

import math
from collections.abc import Iterator

from scorer.errors import InputError
from scorer.fit.geometry import Box, Gap, along_wall, door_swings, gaps, open_doors, standing
from scorer.fit.room_plan import SIDES, FitCheck, FitResult, RoomPlan, Side, at_least, result_of

WORK_AISLE_IN = {1: 42.0, 2: 48.0}
"""Between counter fronts, by the number of cooks [in] [1]_."""

WALKWAY_IN = 36.0
"""Where people only walk [in] [1]_."""

BEHIND_SEAT_IN = {"none": 32.0, "edge past": 36.0, "walk past": 44.0}
"""From the table's edge to the wall behind a seat, by the traffic behind it [in] [1]_."""

KNEE_DEPTH_IN = {30: 18.0, 36: 15.0, 42: 12.0}
"""Knee space below the overhang by counter height [in] [1]_."""

SEAT_WIDTH_IN = 24.0
"""Counter or table edge per seat [in] [1]_."""

TIGHT_IN = 36.0
TIGHT_WALKWAY_IN = 30.0
"""Below these one person can't pass with an open door (common practice, no source)."""

NKBA = "National Kitchen & Bath Association, Kitchen Planning Guidelines"

STEP_IN = 6.0
"""Places tried; each is then centred between what it faces [in]."""


def island(
    plan: RoomPlan,
    length_in: float,
    depth_in: float,
    *,
    seats: int = 0,
    overhang_in: float = 0.0,
    height_in: int = 36,
    cooks: int = 1,
) -> FitResult:
    """Check an island at the best place in the room.

    Parameters
    ----------
    plan
        The room.
    length_in, depth_in
        Of the island's top, overhang included [in].
    seats
        Stools along the long side on the overhang.
    overhang_in
        Depth of the overhang that knees go under [in].
    height_in
        Of the top: 30, 36 or 42 [in].
    cooks
        1 or 2 people cooking at a time.

    Returns
    -------
    FitResult
        The place is the one whose tightest clearance is best, in either direction.

    Raises
    ------
    InputError
        For a size that is not positive, or a height or number of cooks without a guideline.
    """
    if min(length_in, depth_in) <= 0 or seats < 0 or overhang_in < 0:
        raise InputError("The island needs a length and depth above zero, and no negative seats.")
    if height_in not in KNEE_DEPTH_IN or cooks not in WORK_AISLE_IN:
        raise InputError("Give the island's height as 30, 36 or 42 in, and one or two cooks.")
    best: tuple[float, Box, tuple[FitCheck, ...]] | None = None
    for box, seat_sides in _places(plan, length_in, depth_in):
        for seat_side in seat_sides if seats else (None,):
            for place in (box, _centered(box, _clearances(plan, box, seat_side, cooks))):
                if _blocked(plan, place):
                    continue
                checks = _clearances(plan, place, seat_side, cooks)
                slack = min(check.value - check.limit for check in checks)
                if best is None or slack > best[0] + 1e-9:
                    best = (slack, place, checks)
    idea = f"island {length_in:.0f} by {depth_in:.0f} in"
    if best is None:
        room = max(plan.length_in, plan.width_in)
        check = at_least(
            "work aisle",
            0.0,
            WORK_AISLE_IN[cooks],
            TIGHT_IN,
            "in",
            f"{NKBA}, 6",
            f"No free floor for it in a room {room:.0f} in long",
        )
        return result_of(idea, (check,))
    checks = best[2]
    if seats:
        checks += (
            at_least(
                "seats",
                length_in,
                SEAT_WIDTH_IN * seats,
                SEAT_WIDTH_IN * seats,
                "in",
                f"{NKBA}, 9",
                f"Edge for {seats} seats",
            ),
            at_least(
                "knee space",
                overhang_in,
                KNEE_DEPTH_IN[height_in],
                KNEE_DEPTH_IN[height_in] - 3,
                "in",
                f"{NKBA}, 9",
                f"Knee space below a top {height_in} in high",
            ),
        )
    return result_of(idea, checks, best[1])


def table(
    plan: RoomPlan,
    length_in: float,
    depth_in: float,
    *,
    traffic: str = "edge past",
    by_window: bool = True,
) -> FitResult:
    """Check a table with seats on its long free side, pushed against a wall.

    Parameters
    ----------
    length_in, depth_in
        Of the table's top [in]; the long side stands against the wall.
    traffic
        Behind the seats: ``none``, ``edge past`` or ``walk past``.
    by_window
        Only walls with a window are tried.

    Raises
    ------
    InputError
        For an unknown ``traffic``.
    """
    if traffic not in BEHIND_SEAT_IN:
        raise InputError(f"traffic must be one of {', '.join(BEHIND_SEAT_IN)}, not {traffic!r}.")
    limit = BEHIND_SEAT_IN[traffic]
    walls = {o.wall for o in plan.openings if o.kind == "window"} if by_window else None
    best: tuple[float, Box] | None = None
    for wall in SIDES:
        if walls is not None and wall not in walls:
            continue
        for box in _against(plan, wall, length_in, depth_in):
            if _blocked(plan, box):
                continue
            distance = next(g.distance for g in gaps(plan, box) if g.side == _OPPOSITE[wall])
            if best is None or distance > best[0]:
                best = (distance, box)
    where = " by the window" if by_window else ""
    idea = f"table {length_in:.0f} by {depth_in:.0f} in{where}"
    distance = best[0] if best else 0.0
    what = "Behind the seats" if best else f"No free wall{where} for it; behind the seats"
    check = at_least(
        "behind the seats", distance, limit, BEHIND_SEAT_IN["none"], "in", f"{NKBA}, 8", what
    )
    return result_of(idea, (check,), best[1] if best else None)


_OPPOSITE: dict[Side, Side] = {
    "north": "south",
    "south": "north",
    "west": "east",
    "east": "west",
}


def _steps(end: float) -> Iterator[float]:
    for k in range(math.floor(max(end, 0.0) / STEP_IN) + 1):
        yield k * STEP_IN
    if end > 0 and end % STEP_IN:
        yield end


def _blocked(plan: RoomPlan, box: Box) -> bool:
    return any(box.overlaps(thing.box) for thing in standing(plan)) or any(
        box.overlaps(swing) for swing in door_swings(plan)
    )


def _places(plan: RoomPlan, length: float, depth: float) -> Iterator[tuple[Box, tuple[Side, Side]]]:
    """Free places in both directions, each with its two long sides."""
    turned: tuple[tuple[float, float, tuple[Side, Side]], ...] = (
        (length, depth, ("north", "south")),
        (depth, length, ("west", "east")),
    )
    for wide, high, sides in turned:
        for left in _steps(plan.length_in - wide):
            for top in _steps(plan.width_in - high):
                box = Box(left, top, left + wide, top + high)
                inside = left + wide <= plan.length_in and top + high <= plan.width_in
                if inside and not _blocked(plan, box):
                    yield box, sides


def _against(plan: RoomPlan, wall: Side, length: float, depth: float) -> Iterator[Box]:
    """Places along a wall."""
    for at in _steps(plan.wall_in(wall) - length):
        yield along_wall(plan, wall, at, length, depth)


def _centered(box: Box, checks: tuple[FitCheck, ...]) -> Box:
    """Move a piece so that what is to spare is the same on opposite sides.

    The first four checks are the sides in the order of :func:`gaps`: north, south, west, east.
    """
    north, south, west, east = (check.value - check.limit for check in checks[:4])
    right, down = (east - west) / 2.0, (south - north) / 2.0
    return Box(box.left + right, box.top + down, box.right + right, box.bottom + down)


def _clearances(
    plan: RoomPlan, box: Box, seat_side: Side | None, cooks: int
) -> tuple[FitCheck, ...]:
    checks = [_clearance(gap, seat_side, cooks) for gap in gaps(plan, box)]
    for kind, floor in open_doors(plan):
        over = _overlap(box, floor)
        ends = f"reaches {over:.0f} in into it" if over else "opens clear of it"
        checks.append(
            FitCheck(
                name=f"{kind} door",
                verdict="fails" if over else "pass",
                value=-over,
                limit=0.0,
                unit="in",
                guideline="the appliance's own door, wide open",
                sentence=f"The {kind} door {ends}.",
            )
        )
    return tuple(checks)


def _clearance(gap: Gap, seat_side: Side | None, cooks: int) -> FitCheck:
    where = f"{gap.side.capitalize()} side, to the {gap.facing}"
    if gap.side == seat_side:
        limit = BEHIND_SEAT_IN["walk past"]
        tight = BEHIND_SEAT_IN["none"]
        return at_least("behind the seats", gap.distance, limit, tight, "in", f"{NKBA}, 8", where)
    if gap.work:
        limit = WORK_AISLE_IN[cooks]
        return at_least("work aisle", gap.distance, limit, TIGHT_IN, "in", f"{NKBA}, 6", where)
    return at_least(
        "walkway", gap.distance, WALKWAY_IN, TIGHT_WALKWAY_IN, "in", f"{NKBA}, 7", where
    )


def _overlap(box: Box, floor: Box) -> float:
    """How far two rectangles reach into each other [in]; zero if they don't."""
    across = min(box.right, floor.right) - max(box.left, floor.left)
    down = min(box.bottom, floor.bottom) - max(box.top, floor.top)
    return max(0.0, min(across, down))
