"""Spacing of receptacle outlets along walls and counters.

An addition or change of wiring is work for a licensed electrician under the local code.

References
----------
.. [1] NFPA 70 (National Electrical Code) 210.52(A): no point of a wall 2 ft wide or more further
   than 6 ft from an outlet; 210.52(C)(1): no point of a counter 12 in wide or more further than
   24 in from one.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from itertools import pairwise

from scorer.fit.geometry import uncovered
from scorer.fit.kitchen import counter_stretches
from scorer.fit.room_plan import SIDES, FitCheck, FitResult, RoomPlan, Side, at_most, result_of

WALL_REACH_IN = 72.0
WALL_COUNTS_FROM_IN = 24.0
COUNTER_REACH_IN = 24.0
COUNTER_COUNTS_FROM_IN = 12.0
"""Reach of an outlet, and from which width on a wall or counter needs one [in] [1]_."""

NEC_WALL = "NFPA 70, 210.52(A)"
NEC_COUNTER = "NFPA 70, 210.52(C)(1)"


def outlet_spacing(plan: RoomPlan) -> FitResult:
    """Check the furthest point of every wall and counter from its nearest outlet.

    Wall space is broken by doors and cased openings, not by windows; distance is measured along one
    stretch of wall (corners are not turned, which is on the safe side).
    """
    checks: list[FitCheck] = []
    for wall in SIDES:
        outlets = [o.offset_in for o in plan.outlets if o.wall == wall and not o.counter]
        walls = _wall_stretches(plan, wall)
        for start, end in walls:
            if end - start >= WALL_COUNTS_FROM_IN:
                what = _what(f"{wall} wall", walls, start, end, outlets)
                far = furthest(start, end, outlets)
                checks.append(at_most("wall outlets", far, WALL_REACH_IN, "in", NEC_WALL, what))
        on_counter = [o.offset_in for o in plan.outlets if o.wall == wall and o.counter]
        counters = counter_stretches(plan, wall)
        for start, end in counters:
            if end - start >= COUNTER_COUNTS_FROM_IN:
                what = _what(f"{wall} counter", counters, start, end, on_counter)
                far = furthest(start, end, on_counter)
                checks.append(
                    at_most("counter outlets", far, COUNTER_REACH_IN, "in", NEC_COUNTER, what)
                )
    return result_of("outlet spacing", tuple(checks))


def _what(
    name: str,
    stretches: Sequence[tuple[float, float]],
    start: float,
    end: float,
    outlets: Iterable[float],
) -> str:
    """What is measured; which stretch, where there are several; whether there is an outlet."""
    which = f" ({start:g} to {end:g} in)" if len(stretches) > 1 else ""
    if any(start <= outlet <= end for outlet in outlets):
        return f"Furthest point of the {name}{which} from an outlet"
    return f"Length of the {name}{which}, which has no outlet"


def furthest(start: float, end: float, outlets: list[float]) -> float:
    """Distance of the point of a stretch that lies furthest from any outlet on it [in].

    The whole length where there is no outlet.
    """
    inside = sorted(o for o in outlets if start <= o <= end)
    if not inside:
        return end - start
    halves = [(b - a) / 2.0 for a, b in pairwise(inside)]
    return max(inside[0] - start, end - inside[-1], *halves, 0.0)


def _wall_stretches(plan: RoomPlan, wall: Side) -> list[tuple[float, float]]:
    """Wall between doors and openings, fixed cabinets and appliances taken out: (start, end)."""
    taken = [
        (o.offset_in, o.offset_in + o.width_in)
        for o in plan.openings
        if o.wall == wall and o.kind != "window"
    ]
    taken += [(c.offset_in, c.offset_in + c.length_in) for c in plan.cabinets if c.wall == wall]
    taken += [(a.offset_in, a.offset_in + a.width_in) for a in plan.appliances if a.wall == wall]
    return uncovered(0.0, plan.wall_in(wall), taken)
